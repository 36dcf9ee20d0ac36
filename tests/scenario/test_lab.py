"""A lab with sections, trials, corrections and a withdrawal, as a term file gives it."""

import shutil
from pathlib import Path
from textwrap import indent

import pytest

from fallwork.errors import BadInput
from fallwork.scenario import (
    FormerStep,
    GivenMean,
    Lab,
    Measured,
    Quantity,
    as_written,
    load_course,
)

HERE = Path(__file__).parent
TERM = """\
term: Spring 2027
labs:
  cart:
    example: {weight.mass: 120.0 g}
    opens: 2027-02-01
    data_opens: 2027-02-08
    due: 2027-02-12T17:00
    solution_opens: 2027-02-20
"""


def lab_with(tmp_path: Path, more: str) -> Lab:
    """The lab of a term file with ``more`` lines."""
    course = shutil.copytree(HERE / "sound", tmp_path / "course")
    (course / "terms" / "2027-spring.yaml").write_text(TERM + indent(more, "    "), "utf-8")
    return load_course(course).terms[0].labs[0]


def measured(tmp_path: Path, more: str) -> Measured:
    found = lab_with(tmp_path, f"measured: {{{more}}}\n").measured
    assert found is not None
    return found


def text(value: object) -> str:
    assert isinstance(value, Quantity)
    return as_written(value)


def test_a_section_takes_the_dates_of_the_lab_that_it_does_not_give(tmp_path: Path) -> None:
    lab = lab_with(tmp_path, "sections: {thursday: {title: Thursdays, due: 2027-02-14T17:00}}\n")
    section = lab.sections["thursday"]
    assert (section.title, section.opens, section.data_opens) == (
        *("Thursdays", lab.opens, lab.data_opens),
    )
    assert section.due.isoformat() == "2027-02-14T17:00:00+01:00"


SECTIONS = "sections: {a: {opens: 2027-01-30, data_opens: 2027-02-11}, b: {due: 2027-02-15}}\n"


def test_for_all_the_pages_open_with_the_first_section_and_the_rest_with_the_last(
    tmp_path: Path,
) -> None:
    lab = lab_with(tmp_path, SECTIONS)
    found = (lab.opens_first, lab.data_opens_last, lab.due_last)
    assert [f"{each:%m-%d}" for each in found if each] == ["01-30", "02-11", "02-15"]
    assert load_course(HERE / "sound").terms[0].labs[0].data_opens_last is None


def test_a_lab_may_have_a_title_of_its_own(tmp_path: Path) -> None:
    lab = lab_with(tmp_path, "title: Make-up lab\n")
    assert lab.example is not None
    assert {lab.title, lab.variant.title, lab.example.title} == {"Make-up lab"}
    assert lab.scenario.title == "Cart and weight"


def test_the_example_may_be_left_to_the_program(tmp_path: Path) -> None:
    course = shutil.copytree(HERE / "sound", tmp_path / "course")
    automatic = TERM.replace("{weight.mass: 120.0 g}", "auto")
    (course / "terms" / "2027-spring.yaml").write_text(automatic, "utf-8")
    assert load_course(course).terms[0].labs[0].example is None


def test_records_are_found_by_a_pattern_in_the_order_of_their_names(tmp_path: Path) -> None:
    found = measured(tmp_path, "files: 2027-spring/cart/*.csv, whose: bench")
    assert [file.name for file in found.files] == ["trial-01.csv", "trial-02.csv"]
    assert (found.pattern, found.whose) == ("2027-spring/cart/*.csv", "bench")


