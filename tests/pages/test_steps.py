"""The pages that list where a step stands, and the list of all addresses."""

import re
from dataclasses import replace

import pytest

from fallwork.pages import addresses
from fallwork.scenario import CourseData, Withdrawal
from pages.history import DAY, course, head, lab, pages, start, term

SPRING = term("2027-spring", lab("level", start(2)))
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g"))
BOTH = course(SPRING, AUTUMN)
KNOWN = replace(BOTH, course=replace(BOTH.course, url="https://lab.example.org/"))
TITLE = "Cart pulled along a level track by a falling weight"


def listing(now: object, step: str = "tension") -> str:
    return pages(BOTH, now)[f"step/level/{step}.md"]  # type: ignore[arg-type]


def test_a_step_lists_the_pages_that_are_open() -> None:
    page = listing(start(2) + DAY)
    assert page.split("\n\n", 3)[2:] == [
        "This step stands on these pages:",
        f"- [Prelab: {TITLE}](../../2027-spring/level/prelab.md#tension) (2027 spring)\n"
        f"- [Worked example: {TITLE}](../../2027-spring/level/example.md#tension) (2027 spring)\n",
    ]
    solved = f"- [Solution: {TITLE}](../../2027-spring/level/solution.md#tension)"
    assert solved not in listing(start(2) + 14 * DAY - DAY / 24)
    assert solved in listing(start(2) + 14 * DAY)
    present, earlier = listing(start(9) + DAY).split("Earlier terms, with other numbers:")
    assert "2027-autumn/level/prelab.md#tension" in present
    assert "2027-spring/level/solution.md#tension" in earlier
    assert [path for path in pages(BOTH, start(1)) if path.startswith("step/")] == []


def test_listings_are_out_of_the_search_and_of_the_navigation() -> None:
    assert "hide:\n- navigation\n- toc\nsearch:\n  exclude: true\n" in head(listing(start(2)))
    assert "nav:" not in head(listing(start(2)))


@pytest.mark.parametrize("data", [BOTH, KNOWN])
def test_addresses_are_the_pages_and_steps_of_the_site(data: CourseData) -> None:
    now = start(9) + DAY
    built = {path.replace(".md", ".html"): text for path, text in pages(data, now).items()}
    given = {(address.path, address.anchor) for address in addresses(data, now)}
    held = {
        (path, anchor)
        for path, page in built.items()
        for anchor in ("", *re.findall(r"\{#([a-z0-9-]+) \.fw-step\}", page))
        if path.endswith((".html", ".ics"))
    }
    assert given == held


def test_an_address_once_given_out_is_never_lost() -> None:
    moments = [start(1), start(2), start(2) + 14 * DAY, start(9), start(10), start(12)]
    known: set[tuple[str, str]] = set()
    for now in moments:
        present = {(address.path, address.anchor) for address in addresses(BOTH, now)}
        assert known <= present
        known = present


def test_a_withdrawn_step_keeps_its_address_but_stands_nowhere() -> None:
    taken = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
    gone = course(replace(SPRING, labs=(replace(SPRING.labs[0], withdrawn=taken),)))
    before, after = ({(a.path, a.anchor): a for a in addresses(gone, start(n))} for n in (2, 3))
    assert set(before) == set(after)
    key = ("2027-spring/level/prelab.html", "tension")
    assert (before[key].step, after[key].step) == ("tension", "")
