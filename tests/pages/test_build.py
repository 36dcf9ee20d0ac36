"""Which pages there are at which moment, and what each of them says."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import yaml

from fallwork.pages import build_pages
from fallwork.pages.build import EditionError
from fallwork.scenario import load_course
from pages.course_moments import BEFORE, COURSE, OVER, RUNNING, Build

LAB = "2027-spring/level"
OPENING = datetime(2027, 2, 14, 23, tzinfo=UTC)  # 15 February, 00:00 in Berlin
NUMBER = re.compile(r"\d+\.\d+|\d{2,}")


def markdown(pages: dict[str, str]) -> list[str]:
    """The pages, without those that only list where a step stands."""
    return [path for path in pages if path.endswith(".md") and not path.startswith("step/")]


def test_before_a_lab_opens_there_is_only_its_overview(build: Build) -> None:
    assert markdown(build(BEFORE)) == ["index.md", "2027-spring/index.md", f"{LAB}/index.md"]


def test_while_a_lab_runs_prelab_and_example_are_there(build: Build) -> None:
    names = ("index", "prelab", "example", "report")
    expected = [f"{LAB}/{name}.md" for name in names]
    assert markdown(build(RUNNING)) == ["index.md", "2027-spring/index.md", *expected]


def test_the_solution_comes_at_its_first_moment(build: Build) -> None:
    assert f"{LAB}/solution.md" not in build(OPENING - timedelta(seconds=1))
    assert f"{LAB}/solution.md" in build(OPENING)


def test_no_file_of_a_page_that_is_held_back_is_there(build: Build) -> None:
    held = [path for path in build(RUNNING) if "solution" in path]
    given = [path for path in build(OVER) if "solution" in path]
    assert held == []
    assert f"{LAB}/figures/solution-sketch.svg" in given


def test_front_matter_says_what_the_page_is(build: Build) -> None:
    head = yaml.safe_load(build(RUNNING)[f"{LAB}/prelab.md"].split("---\n")[1])
    title = "Prelab: Cart pulled along a level track by a falling weight"
    assert head == {
        "title": title,
        "description": f"{title}, Spring 2027",
        "page": "prelab",
        "term": "2027-spring",
        "lab": "level",
    }


def test_every_step_of_the_contents_is_on_the_page_and_nothing_else(build: Build) -> None:
    for name in ("prelab", "example", "solution"):
        page = build(OVER)[f"{LAB}/{name}.md"]
        contents = page.split('<div class="fw-contents" markdown="1">')[1].split("</div>")[0]
        listed = re.findall(r"\]\(#([a-z0-9-]+)\)", contents)
        headings = re.findall(r"^##+ .* \{#([a-z0-9-]+)(?: \.fw-step)?\}$", page, re.MULTILINE)
        assert listed == [each for each in headings if not each.startswith("part-")]
        assert len(set(headings)) == len(headings) > 8


def test_steps_stand_in_parts_that_the_contents_name(build: Build) -> None:
    page = build(RUNNING)[f"{LAB}/prelab.md"]
    parts = re.findall(r"^## (.*) \{#part-(.*)\}$\n\n### .* \{#(.*) \.fw-step\}$", page, re.M)
    assert [name for _, name, _ in parts] == [first for _, _, first in parts]
    assert len(parts) > 2
    for title, _, _ in parts:
        assert f"\n\n**{title}** [" in page


def test_prelab_example_and_solution_share_their_steps(build: Build) -> None:
    pages = build(OVER)
    steps = [
        re.findall(r"\{#([a-z0-9-]+) \.fw-step\}", pages[f"{LAB}/{name}.md"])
        for name in ("prelab", "example", "solution")
    ]
    assert set(steps[0]) <= set(steps[1]) == set(steps[2])


def test_pages_with_numbers_explain_the_guard_digits(build: Build) -> None:
    pages = build(OVER)
    legend = r"keeps two more digits than that and is underlined, as in \$(\\underline{[\d.]+})"
    for name in ("example", "solution"):
        page = pages[f"{LAB}/{name}.md"]
        sample = re.search(legend, page)
        assert sample
        assert f" | ${sample[1]}$ |\n" in page  # it is the value of a symbol of the page
    assert "underline" not in pages[f"{LAB}/prelab.md"]


def test_every_figure_on_a_page_is_there_and_every_drawing_is_shown(build: Build) -> None:
    pages = build(OVER)
    shown = [
        f"{path.rpartition('/')[0]}/{source}"
        for path in markdown(pages)
        for source in re.findall(r"!\[.+\]\((.+\.svg)\)", pages[path])
    ]
    assert sorted(shown) == sorted(path for path in pages if path.endswith(".svg"))


def test_lines_end_cleanly(build: Build) -> None:
    for path in markdown(build(OVER)):
        page = build(OVER)[path]
        assert page.endswith("\n")
        assert "\n\n\n" not in page
        assert not re.search(r"[ \t]$", page, re.MULTILINE)


def test_another_edition_is_refused() -> None:
    with pytest.raises(EditionError) as error:
        build_pages(load_course(COURSE), now=RUNNING, edition="parents")
    assert str(error.value) == 'there is no edition "parents"; there is student and staff'
