"""The pages that list where a step stands, and the list of all addresses."""

import re
from dataclasses import replace

from fallwork.pages import addresses
from fallwork.scenario import Withdrawal
from pages.history import DAY, course, head, lab, pages, start, term

SPRING = term("2027-spring", lab("level", start(2)))
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g"))
BOTH = course(SPRING, AUTUMN)
TITLE = "Cart pulled along a level track by a falling weight"


def listing(now: object, step: str = "tension") -> str:
    return pages(BOTH, now)[f"step/level/{step}.md"]  # type: ignore[arg-type]


def test_a_step_lists_prelab_and_example_while_the_lab_runs() -> None:
    page = listing(start(2) + DAY)
    assert page.split("\n\n", 3)[2:] == [
        "This step stands on these pages:",
        f"- [Prelab: {TITLE}](../../2027-spring/level/prelab.md#tension) (2027 spring)\n"
        f"- [Worked example: {TITLE}](../../2027-spring/level/example.md#tension) (2027 spring)\n",
    ]


def test_the_solution_is_listed_once_it_is_open() -> None:
    line = f"- [Solution: {TITLE}](../../2027-spring/level/solution.md#tension)"
    assert line not in listing(start(2) + 14 * DAY - DAY / 24)
    assert line in listing(start(2) + 14 * DAY)


def test_earlier_terms_stand_apart_and_below() -> None:
    present, earlier = listing(start(9) + DAY).split("Earlier terms, with other numbers:")
    assert "2027-autumn/level/prelab.md#tension" in present
    assert "2027-spring/level/solution.md#tension" in earlier


def test_listings_are_out_of_the_search_and_of_the_navigation() -> None:
    assert "hide:\n- navigation\n- toc\nsearch:\n  exclude: true\n" in head(listing(start(2)))
    assert "nav:" not in head(listing(start(2)))


def test_no_step_is_listed_before_a_lab_opens() -> None:
    assert [path for path in pages(BOTH, start(1)) if path.startswith("step/")] == []


def test_every_address_that_is_given_out_is_on_the_site() -> None:
    now = start(9) + DAY
    built = pages(BOTH, now)
    for address in addresses(BOTH, now):
        page = built[re.sub(r"html$", "md", address.path)]
        assert not address.anchor or f"{{#{address.anchor} .fw-step}}" in page


def test_every_page_and_step_of_the_site_is_an_address() -> None:
    now = start(9) + DAY
    known = replace(BOTH, course=replace(BOTH.course, url="https://lab.example.org/"))
    given = {(address.path, address.anchor) for address in addresses(known, now)}
    assert ("dates.html", "") in given
    assert ("calendar.ics", "") in given
    for path, page in pages(known, now).items():
        if path.endswith(".md"):
            anchors = ["", *re.findall(r"\{#([a-z0-9-]+) \.fw-step\}", page)]
            assert {(path.removesuffix("md") + "html", each) for each in anchors} <= given


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
