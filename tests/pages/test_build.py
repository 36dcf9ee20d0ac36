"""Which pages there are at which moment, and what each of them says."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import yaml

from fallwork.pages import build_pages
from fallwork.pages.build import EditionError
from pages.course_moments import BEFORE, OVER, RUNNING
from pages.history import BASE, head, pages

LAB = "2027-spring/level"
OPENING = datetime(2027, 2, 14, 23, tzinfo=UTC)  # 15 February, 00:00 in Berlin
NUMBER = re.compile(r"\d+\.\d+|\d{2,}")


def built(now: datetime) -> dict[str, str]:
    return pages(BASE, now)


def markdown(there: dict[str, str]) -> list[str]:
    """The pages, without those that only list where a step stands."""
    return [path for path in there if path.endswith(".md") and not path.startswith("step/")]


@pytest.mark.parametrize(
    ("now", "names"),
    [
        (BEFORE, ""),
        (RUNNING, "prelab example report"),
        (OPENING - timedelta(seconds=1), "prelab example report"),
        (OPENING, "prelab example report solution"),
    ],
)
def test_each_page_comes_at_its_first_moment(now: datetime, names: str) -> None:
    there = [f"{LAB}/{name}.md" for name in ("index", *names.split())]
    assert markdown(built(now)) == ["index.md", "2027-spring/index.md", *there]
    drawn = f"{LAB}/figures/solution-sketch.svg" in built(now)
    assert drawn == any("solution" in path for path in built(now)) == ("solution" in names)


def test_front_matter_says_what_the_page_is() -> None:
    front = yaml.safe_load(head(built(RUNNING)[f"{LAB}/prelab.md"]))
    title = "Prelab: Cart pulled along a level track by a falling weight"
    assert front == {
        "title": title,
        "description": f"{title}, Spring 2027",
        "page": "prelab",
        "term": "2027-spring",
        "lab": "level",
    }


def test_every_step_of_the_contents_is_on_the_page_and_nothing_else() -> None:
    for name in ("prelab", "example", "solution"):
        page = built(OVER)[f"{LAB}/{name}.md"]
        contents = page.split('<div class="fw-contents" markdown="1">')[1].split("</div>")[0]
        listed = re.findall(r"\]\(#([a-z0-9-]+)\)", contents)
        headings = re.findall(r"^##+ .* \{#([a-z0-9-]+)(?: \.fw-step)?\}$", page, re.MULTILINE)
        assert listed == [each for each in headings if not each.startswith("part-")]
        assert len(set(headings)) == len(headings) > 8


def test_steps_stand_in_parts_that_the_contents_name() -> None:
    page = built(RUNNING)[f"{LAB}/prelab.md"]
    parts = re.findall(r"^## (.*) \{#part-(.*)\}$\n\n### .* \{#(.*) \.fw-step\}$", page, re.M)
    assert [name for _, name, _ in parts] == [first for _, _, first in parts]
    assert len(parts) > 2
    for title, _, _ in parts:
        assert f"\n\n**{title}** [" in page


def test_prelab_example_and_solution_share_their_steps() -> None:
    there = built(OVER)
    steps = [
        re.findall(r"\{#([a-z0-9-]+) \.fw-step\}", there[f"{LAB}/{name}.md"])
        for name in ("prelab", "example", "solution")
    ]
    assert set(steps[0]) <= set(steps[1]) == set(steps[2])


def test_pages_with_numbers_explain_the_guard_digits() -> None:
    there = built(OVER)
    legend = r"keeps two more digits than that and is underlined, as in \$(\\underline{[\d.]+})"
    for name in ("example", "solution"):
        page = there[f"{LAB}/{name}.md"]
        sample = re.search(legend, page)
        assert sample
        assert f" | ${sample[1]}$ |\n" in page  # it is the value of a symbol of the page
    assert "underline" not in there[f"{LAB}/prelab.md"]


def test_every_figure_on_a_page_is_there_and_every_drawing_is_shown() -> None:
    there = built(OVER)
    shown = [
        f"{path.rpartition('/')[0]}/{source}"
        for path in markdown(there)
        for source in re.findall(r"!\[.+\]\((.+\.svg)\)", there[path])
    ]
    assert sorted(shown) == sorted(path for path in there if path.endswith(".svg"))


def test_lines_end_cleanly() -> None:
    for path in markdown(built(OVER)):
        page = built(OVER)[path]
        assert page.endswith("\n")
        assert "\n\n\n" not in page
        assert not re.search(r"[ \t]$", page, re.MULTILINE)


def test_another_edition_is_refused() -> None:
    with pytest.raises(EditionError) as error:
        build_pages(BASE, now=RUNNING, edition="parents")
    assert str(error.value) == 'there is no edition "parents"; there is student and staff'
