"""A lab with sections, trials, corrections and a withdrawal, as a term file gives it."""

import shutil
from pathlib import Path
from textwrap import indent

import pytest

from fallwork.errors import BadInput
from fallwork.scenario import Lab, as_written, load_course
from fallwork.scenario.model import FormerStep, GivenMean, Measured, Quantity

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


def test_the_pages_open_for_all_with_the_first_section(tmp_path: Path) -> None:
    assert f"{lab_with(tmp_path, SECTIONS).opens_first:%Y-%m-%d}" == "2027-01-30"


def test_the_trials_open_for_all_with_the_last_section(tmp_path: Path) -> None:
    assert f"{lab_with(tmp_path, SECTIONS).data_opens_last:%Y-%m-%d}" == "2027-02-11"


def test_the_last_report_is_that_of_the_last_section(tmp_path: Path) -> None:
    assert f"{lab_with(tmp_path, SECTIONS).due_last:%Y-%m-%d}" == "2027-02-15"


def test_a_lab_without_dates_for_trials_has_none(tmp_path: Path) -> None:
    course = load_course(HERE / "sound")
    assert course.terms[0].labs[0].data_opens_last is None


def test_an_extension_is_kept(tmp_path: Path) -> None:
    lab = lab_with(tmp_path, "extended_to: 2027-02-19\n")
    assert f"{lab.extended_to:%Y-%m-%d}" == "2027-02-19"


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


def test_a_mean_has_its_uncertainty_and_number_of_trials(tmp_path: Path) -> None:
    values = measured(tmp_path, "final_speed: {value: 1.34 m/s ± 0.01 m/s, n: 10}").values
    mean = values["final_speed"]
    assert isinstance(mean, GivenMean)
    assert (as_written(mean.value), mean.n) == ("1.34 m/s ± 0.01 m/s", 10)


def test_values_may_stand_trial_by_trial(tmp_path: Path) -> None:
    values = measured(tmp_path, "tension: [0.66 N, none, 664 mN]").values["tension"]
    assert isinstance(values, tuple)
    assert (text(values[0]), values[1], text(values[2])) == ("0.66 N", None, "664 mN")


def test_signs_windows_and_excluded_trials_are_kept(tmp_path: Path) -> None:
    found = measured(
        tmp_path,
        "files: 2027-spring/cart/*.csv, signs: {force: -1, velocity: +1}, "
        "windows: [{trial: 1, from: 0.52 s, to: 1400 ms}], "
        "exclude: [{trial: trial-02, because: the cable dragged}]",
    )
    assert found.signs == {"force": -1, "velocity": 1}
    assert (found.windows[0].trial, found.windows[0].end.value) == ("1", 1.4)
    assert [(each.trial, each.because) for each in found.excluded] == [
        ("trial-02", "the cable dragged")
    ]


def test_what_is_known_of_the_sensors_is_kept(tmp_path: Path) -> None:
    found = measured(
        tmp_path,
        "files: 2027-spring/cart/*.csv, sensors: {force_scale: 0.01, position_step: 1 mm}",
    )
    assert text(found.sensors.force_scale) == "0.01"
    assert text(found.sensors.position_step) == "1 mm"
    assert found.sensors.force_zero is None


def test_a_correction_says_what_was_there_and_why(tmp_path: Path) -> None:
    because = "weighed with its hook"
    lab = lab_with(
        tmp_path,
        f"corrections: [{{at: 2027-02-03, field: cart.mass, was: 507.3 g, because: {because}}}]\n",
    )
    (correction,) = lab.corrections
    assert (correction.field, correction.was, correction.because) == (
        *("cart.mass", "507.3 g", because),
    )


def test_a_withdrawal_has_a_date_and_a_reason(tmp_path: Path) -> None:
    lab = lab_with(tmp_path, "withdrawn: {at: 2027-03-01, because: The track was bent.}\n")
    assert lab.withdrawn is not None
    assert f"{lab.withdrawn.at:%Y-%m-%d}: {lab.withdrawn.because}" == (
        "2027-03-01: The track was bent."
    )


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
