"""The answer key as a teacher reads it."""

import re
from pathlib import Path

from cli.runner import Run
from democourse import exchange
from longtrain import long_train


def blocks(output: str) -> list[list[str]]:
    return [block.split("\n") for block in output.rstrip("\n").split("\n\n")]


def values(block: list[str]) -> dict[str, str]:
    """Words -> value of a block's lines in columns."""
    cells = [re.split(r" {2,}", line.strip()) for line in block[1:]]
    return {cell[0]: cell[1] for cell in cells}


def table(run: Run, *words: str) -> list[list[str]]:
    status, output, messages = run("key", *words)
    assert (status, messages) == (0, "")
    return blocks(output)


def test_the_head_says_what_was_calculated_and_how(folder: Path, run: Run) -> None:
    assert table(run, "level")[0] == [
        "Cart pulled along a level track by a falling weight",
        "level; g = 9.80665 m/s²; results to 3 significant figures, "
        "with ± where the givens leave more than the last of them uncertain",
        "Every object counts positive in its own sense: forward on a surface, "
        "downward for what hangs.",
    ]


def test_the_numbers_used_stand_under_their_keys(folder: Path, run: Run) -> None:
    assert values(table(run, "level", "--set", "cart.mass=507.3g")[1]) == {
        "cart.mass": "507.3 g ± 0.1 g",
        "cart.starts_at": "0.25 m",
        "weight.mass": "80.0 g ± 0.1 g",
        "track.slope": "0 deg",
        "track.friction": "0.008 ± 0.002",
        "track.length": "1.20 m",
        "run.distance": "0.600 m ± 1 mm limits",
    }


def test_each_phase_gives_motion_and_forces_rounded(folder: Path, run: Run) -> None:
    driven = table(run, "level")[2]
    assert driven[0] == "Phase: driven, until the hanging mass lands"
    assert values(driven) == {
        "duration": "0.893 s",
        "acceleration of the cart": "1.50 m/s²",
        "acceleration of the hanging mass": "1.50 m/s²",
        "displacement of the cart": "0.600 m",
        "displacement of the hanging mass": "0.600 m",
        "velocity of the cart at the start": "0 m/s",
        "velocity of the hanging mass at the start": "0 m/s",
        "velocity of the cart at the end": "1.34 m/s",
        "velocity of the hanging mass at the end": "1.34 m/s",
        "tension of the string on the cart": "0.664 N",
        "tension of the string on the hanging mass": "0.664 N",
        "friction of the track on the cart": "0.0330 N ± 0.0082 N",
        "normal force of the track on the cart": "4.12 N",
    }


def test_results_follow_the_course_s_significant_figures(folder: Path, run: Run) -> None:
    course = folder / "site-data/course.yaml"
    exchange(course, "significant_figures: 3", "significant_figures: 5")
    driven = values(table(run, "level")[2])
    assert driven["normal force of the track on the cart"] == "4.1188 N"
    assert driven["acceleration of the cart"] == "1.503 m/s² ± 0.017 m/s²"  # not known to five


def test_a_system_gives_works_with_reasons_for_zero_and_energies(folder: Path, run: Run) -> None:
    reason = "perpendicular to the motion of the point where it acts"
    assert table(run, "level")[3] == [
        "  System: The cart alone (cart)",
        "    work of tension of the string on the cart      0.399 J",
        "    work of friction of the track on the cart      −0.0198 J ± 0.0049 J",
        f"    work of normal force of the track on the cart  0 J  {reason}",
        f"    work of gravity of Earth on the cart           0 J  {reason}",
        "    external work                                  0.379 J",
        "    change of kinetic energy                       0.379 J",
        "    change of energy                               0.379 J",
    ]


def test_the_other_systems_are_told_by_class_and_none_is_lost(folder: Path, run: Run) -> None:
    others = table(run, "level")[5]
    assert others[0] == "  Other choices of system"
    # Earth, pulley, string and track hold no energy of their own: 2⁴ − 1 choices of them alone
    assert others[1].startswith("    Earth and 14 more  ")
    assert others[1].endswith("  external work 0 J; no change of energy")
    more = [int(number) for line in others[1:] for number in re.findall(r"and (\d+) more", line)]
    assert len(others[1:]) + sum(more) == 2**6 - 1 - 2


def test_cancelling_leaves_no_tiny_numbers(folder: Path, run: Run) -> None:
    assert "× 10" not in run("key", "level")[1]


def test_where_the_run_ends_is_told(folder: Path, run: Run) -> None:
    assert table(run, "level")[-1] == [
        "Notes",
        "  The run is followed until the cart reaches the pulley; what comes after is not "
        "modelled.",
    ]


def test_many_objects_have_some_choices_told_and_it_is_said(tmp_path: Path, run: Run) -> None:
    file = tmp_path / "train.yaml"
    file.write_text(long_train(18), "utf-8")
    status, output, _ = run("key", str(file))
    assert status == 0
    assert len(output) < 100_000
    (heading,) = [block[0] for block in blocks(output)[4:5]]
    assert heading == (
        "  Some other choices of system, without what takes up no energy and does no work "
        "(the scenario’s systems name any other)"
    )
    told = blocks(output)[4][1:]
    assert "Earth, hanging mass" in " ".join(told)
    assert not [line for line in told if line.count("  external work") != 1]
