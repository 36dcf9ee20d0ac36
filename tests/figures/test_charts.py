"""Charts of motion, work and energy show the numbers of the solution."""

import re
from collections import Counter
from itertools import pairwise

import pytest

from fallwork.figures import CannotDrawError
from fallwork.figures.charts import tick_labels, ticks, with_room
from fallwork.figures.energies import PARTS, energies_of, hatching
from fallwork.figures.motion import parts_of
from fallwork.figures.placing import Box
from fallwork.mechanics import account
from fallwork.scenario import load_scenario, with_numbers
from figures.inspect_sheet import area_of, sheet_of, strokes_of, unit_of, words_of
from figures.setups import CHARTS, NAMES, sample, set_up, setup
from lesson.kit import DEMO

MOVING = pytest.mark.parametrize("case", [case for case in NAMES if case != "held"])


def words_on(case: str, kind: str, subject: str = "") -> set[str]:
    return {words for words, _ in words_of(sheet_of(setup(case).scene(kind, subject)))}


@MOVING
def test_energies_change_as_the_account_of_the_system_says(case: str) -> None:
    given = setup(case)
    columns = energies_of(given.scene("energy-bars"))
    totals = [columns.total(part) for part in PARTS.values()]
    assert totals == pytest.approx([totals[0]] * 3, rel=1e-9)  # a closed account
    for name in given.apparatus.bodies:
        for members in ((name,), (name, "Earth")):
            energies = energies_of(given.scene("energy-bars", ", ".join(members)))
            whole = account(given.apparatus, given.solution.phases[0], members)
            brought = sum(line.end for line in energies.came_in)
            gained = energies.total(1.0) - energies.total(0.0)
            assert gained == pytest.approx(brought, rel=1e-9, abs=1e-12)
            left = sum(line.end for line in energies.lines if "taken away" in line.words)
            assert brought - left == pytest.approx(whole.external_work, rel=1e-9, abs=1e-12)


@MOVING
def test_phases_of_the_motion_join(case: str) -> None:
    parts = parts_of(setup(case).scene("motion"), next(iter(setup(case).apparatus.bodies)))
    for before, after in pairwise(parts):
        assert after.start == before.end
        assert after.position == before.last[1]


def test_the_shaded_area_is_the_work() -> None:
    given = setup("incline")
    sheet = sheet_of(given.scene("tension-work"))
    width, height = area_of(sheet)
    drawn = width / unit_of(sheet, upright=False) * height / unit_of(sheet, upright=True)
    work = {force.name: force.work for force in given.solution.phases[0].forces}
    assert drawn == pytest.approx(work["tension of string on block"], rel=1e-3)  # 0.01 pt


def test_the_line_of_the_total_is_at_the_total() -> None:
    strokes = strokes_of(sheet_of(setup("incline").scene("energy-bars")))
    (dashed,) = (lines for path, lines in strokes if "dasharray" in path.get("style", ""))
    (level,) = {y for _, y in dashed[0]}
    tops = [
        min(y for _, y in line) for path, (line, *_) in strokes if "tint" in path.get("style", "")
    ]
    assert sum(abs(top - level) < 0.011 for top in tops) == 3  # the three columns end there too


# ---- words


def test_the_descriptions_have_the_numbers_of_the_run() -> None:
    """The level track by hand: a = 1.503163 m/s², T = 0.664279 N, t = 0.893486 s.

    v = 1.343055 m/s; after landing v² = 1.343055² − 2 × 0.0784532 × 0.35 = 1.748879 (m/s)²;
    W = 0.664279 N × 0.600 m = 0.398567 J.
    """
    assert sample("motion").description == (
        "Velocity and position of the cart against time. The velocity is 0 m/s at the release. "
        "It rises steadily to 1.34 m/s at 0.893 s (the hanging mass lands); the position is then "
        "0.600 m. It falls steadily to 1.32 m/s at 1.16 s (the cart reaches the pulley); "
        "the position is then 0.950 m."
    )
    assert sample("tension-work").description == (
        "Tension against the distance moved: constant at 0.664 N from 0 to 0.600 m; "
        "the shaded area is the work, 0.399 J."
    )
    # A tension is a size; what is negative is its component along the motion, and the work.
    figure = sample("tension-work", "weight")
    assert figure.description == (
        "Pull on the hanging mass against the distance moved: constant at 0.664 N against the "
        "motion, drawn below the axis, from 0 to 0.600 m; the shaded area is the work, −0.399 J."
    )
    assert "points against the motion" in figure.caption