def test_a_link_out_of_the_folder_of_trials_is_refused(tmp_path: Path) -> None:
    (tmp_path / "elsewhere.csv").write_text("time (s)\n", "utf-8")
    course = shutil.copytree(HERE / "sound", tmp_path / "course")
    (course / "trials/2027-spring/cart/trial-03.csv").symlink_to(tmp_path / "elsewhere.csv")
    more = "    measured: {files: 2027-spring/cart/*.csv}\n"
    (course / "terms" / "2027-spring.yaml").write_text(TERM + more, "utf-8")
    with pytest.raises(BadInput) as caught:
        load_course(course)
    assert str(caught.value) == (
        f"{course}/terms/2027-spring.yaml:9:23: "
        f"{course}/trials/2027-spring/cart/trial-03.csv leads out of the folder {course}/trials; "
        "put the file itself there"
    )


def test_values_are_a_mean_with_its_number_of_trials_or_stand_trial_by_trial(
    tmp_path: Path,
) -> None:
    mean = "final_speed: {value: 1.34 m/s ± 0.01 m/s, n: 10}"
    values = measured(tmp_path, f"{mean}, tension: [0.66 N, none, 664 mN]").values
    assert isinstance(values["final_speed"], GivenMean)
    assert (text(values["final_speed"].value), values["final_speed"].n) == (
        *("1.34 m/s ± 0.01 m/s", 10),
    )
    one, none, other = values["tension"]  # type: ignore[misc]
    assert (text(one), none, text(other)) == ("0.66 N", None, "664 mN")


def test_signs_windows_excluded_trials_and_sensors_are_kept(tmp_path: Path) -> None:
    found = measured(
        tmp_path,
        "files: 2027-spring/cart/*.csv, signs: {force: -1, velocity: +1}, "
        "windows: [{trial: 1, from: 0.52 s, to: 1400 ms}], "
        "exclude: [{trial: trial-02, because: the cable dragged}], "
        "sensors: {force_scale: 0.01, position_step: 1 mm}",
    )
    assert found.signs == {"force": -1, "velocity": 1}
    assert (found.windows[0].trial, found.windows[0].end.value) == ("1", 1.4)
    assert [(each.trial, each.because) for each in found.excluded] == [
        ("trial-02", "the cable dragged")
    ]
    sensors = found.sensors
    assert (text(sensors.force_scale), text(sensors.position_step)) == ("0.01", "1 mm")
    assert sensors.force_zero is None


def test_corrections_a_withdrawal_and_an_extension_are_kept(tmp_path: Path) -> None:
    because = "weighed with its hook"
    said = f"{{at: 2027-02-03, field: cart.mass, was: 507.3 g, because: {because}}}"
    gone = "withdrawn: {at: 2027-03-01, because: The track was bent.}"
    lab = lab_with(tmp_path, f"corrections: [{said}]\n{gone}\nextended_to: 2027-02-19\n")
    (correction,) = lab.corrections
    assert (correction.field, correction.was, correction.because) == (
        *("cart.mass", "507.3 g", because),
    )
    assert lab.withdrawn is not None
    assert (f"{lab.withdrawn.at:%Y-%m-%d}", lab.withdrawn.because) == (
        *("2027-03-01", "The track was bent."),
    )
    assert f"{lab.extended_to:%Y-%m-%d}" == "2027-02-19"


def test_a_term_may_give_everything_at_once(tmp_path: Path) -> None:
    course = shutil.copytree(HERE / "sound", tmp_path / "course")
    shutil.copy(HERE / "full_terms" / "2027-summer.yaml", course / "terms")
    labs = load_course(course).terms[1].labs
    assert [lab.id for lab in labs] == ["cart", "make-up"]
    assert [lab.scenario.id for lab in labs] == ["cart", "cart"]


def test_steps_that_were_renamed_or_taken_out_are_known(tmp_path: Path) -> None:
    course = shutil.copytree(HERE / "sound", tmp_path / "course")
    with (course / "scenarios" / "cart.yaml").open("a", encoding="utf-8") as file:
        file.write("former_steps: {pull: tension, rope: {because: It stands with the pulley.}}\n")
    assert load_course(course).scenarios["cart"].former_steps == (
        FormerStep(id="pull", now="tension"),
        FormerStep(id="rope", because="It stands with the pulley."),
    )
