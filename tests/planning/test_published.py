"""What has been published stays, until a dated correction says otherwise."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fallwork.planning import ChangedError, check_published, example_of, published_by
from fallwork.scenario import (
    Correction,
    CourseData,
    Frozen,
    GivenMean,
    Hanging,
    Lab,
    Measured,
    Withdrawal,
    as_written,
    load_course,
    with_numbers,
)
from fallwork.scenario.corrections import one_line
from fallwork.scenario.quantity import parse_quantity

COURSE = load_course(Path(__file__).parents[1] / "scenario" / "sound")
LAB = COURSE.terms[0].labs[0]
NAME = ("2027-spring", "cart")
OPEN = LAB.opens + timedelta(days=1)


def course_with(lab: Lab, published: dict[tuple[str, str], Frozen] | None = None) -> CourseData:
    """The course with this one lab, and what was published of it: by default the sound lab."""
    term = replace(COURSE.terms[0], labs=(lab,))
    was = published_by(COURSE, OPEN) if published is None else published
    return replace(COURSE, terms=(term,), published=was)


def correction(field: str, was: str, day: int = 3) -> Correction:
    at = datetime(2027, 2, day, tzinfo=UTC)
    return Correction(at=at, field=field, was=was, because="weighed again")


def lab_with(mass: str, *corrections: Correction) -> Lab:
    """The lab with another mass of the cart; its example takes the mass over."""
    variant = with_numbers(LAB.variant, {"cart.mass": mass})
    example = with_numbers(variant, {"weight.mass": "120.0 g"})
    return replace(LAB, variant=variant, example=example, corrections=corrections)


def objections(data: CourseData) -> list[str]:
    with pytest.raises(ChangedError) as caught:
        check_published(data, OPEN)
    return str(caught.value).replace(f"{COURSE.root}/", "").splitlines()


def test_nothing_is_recorded_before_a_lab_opens() -> None:
    assert published_by(COURSE, LAB.opens - timedelta(seconds=1)) == {}


def test_a_lab_is_recorded_from_the_moment_it_opens() -> None:
    record = published_by(COURSE, LAB.opens)[NAME]
    assert record.variant["cart.mass"] == "512.0 g ± 0.1 g"
    assert record.example["weight.mass"] == "120.0 g"
    assert record.variant["course.gravity"] == "9.81 m/s²"


def test_results_are_recorded_to_six_figures() -> None:
    # a = (m_h - mu m_c) g / (m_c + m_h) by hand, with 512 g, 80 g, mu = 0.008
    expected = (0.080 - 0.008 * 0.512) * 9.81 / 0.592
    record = published_by(COURSE, OPEN)[NAME]
    assert record.results["driven, acceleration of cart"] == f"{expected:.6g} m/s²"
    assert record.results["driven, acceleration of cart"] == "1.2578 m/s²"


def test_a_lab_that_stays_the_same_is_no_change() -> None:
    check_published(course_with(LAB), OPEN)


def test_words_may_change() -> None:
    variant = replace(LAB.variant, title="Another title")
    check_published(course_with(replace(LAB, variant=variant)), OPEN)


def test_dates_may_change() -> None:
    check_published(course_with(replace(LAB, due=LAB.due + timedelta(days=1))), OPEN)


def test_another_number_is_refused_with_its_name_and_a_remedy() -> None:
    assert objections(course_with(lab_with("507.3 g")))[0] == (
        "--set cart.mass=507.3 g:1:11: cart: cart.mass was published as 512.0 g ± 0.1 g and would "
        "now be 507.3 g ± 0.1 g; put it back, or add to the corrections in "
        "terms/2027-spring.yaml: "
        "{at: 2027-02-02, field: cart.mass, was: 512.0 g ± 0.1 g, because: …}"
    )


def test_the_example_is_held_too() -> None:
    example = with_numbers(LAB.variant, {"weight.mass": "130.0 g"})
    assert objections(course_with(replace(LAB, example=example))) == [
        "--set weight.mass=130.0 g:1:13: cart: example.weight.mass was published as 120.0 g and "
        "would now be 130.0 g; put it back, or add to the corrections in terms/2027-spring.yaml: "
        "{at: 2027-02-02, field: example.weight.mass, was: 120.0 g, because: …}"
    ]


@pytest.mark.parametrize("was", ["512.0 g ± 0.1 g", "512.0 g"])
def test_a_correction_accounts_for_a_change_and_for_the_example_that_takes_it_over(
    was: str,
) -> None:
    check_published(course_with(lab_with("507.3 g", correction("cart.mass", was))), OPEN)


def test_a_correction_has_to_say_what_was_published() -> None:
    lab = lab_with("507.3 g", correction("cart.mass", "500 g"))
    assert objections(course_with(lab))[0] == (
        "terms/2027-spring.yaml:3:3: cart: the correction of cart.mass says that it was 500 g, "
        "but 512.0 g ± 0.1 g was published there; write was: 512.0 g ± 0.1 g"
    )


def test_a_correction_that_remembers_a_value_where_none_was_published() -> None:
    scenario = with_numbers(LAB.variant, {"cart.static_friction": "0.010"})
    lab = replace(LAB, variant=scenario, example=with_numbers(scenario, {"weight.mass": "120.0 g"}))
    said = replace(lab, corrections=(correction("cart.static_friction", "0.012"),))
    assert objections(course_with(lab))[0] == (
        "--set cart.static_friction=0.010:1:22: cart: cart.static_friction was not published and "
        "would now be 0.010; take it out again, or add to the corrections in "
        "terms/2027-spring.yaml: {at: 2027-02-02, field: cart.static_friction, because: …}"
    )
    assert objections(course_with(said))[0] == (
        "terms/2027-spring.yaml:3:3: cart: the correction of cart.static_friction says that it was "
        "0.012, but nothing was published there; take was: 0.012 out of the correction"
    )


def test_a_correction_that_leaves_out_what_was_published() -> None:
    lab = lab_with("507.3 g", correction("cart.mass", ""))
    assert objections(course_with(lab))[0] == (
        "terms/2027-spring.yaml:3:3: cart: the correction of cart.mass doesn't say what it was, "
        "but 512.0 g ± 0.1 g was published there; write was: 512.0 g ± 0.1 g"
    )


def test_records_that_differ_are_told_by_name() -> None:
    def recorded(**digests: str) -> Lab:
        files = {f"x/{name}.csv": sign * 64 for name, sign in digests.items()}
        return replace(LAB, data_opens=LAB.opens, measured=Measured(digests=files))

    published = published_by(course_with(recorded(one="a", two="b"), {}), OPEN)
    assert objections(course_with(recorded(one="c"), published)) == [
        "terms/2027-spring.yaml:3:3: cart: the record x/one.csv is another one than was published, "
        "and 1 more differ; put it back, or add to the corrections in terms/2027-spring.yaml: "
        "{at: 2027-02-02, field: measured, because: …}"
    ]


def test_a_correction_of_nothing_is_refused() -> None:
    lab = replace(LAB, corrections=(correction("weight.mass", "80.0 g"),))
    assert objections(course_with(lab)) == [
        "terms/2027-spring.yaml:3:3: cart: the correction of weight.mass stands for no change; "
        "name the field that was changed, or take the correction out"
    ]


def test_the_next_publication_takes_the_correction_over() -> None:
    data = course_with(lab_with("507.3 g", correction("cart.mass", "512.0 g")))
    renewed = replace(data, published=published_by(data, OPEN))
    assert renewed.published[NAME].variant["cart.mass"] == "507.3 g ± 0.1 g"
    check_published(renewed, OPEN)


def test_a_published_correction_cannot_be_taken_back() -> None:
    data = course_with(lab_with("507.3 g", correction("cart.mass", "512.0 g")))
    renewed = course_with(lab_with("507.3 g"), published_by(data, OPEN))
    assert objections(renewed) == [
        "terms/2027-spring.yaml:3:3: cart: the correction of cart.mass of 2027-02-03 has been "
        "published and is gone or changed; put it back as it was; another correction may follow it"
    ]


def test_corrections_may_follow_one_another() -> None:
    first = correction("cart.mass", "512.0 g")
    data = course_with(lab_with("507.3 g", first))
    again = lab_with("508.3 g", first, correction("cart.mass", "507.3 g", day=4))
    check_published(course_with(again, published_by(data, OPEN)), OPEN)


def recorded_with(results: dict[str, str]) -> dict[tuple[str, str], Frozen]:
    record = published_by(COURSE, OPEN)[NAME]
    return {NAME: replace(record, results={**record.results, **results})}


def test_another_result_from_the_same_numbers_is_refused() -> None:
    published = recorded_with(
        {"driven, acceleration of cart": "1.2579 m/s²", "driven, duration": "0.936 s"}
    )
    assert objections(course_with(LAB, published)) == [
        "terms/2027-spring.yaml:3:3: cart: results.driven, duration was published as 0.936 s and "
        "would now be 0.93517 s, and 1 more differ; go back to the version of the program that "
        "published it, or add to the corrections in terms/2027-spring.yaml: "
        "{at: 2027-02-02, field: results, because: …}"
    ]


def test_the_last_figure_of_a_float_is_no_other_result() -> None:
    check_published(course_with(LAB, recorded_with({"driven, duration": "0.935169 s"})), OPEN)
    check_published(course_with(LAB, recorded_with({"driven, duration": "0.935171 s"})), OPEN)


def test_the_corrected_results_of_the_program_are_accounted_for_together() -> None:
    published = recorded_with({"driven, acceleration of cart": "1.2579 m/s²"})
    lab = replace(LAB, corrections=(correction("results", ""),))
    check_published(course_with(lab, published), OPEN)


def test_another_gravity_changes_every_lab() -> None:
    gravity = parse_quantity("9.807 m/s²", "acceleration")
    data = course_with(LAB)
    changed = replace(data, course=replace(data.course, gravity=gravity))
    assert "course.gravity was published as 9.81 m/s²" in objections(changed)[0]


TRIALS = Measured(
    acceleration=GivenMean(value=parse_quantity("1.26 m/s² ± 0.01 m/s²", "acceleration"), n=9),
    tension=GivenMean(
        value=parse_quantity("0.66 N", "force"), n=9, deviation=parse_quantity("6 mN", "force")
    ),
    final_speed=GivenMean(value=parse_quantity("1.3 m/s", "speed")),
)


def test_trials_are_recorded_when_they_are_open() -> None:
    lab = replace(LAB, measured=TRIALS, data_opens=LAB.opens + timedelta(days=2))
    early, late = (published_by(course_with(lab, {}), OPEN + timedelta(days=n)) for n in (0, 1))
    assert early[NAME].measured == {}
    assert late[NAME].measured == {
        "acceleration": "1.26 m/s² ± 0.01 m/s², n = 9",
        "tension": "0.66 N, n = 9, s = 6 mN",
        "final_speed": "1.3 m/s",
    }


def test_open_trials_are_held_to_what_they_were() -> None:
    lab = replace(LAB, measured=TRIALS, data_opens=LAB.opens)
    published = published_by(course_with(lab, {}), OPEN)
    without = course_with(replace(lab, measured=None), published)
    assert objections(without)[0].startswith(
        "terms/2027-spring.yaml:3:3: cart: measured.acceleration was published as "
        "1.26 m/s² ± 0.01 m/s², n = 9 and would now be gone; "
    )
    corrected = replace(lab, measured=None, corrections=(correction("measured", ""),))
    check_published(course_with(corrected, published), OPEN)


def test_a_withdrawn_lab_keeps_its_record_and_may_change() -> None:
    withdrawn = Withdrawal(at=OPEN, because="The track was bent.")
    lab = replace(lab_with("507.3 g"), withdrawn=withdrawn)
    data = course_with(lab)
    check_published(data, OPEN)
    assert published_by(data, OPEN) == data.published


def weight_of(lab: Lab, published: Frozen) -> str:
    weight = example_of(lab, gravity=9.81, figures=3, published=published).objects["weight"]
    assert isinstance(weight, Hanging)
    return as_written(weight.mass)


def test_a_chosen_example_stays_the_one_that_was_published() -> None:
    # The record holds the example with 120 g that was given then; now the program chooses.
    automatic = replace(LAB, example=None)
    assert weight_of(automatic, published_by(COURSE, OPEN)[NAME]) == "120.0 g"
    check_published(course_with(automatic), OPEN)


# ---- what a message says to write can be written


def pasted(folder: Path, entries: Sequence[str], zone: str = "Europe/Zurich") -> CourseData:
    """The sound course in a folder of its own, its lab with these corrections."""
    lines = "".join(f"      - {entry}\n" for entry in entries)
    (folder / "scenarios").mkdir(exist_ok=True)
    (folder / "terms").mkdir(exist_ok=True)
    (folder / "course.yaml").write_text(
        f"title: A course\ntime_zone: {zone}\nsignificant_figures: 3\ngravity: 9.81 m/s²\n", "utf-8"
    )
    (folder / "scenarios/cart.yaml").write_text(
        (COURSE.root / "scenarios/cart.yaml").read_text("utf-8"), "utf-8"
    )
    (folder / "terms/2027-spring.yaml").write_text(
        "term: Spring 2027\nlabs:\n  cart:\n    numbers: {cart.mass: 512.0 g}\n"
        "    example: {weight.mass: 120.0 g}\n"
        "    opens: 2027-02-01\n    due: 2027-02-12T17:00\n    solution_opens: 2027-02-15\n"
        + (f"    corrections:\n{lines}" if entries else ""),
        "utf-8",
    )
    return load_course(folder)


def remedies(data: CourseData, now: datetime) -> list[str]:
    """The entries that messages ask for; a correction for each."""
    try:
        check_published(data, now)
    except ChangedError as error:
        return [each.remedy.partition("2027-spring.yaml: ")[2] for each in error.changes]
    return []


AWKWARD = st.text(min_size=1, max_size=30) | st.text(
    alphabet="{}[]:,#&*!|>'\"%@`±-? \n\t\\é…~0", min_size=1
)


@given(was=AWKWARD, name=AWKWARD)
@example(was='Thursday: the "cable", {dragged} #2\n± 3', name="no, 7: a")
@example(was="\x00\x07", name="-")
def test_a_correction_that_a_message_asks_for_can_be_pasted_whatever_it_holds(
    was: str, name: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.getbasetemp() / "pasted"
    folder.mkdir(exist_ok=True)
    data = pasted(folder, ())
    ((key, record),) = published_by(data, OPEN).items()
    field = f"exclude.{one_line(name) or 'x'}"
    record = replace(record, variant={**record.variant, "cart.runs_on": was, field: was})
    published = {key: record}
    asked = remedies(replace(data, published=published), OPEN)
    assert asked
    assert "\n" not in "".join(asked)
    assert remedies(replace(pasted(folder, asked), published=published), OPEN) == []


@pytest.mark.parametrize(
    ("now", "at"),
    [
        ("2027-02-08T09:30+01:00", "2027-02-08"),
        ("2027-02-09T19:07+01:00", "2027-02-09T19:07"),  # another one was made at 18:00
        ("2027-02-09T16:00+01:00", "2027-02-09T18:00"),  # by a clock that was put back
    ],
)
def test_the_date_that_is_asked_for_comes_after_all_that_stands_there(
    now: str, at: str, tmp_path: Path
) -> None:
    first = "{at: 2027-02-09T18:00, field: cart.mass, was: 507.3 g, because: weighed again}"
    moment = datetime.fromisoformat(now)
    there = (first,) if moment.day == 9 else ()
    before = pasted(tmp_path, ())
    record = published_by(before, OPEN)[NAME]
    variant = {**record.variant, "cart.mass": "507.3 g ± 0.1 g"} if there else record.variant
    record = replace(record, variant={**variant, "weight.mass": "81.0 g"})
    published = {NAME: record}
    (asked,) = remedies(replace(pasted(tmp_path, there), published=published), moment)
    written = f"'{at}'" if ":" in at else at
    assert asked == f"{{at: {written}, field: weight.mass, was: 81.0 g, because: …}}"
    assert remedies(replace(pasted(tmp_path, (*there, asked)), published=published), moment) == []


@pytest.mark.parametrize("zone", ["America/Vancouver", "Pacific/Auckland", "Asia/Beirut"])
def test_another_time_zone_undoes_no_correction(zone: str, tmp_path: Path) -> None:
    # In Beirut the clocks go forward at midnight of 28 March: that day begins at 01:00.
    made = [
        "{at: 2027-02-03, field: cart.mass, was: 500.0 g, because: weighed again}",
        "{at: 2027-03-28, field: cart.mass, was: 511.0 g, because: weighed again}",
    ]
    before = pasted(tmp_path, made)
    published = published_by(before, OPEN)
    assert remedies(replace(pasted(tmp_path, made, zone), published=published), OPEN) == []


def test_a_correction_on_the_same_day_for_the_same_reason_is_another_one(tmp_path: Path) -> None:
    made = [
        f"{{at: 2027-02-03T{hour}:00, field: cart.mass, was: {was}, because: weighed again}}"
        for hour, was in ((10, "512.0 g"), (11, "511.0 g"))
    ]
    published = published_by(pasted(tmp_path, made), OPEN)
    again = [*made, made[0].replace("T10", "T12")]
    assert (
        "stands for no change"
        in objections(replace(pasted(tmp_path, again), published=published))[0]
    )
