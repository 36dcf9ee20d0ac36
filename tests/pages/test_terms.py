"""What changes after a lab was published: corrections, withdrawals, renamed steps."""

from dataclasses import replace

import pytest

from fallwork.pages import build_pages
from fallwork.planning.published import ChangedError, published_by
from fallwork.scenario import Correction, FormerStep, Measured, Withdrawal, with_numbers
from fallwork.scenario.quantity import parse_quantity
from pages.history import BASE, DAY, course, head, lab, pages, start, term

SPRING = term("2027-spring", lab("level", start(2)), lab("make-up", start(3), "498.0 g"))
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
    values = {"acceleration": (parse_quantity("1.22 m/s²", "acceleration"),) * 5}
    one = lab(
        "level",
        start(2),
        corrections=(said,),
        data_opens=start(2) + 5 * DAY,
        measured=Measured(**values, whose="simulation"),
    )
    built = pages(course(term("2027-spring", one)), start(2) + days * DAY)
    assert [path for path, page in built.items() if "1.23" in page and path.endswith(".md")] == [
        f"2027-spring/level/{name}.md" for name in told
    ]
    assert "version 2" not in built["2027-spring/level/prelab.md"]


def test_pages_are_refused_where_something_published_would_change() -> None:
    data = replace(BASE, published=published_by(BASE, IN_SPRING))
    mine = data.terms[0].labs[0]
    other = replace(mine, variant=with_numbers(mine.variant, {"cart.mass": "507.3 g"}))
    changed = replace(data, terms=(replace(data.terms[0], labs=(other,)),))
    with pytest.raises(ChangedError):
        build_pages(changed, now=IN_SPRING, edition="student")


# ---- withdrawal

TAKEN = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
GONE = course(term("2027-spring", lab("level", start(2), withdrawn=TAKEN)))


def test_a_withdrawn_lab_keeps_its_pages_with_one_sentence() -> None:
    built = pages(GONE, start(3))
    assert [path for path in built if path.startswith("2027-spring/")] == [
        "2027-spring/index.md",
        *(f"2027-spring/level/{name}.md" for name in ("index", "prelab", "example", "report")),
    ]
    page = built["2027-spring/level/prelab.md"]
    text = [line for line in page.split("\n") if line and not line.startswith("<div id=")]
    assert text[-2:] == [
        "# Prelab: Cart pulled along a level track by a falling weight",
        "This page was taken down on Saturday 6 February 2027: The track was bent.",
    ]
    assert page.rstrip().endswith("The track was bent.")  # no address stands below it
    assert "robots: noindex\n" in head(page)


def test_the_steps_of_a_withdrawn_page_keep_their_addresses() -> None:
    path = "2027-spring/level/prelab.md"
    before, after = (pages(GONE, now)[path] for now in (start(2), start(3)))
    assert "{#tension .fw-step}" in before
    assert '<div id="tension"></div>' in after


def test_before_it_is_withdrawn_a_lab_is_as_it_always_was() -> None:
    plain = course(term("2027-spring", lab("level", start(2))))
    assert pages(GONE, start(2) + 4 * DAY) == pages(plain, start(2) + 4 * DAY)


# ---- steps that were renamed or taken out


def with_former(*former: FormerStep) -> dict[str, str]:
    scenario = replace(BASE.scenarios["level"], former_steps=former)
    return pages(course(SPRING, scenario=scenario), IN_SPRING)


def test_the_former_address_of_a_step_leads_to_it() -> None:
    built = with_former(FormerStep(id="pull", now="rope"), FormerStep(id="rope", now="tension"))
    page = built["2027-spring/level/prelab.md"]
    heading = page.index("{#tension .fw-step}")
    for former in ("pull", "rope"):
        assert 0 < heading - page.index(f'<div id="{former}"></div>') < 120
        assert "(../../2027-spring/level/prelab.md#tension)" in built[f"step/level/{former}.md"]


def test_a_step_that_was_taken_out_leaves_a_sentence() -> None:
    because = "It stands with the tension now."
    built = with_former(FormerStep(id="pull", because=because))
    gone = f"The step that had this address was taken out: {because}"
    assert f'<div id="pull" markdown="1">\n\n{gone}\n' in built["2027-spring/level/prelab.md"]
    assert f"This step was taken out: {because}" in built["step/level/pull.md"]
