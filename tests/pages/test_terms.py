"""What changes after a lab was published: corrections, withdrawals, renamed steps; and where a step
stands.
"""

from dataclasses import replace
from datetime import datetime

import pytest

from fallwork.pages import addresses
from fallwork.scenario import Correction, CourseData, FormerStep, Measured, Withdrawal
from pages import history
from pages.history import DAY, course, lab, pages, start, taken, term

SPRING = term("2027-spring", lab("level", start(2)), lab("make-up", start(3), "498.0 g"))
TITLE = "Cart pulled along a level track by a falling weight"
IN_SPRING = start(3) + 2 * DAY


def test_an_extension_is_told_to_nobody() -> None:
    granted = replace(SPRING.labs[0], extended_to=start(2) + 12 * DAY)
    plain, extended = (pages(course(term("t", one)), start(2)) for one in (SPRING.labs[0], granted))
    assert extended == plain


# ---- corrections


@pytest.mark.parametrize(
    ("field", "days", "told"),
    [
        ("results", 13, []),
        ("results", 14, ["index", "solution"]),
        ("measured.acceleration", 4, []),
        ("measured.acceleration", 5, ["index", "data"]),
        ("measured.acceleration", 14, ["index", "data", "solution"]),
        ("example.results", 1, ["index", "example"]),
        ("example.weight.mass", 20, ["index", "example"]),
    ],
)
def test_a_correction_of_what_is_held_back_waits_for_its_page(
    field: str, days: int, told: list[str]
) -> None:
    said = Correction(at=start(2) + DAY, field=field, was="1.23 m/s²", because="It was 1.23.")
    values = taken("acceleration", *["1.22 m/s²"] * 5)
    one = lab(
        "level",
        start(2),
        corrections=(said,),
        data_opens=start(2) + 5 * DAY,
        measured=Measured(acceleration=values, whose="simulation"),
    )
    built = pages(history.in_spring(one), start(2) + days * DAY)
    assert [path for path, page in built.items() if "1.23" in page and path.endswith(".md")] == [
        f"2027-spring/level/{name}.md" for name in told
    ]
    assert "version 2" not in built["2027-spring/level/prelab.md"]


# ---- withdrawal

TAKEN = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
GONE = history.in_spring(lab("level", start(2), withdrawn=TAKEN))


def test_a_withdrawn_lab_keeps_its_pages_with_one_sentence_and_the_addresses_of_steps() -> None:
    built, path = pages(GONE, start(3)), "2027-spring/level/prelab.md"
    assert [path for path in built if path.startswith("2027-spring/")] == [
        "2027-spring/index.md",
        *(
            f"2027-spring/level/{name}.md"
            for name in ("index", *["prelab", "example", "bench", "report"])
        ),
    ]
    text = [line for line in built[path].split("\n") if line and not line.startswith("<div id=")]
    assert text[-2:] == [
        f"# Prelab: {TITLE}",
        "This page was taken down on Saturday 6 February 2027: The track was bent.",
    ]
    assert built[path].rstrip().endswith("The track was bent.")  # no address stands below it
    assert "robots: noindex\n" in history.head(built[path])
    assert "{#tension .fw-step}" in pages(GONE, start(2))[path]
    assert '<div id="tension"></div>' in built[path]


def test_before_it_is_withdrawn_a_lab_is_as_it_always_was() -> None:
    plain = history.in_spring(lab("level", start(2)))
    assert pages(GONE, start(2) + 4 * DAY) == pages(plain, start(2) + 4 * DAY)


# ---- steps that were renamed or taken out


def test_the_former_address_of_a_step_leads_to_it_or_to_a_sentence() -> None:
    because = "It stands with the tension now."
    former = (
        FormerStep(id="pull", now="rope"),
        FormerStep(id="rope", now="tension"),
        FormerStep(id="hook", because=because),
    )
    renamed = replace(history.BASE.scenarios["level"], former_steps=former)
    built = pages(course(SPRING, scenario=renamed), IN_SPRING)
    page = built["2027-spring/level/prelab.md"]
    heading = page.index("{#tension .fw-step}")
    for name in ("pull", "rope"):
        assert 0 < heading - page.index(f'<div id="{name}"></div>') < 120
        assert "(../../2027-spring/level/prelab.md#tension)" in built[f"step/level/{name}.md"]
    gone = f"The step that had this address was taken out: {because}"
    assert f'<div id="hook" markdown="1">\n\n{gone}\n' in page
    assert f"This step was taken out: {because}" in built["step/level/hook.md"]


# ---- where a step stands, and all addresses

AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g"))
BOTH = course(term("2027-spring", lab("level", start(2))), AUTUMN)
KNOWN = replace(BOTH, course=replace(BOTH.course, url="https://lab.example.org/"))


def listing(now: datetime) -> str:
    return pages(BOTH, now)["step/level/tension.md"]


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


@pytest.mark.parametrize("data", [BOTH, KNOWN])
def test_addresses_are_the_pages_and_steps_of_the_site(data: CourseData) -> None:
    now = start(9) + DAY
    built = {path.replace(".md", ".html"): text for path, text in pages(data, now).items()}
    held = {
        f"{path}{anchor}"
        for path, page in built.items()
        for anchor in ("", *(f"#{each}" for each in history.anchors(page, former=True)))
        if path.endswith((".html", ".ics"))
    }
    assert {*addresses(data, now)} == held


def test_a_withdrawn_lab_keeps_its_addresses() -> None:
    before, after = ({*addresses(GONE, start(month))} for month in (2, 3))
    assert before == after
    assert "2027-spring/level/prelab.html#tension" in before
