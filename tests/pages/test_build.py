"""Which pages there are at which moment, what each of them says, and moments in words."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import yaml

from fallwork.lesson.document import Step
from fallwork.lesson.stepfiles import FOLDER
from fallwork.pages import GENERAL, build, build_pages
from fallwork.pages.build import EditionError
from fallwork.pages.context import LabPage
from fallwork.pages.printed import Printed, printed
from fallwork.pages.schedule import PRELAB, REPORT, coming, day_in_words, in_words, state
from fallwork.scenario import Term
from pages.history import BASE, BEFORE, LEVEL, OVER, RUNNING, by_path, head, pages

LAB = "2027-spring/level"
OPENING = datetime(2027, 2, 14, 23, tzinfo=UTC)  # 15 February, 00:00 in Berlin
A_SECOND = timedelta(seconds=1)
FIRSTS = """
Thursday 1 January 2026, Sunday 1 February 2026, Sunday 1 March 2026, Wednesday 1 April 2026,
Friday 1 May 2026, Monday 1 June 2026, Wednesday 1 July 2026, Saturday 1 August 2026,
Tuesday 1 September 2026, Thursday 1 October 2026, Sunday 1 November 2026, Tuesday 1 December 2026
"""


def built(now: datetime) -> dict[str, str]:
    return pages(BASE, now)


def markdown(there: dict[str, str]) -> list[str]:
    """The pages, without those that only list where a step stands."""
    return [path for path in there if path.endswith(".md") and not path.startswith("step/")]


@pytest.mark.parametrize(
    ("now", "names", "said"),
    [
        (BEFORE, "", "coming"),
        (LEVEL.opens - A_SECOND, "", "coming"),
        (LEVEL.opens, "prelab example bench report", "running"),
        (LEVEL.due - A_SECOND, "prelab example bench report", "running"),
        (LEVEL.due, "prelab example bench report", "closed"),
        (OPENING - A_SECOND, "prelab example bench report", "closed"),
        (OPENING, "prelab example bench report solution", "solved"),
    ],
)
def test_each_page_comes_at_its_first_moment(now: datetime, names: str, said: str) -> None:
    there = [f"{LAB}/{name}.md" for name in ("index", *names.split())]
    assert markdown(built(now)) == [
        *("index.md", "2027-spring/index.md"),
        *there,
        *(f"{name}.md" for name in GENERAL),
    ]
    drawn = f"{LAB}/figures/solution-motion.svg" in built(now)
    assert drawn == any("solution" in path for path in built(now)) == ("solution" in names)
    assert state(LEVEL, now).value == said


def test_steps_link_to_headings_that_pages_of_the_course_have() -> None:
    files = "".join(path.read_text("utf-8") for path in FOLDER.rglob("*.j2"))
    links = re.findall(r'link\("([\w-]+)#([\w-]+)"', files)
    assert {page for page, _ in links} == {"uncertainty"}
    there = built(RUNNING)
    assert [link for link in links if f"{{#{link[1]}}}" not in there[f"{link[0]}.md"]] == []


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


def test_a_line_of_steps_told_elsewhere_leads_to_one_page(monkeypatch: pytest.MonkeyPatch) -> None:
    def untold(page: LabPage) -> Iterator[Printed]:
        for each in printed(page):
            step = Step(id=each.step.id, title=each.step.title, idea=(), blocks=())
            there = (PRELAB, REPORT)[each.number // 3 % 2]
            yield Printed(number=each.number, step=step, argued=there)

    monkeypatch.setattr(build, "printed", untold)
    files = build_pages(BASE, now=OPENING, edition="student")
    page = by_path(files)[f"{LAB}/solution.md"]
    lines = re.findall(r'<p class="fw-elsewhere".*?>In the (\w+): (.*?)</p>', page, re.DOTALL)
    assert [name for name, _ in lines[:4]] == ["prelab", "report", "prelab", "report"]
    for name, links in lines:
        assert set(re.findall(r"\]\((\w+)\.md#", links)) == {name}


def test_steps_stand_in_parts_that_the_contents_name() -> None:
    page = built(RUNNING)[f"{LAB}/prelab.md"]
    step = r"<section .*>\n\n<header .*>\n\n\[.*\n\n### .* \{#(.*) \.fw-step\}"
    parts = re.findall(rf"^## (.*) \{{#part-(.*)\}}$\n\n{step}$", page, re.M)
    assert [name for _, name, _ in parts] == [first for _, _, first in parts]
    assert len(parts) > 2
    for title, _, _ in parts:
        assert f"\n\n**{title}** [" in page


def test_pages_with_numbers_explain_the_guard_digits() -> None:
    there = built(OVER)
    legend = r"Underlined digits, as in \$(\\underline{[\d.]+})"
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


def test_another_edition_is_refused() -> None:
    with pytest.raises(EditionError) as error:
        build_pages(BASE, now=RUNNING, edition="parents")
    assert str(error.value) == 'there is no edition "parents"; there is student and staff'


def test_coming_events_are_told_soonest_first_across_labs_and_terms() -> None:
    later = replace(LEVEL, id="two", opens=datetime(2027, 2, 13, tzinfo=UTC))
    terms = (Term(id="b", title="B", labs=(later,)), Term(id="a", title="A", labs=(LEVEL,)))
    told = [f"{event.lab.id} {event.what}" for event in coming(terms, LEVEL.due)]
    assert told == ["two opens", "two solution", "level solution"]


def test_a_moment_is_told_in_english_and_in_the_zone_of_the_course() -> None:
    night, noon = (datetime(2026, *at, tzinfo=UTC) for at in ((12, 13, 23, 30), (7, 1, 10, 30)))
    berlin = ZoneInfo("Europe/Berlin")
    assert in_words(night, berlin) == "Monday 14 December 2026, 00:30"
    assert in_words(night, ZoneInfo("America/Los_Angeles")) == "Sunday 13 December 2026, 15:30"
    assert in_words(noon, berlin) == "Wednesday 1 July 2026, 12:30"  # summer time
    firsts = (datetime(2026, month, 1, tzinfo=UTC) for month in range(1, 13))
    said = ", ".join(day_in_words(first, ZoneInfo("UTC")) for first in firsts)
    assert said == " ".join(FIRSTS.split())