def test_bars_and_lines_have_the_energies_of_the_system() -> None:
    # 0.080 kg × 9.80665 m/s² × 0.600 m = 0.470719 J; half of v² m gives the kinetic energies.
    bars = sample("energy-bars", "all-moving").description
    assert "Start: potential energy of the hanging mass and Earth 0.471 J; total 0.471 J." in bars
    assert (
        "End: kinetic energy of the cart 0.379 J, kinetic energy of the hanging mass 0.0722 J and "
        "energy taken away by friction 0.0198 J; total 0.471 J." in bars
    )
    lines = sample("energy-position", "all-moving").description
    assert "Potential energy of the hanging mass and Earth: from 0.471 J to 0 J." in lines
    assert "Total: 0.471 J all along." in lines
    alone = sample("energy-bars", "cart-alone").description
    assert alone.endswith("The total grows by what is brought in: work of the tension.")
    assert "total 0.399 J" in alone


def test_numbers_in_descriptions_are_rounded_to_the_course_s_figures() -> None:
    figure = setup("incline").draw("tension-work", figures=5)
    tension = setup("incline").solution.phases[0].tensions["string"]["block"]
    assert re.findall(r"constant at ([\d.]+) N", figure.description) == [f"{tension:.5g}"]


def test_the_caption_says_which_way_is_positive_where_a_run_turns_round() -> None:
    caption = setup("push-back").draw("motion").caption
    assert "velocity is negative on the way out and positive on the way back" in caption


def test_what_moves_against_its_positive_direction_still_covers_a_positive_distance() -> None:
    """Its position is negative on the way out, as the chart of the motion shows."""
    assert any(words.startswith("−0.1") for words in words_on("demo/push-away", "motion"))
    for kind, subject in (("tension-work", ""), ("energy-position", "all-moving")):
        words = words_on("demo/push-away", kind, subject)
        assert "distance moved by the cart (m)" in words
        assert not any("position" in each for each in words)


def test_energies_are_told_by_the_distance_of_the_table_also_where_the_cart_goes_farther() -> None:
    """The load falls 0.400 m while the cart runs 0.800 m."""
    assert {"0.200 m", "0.400 m"} <= words_on("demo/moving-pulley", "energy-bars", "all-moving")
    lines = words_on("demo/moving-pulley", "energy-position", "all-moving")
    assert "distance moved by the load (m)" in lines


def test_a_long_word_beside_a_line_is_not_cut_in_two() -> None:
    assert "counterweight" in words_on("demo/pulley-on-a-string", "energy-position", "all-moving")


@pytest.mark.parametrize("speed", ["-0.50 m/s", "-0.55 m/s"])
def test_the_letter_of_an_early_end_stands_clear_of_the_title(speed: str) -> None:
    given = set_up(with_numbers(load_scenario(DEMO / "push-away.yaml"), {"run.start": speed}))
    words = dict(words_of(sheet_of(given.scene("motion"))))
    title, letter = words["velocity (m/s)"], words["A"]
    assert letter.left > title.right + 3.0 or letter.top < title.bottom


def test_what_can_t_be_drawn_is_told() -> None:
    for kind in CHARTS:
        with pytest.raises(CannotDrawError):
            setup("held").draw(kind)
    with pytest.raises(CannotDrawError, match="'pie'; there are sketch, diagram, motion"):
        sample("pie")


# ---- axes and bars


@pytest.mark.parametrize(
    ("low", "high", "labels"),
    [
        (0.0, 0.85, ("0.0", "0.2", "0.4", "0.6", "0.8")),
        (-1.1, 1.0, ("−1.0", "−0.5", "0.0", "0.5", "1.0")),
        (0.0, 47.0, ("0", "10", "20", "30", "40")),
        (0.0, 0.012, ("0.000", "0.005", "0.010")),
    ],
)
def test_ticks_are_round_and_few(low: float, high: float, labels: tuple[str, ...]) -> None:
    assert tick_labels(ticks(low, high)) == labels


def test_a_range_starts_at_zero_and_has_room_above() -> None:
    assert with_room([2.0, 4.0], 0.25) == (0.0, 5.0)
    assert with_room([-4.0], 0.25) == (-5.0, 0.0)


@pytest.mark.parametrize("rise", [0.0, 0.7, -0.7, 2.2])
def test_hatching_stays_inside_its_bar(rise: float) -> None:
    lines = list(hatching(Box(left=10.0, bottom=5.0, right=40.0, top=25.0), rise, 6.0))
    assert len(lines) >= 3
    near = 1e-9
    assert all(10 - near <= end.real <= 40 + near for line in lines for end in line)
    assert all(5 - near <= end.imag <= 25 + near for line in lines for end in line)


@pytest.mark.parametrize("case", ["hung-pulley", "demo/heavy-pulley", "demo/pulley-on-a-string"])
def test_each_energy_s_line_is_told_from_all_others_by_the_piece_beside_its_name(case: str) -> None:
    styles = [
        path.get("style", "")
        for path, _ in strokes_of(sheet_of(setup(case).scene("energy-position")))
    ]
    drawn = Counter(style for style in styles if "stroke-width: 1.7" in style)
    assert len(drawn) >= 6
    assert set(drawn.values()) == {2}  # the line, and its piece
