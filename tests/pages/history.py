"""The tests' own course, moments of its term, and courses of several terms made from it."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from fallwork.pages import worked
from fallwork.pages.build import build_pages
from fallwork.pages.markdown import PageFile
from fallwork.scenario import CourseData, GivenMean, Lab, Scenario, Term, load_course, with_numbers
from fallwork.scenario.quantity import parse_quantity

COURSE = Path(__file__).parent / "course"
BEFORE = datetime(2027, 1, 20, 9, tzinfo=UTC)  # nothing is open
RUNNING = datetime(2027, 2, 3, 9, tzinfo=UTC)  # prelab and example are open
OVER = datetime(2027, 2, 20, 9, tzinfo=UTC)  # the solution is open too
BASE = load_course(COURSE)
LEVEL = BASE.terms[0].labs[0]
DAY = timedelta(days=1)


def start(month: int, year: int = 2027) -> datetime:
    return datetime(year, month, 1, tzinfo=UTC)


def lab(name: str, opens: datetime, mass: str = "512.0 g", **more: object) -> Lab:
    """A lab of two weeks, with its own mass of the cart; its example has 120 g hanging."""
    variant = with_numbers(LEVEL.variant, {"cart.mass": mass})
    given = {
        "variant": variant,
        "example": with_numbers(variant, {"weight.mass": "120.0 g", "cart.mass": "655.0 g"}),
        "opens": opens,
        "due": opens + 11 * DAY,
        "solution_opens": opens + 14 * DAY,
    }
    return replace(LEVEL, id=name, **{**given, **more})


def term(name: str, *labs: Lab) -> Term:
    return Term(id=name, title=name.replace("-", " ").capitalize(), labs=labs)


def course(*terms: Term, scenario: Scenario | None = None) -> CourseData:
    """The course with these terms; with another form of its scenario."""
    if scenario is not None:
        terms = tuple(
            replace(each, labs=tuple(replace(one, scenario=scenario) for one in each.labs))
            for each in terms
        )
    return replace(BASE, terms=terms)


_BUILT: dict[object, tuple[CourseData, dict[str, str]]] = {}  # keeps the data alive for its id


def pages(data: CourseData, now: datetime, edition: str = "student") -> dict[str, str]:
    """The pages of a course at a moment, each build done once."""
    key = (id(data), now, edition, worked.draw)  # with drawings, or with frames in their place
    if key not in _BUILT:
        _BUILT[key] = (data, by_path(build_pages(data, now=now, edition=edition)))
    return _BUILT[key][1]


def by_path(files: tuple[PageFile, ...]) -> dict[str, str]:
    return {file.path: file.content for file in files}


def head(page: str) -> str:
    """The front matter."""
    return page.split("---\n")[1]


def in_spring(*labs: Lab, scenario: Scenario | None = None) -> CourseData:
    return course(term("2027-spring", *labs), scenario=scenario)


def taken(kind: str, *texts: str) -> tuple[Any, ...]:
    """Values as somebody writes them, e.g. of an acceleration."""
    return tuple(parse_quantity(text, kind) for text in texts)


def mean(kind: str, text: str, n: int | None = None, **more: Any) -> GivenMean:
    return GivenMean(value=parse_quantity(text, kind), n=n, **more)


def anchors(page: str, *, former: bool = False) -> list[str]:
    """The addresses of a page's steps, with the ``former`` ones of each if asked."""
    mark = r"(?:\{#|<span id=\"|<div id=\")([a-z0-9-]+)"
    now = r'(?: \.fw-step\}|"></span>\[)'
    return re.findall(mark + (rf'(?:{now}|"></(?:span|div)>)' if former else now), page)


def listed(page: str) -> list[str]:
    """The steps that the contents of a page name."""
    contents = page.split('<div id="contents" markdown="1">')[1].split("</div>")[0]
    return re.findall(r"\]\(#([a-z0-9-]+)\)", contents)
