"""Charts of motion, work and energy show the numbers of the solution.

The sample: cart 0.420 kg, weight 0.080 kg, friction 0.008, drop 0.600 m, g = 9.80665 m/s², worked
by hand: a = 1.503163 m/s², T = 0.664279 N, t = 0.893486 s, v = 1.343055 m/s.
"""

import re
from itertools import pairwise

import pytest

from fallwork.figures import CannotDrawError
from fallwork.figures.canvas import Box
from fallwork.figures.charts import hatching, tick_labels, ticks, with_room
from fallwork.figures.energies import energies_of
from fallwork.figures.energy_bars import PARTS
from fallwork.figures.motion import parts_of
from fallwork.mechanics import account
from fallwork.scenario import load_scenario, with_numbers
from figures.catalogue import CHARTS, setup
from figures.inspect_sheet import sheet_of, words_of
from figures.samples import drawn
from figures.setups import names, set_up
from lesson.kit import DEMO

MOVING = [case for case in names() if setup(case).solution.moves]


def test_the_description_of_the_motion_has_its_numbers() -> None:
    # After landing v² = 1.343055² − 2 × 0.0784532 × 0.35 = 1.748879 (m/s)².
    assert drawn("motion").description == (
        "Velocity and position of the cart against time. The velocity is 0 m/s at the release. "
        "It rises steadily to 1.34 m/s at 0.893 s (the hanging mass lands); the position is then "
        "0.600 m. "
        "It falls steadily to 1.32 m/s at 1.16 s (the cart reaches the end of the track); "
        "the position is then 0.950 m."
    )


def test_the_description_of_the_work_has_its_numbers() -> None:
    # 0.664279 N × 0.600 m = 0.398567 J.
    assert drawn("tension-work").description == (
        "Tension against the distance moved: constant at 0.664 N from 0 to 0.600 m; "
        "the shaded area is the work, 0.399 J."
    )


def test_work_against_the_motion_is_negative() -> None:
    """A tension is a size; what is negative is its component along the motion, and the work."""
    figure = drawn("tension-work", "weight")
    assert figure.description == (
        "Pull on the hanging mass against the distance moved: constant at 0.664 N against the "
        "motion, drawn below the axis, from 0 to 0.600 m; the shaded area is the work, −0.399 J."
    )
    assert "points against the motion" in figure.caption


def test_the_caption_says_which_way_is_positive_where_a_run_turns_round() -> None:
    caption = setup("push-back").draw("motion").caption
    assert "velocity is negative on the way out and positive on the way back" in caption


@pytest.mark.parametrize("speed", ["-0.50 m/s", "-0.55 m/s"])
def test_the_letter_of_an_early_end_stands_clear_of_the_title(speed: str) -> None:
    given = set_up(with_numbers(load_scenario(DEMO / "push-away.yaml"), {"run.start": speed}))
    words = dict(words_of(sheet_of(given.scene("motion"))))
    title, letter = words["velocity (m/s)"], words["A"]
    assert letter.left > title.right + 3.0 or letter.top < title.bottom


def test_the_shaded_area_is_the_work() -> None:
    given = setup("incline")
    area, _, upright_ticks, level_ticks = sheet_of(given.scene("tension-work")).axes[0].patches[:4]
    (left, bottom), (right, top) = area.get_path().get_extents().get_points()
    heights = sorted({y for _, y in upright_ticks.get_path().vertices})  # 0, 1, 2 N
    places = sorted({x for x, _ in level_ticks.get_path().vertices})  # 0.0, 0.2, 0.4 m
    newtons = (top - bottom) / (heights[1] - heights[0])
    metres = 0.2 * (right - left) / (places[1] - places[0])
    work = {force.name: force.work for force in given.solution.phases[0].forces}
    assert newtons * metres == pytest.approx(work["tension of string on block"], rel=1e-6)


def test_bars_and_lines_of_the_whole_system_have_its_numbers() -> None:
    # 0.080 kg × 9.80665 m/s² × 0.600 m = 0.470719 J; half of v² m gives the kinetic energies.
    bars = drawn("energy-bars", "all-moving").description
    assert "Start: potential energy of the hanging mass and Earth 0.471 J; total 0.471 J." in bars
    assert (
        "End: kinetic energy of the cart 0.379 J, kinetic energy of the hanging mass 0.0722 J and "
        "energy taken away by friction 0.0198 J; total 0.471 J." in bars
    )
    lines = drawn("energy-position", "all-moving").description
    assert "Potential energy of the hanging mass and Earth: from 0.471 J to 0 J." in lines
    assert "Total: 0.471 J all along." in lines


def test_a_system_on_which_work_is_done_grows_by_it() -> None:
    bars = drawn("energy-bars", "cart-alone").description
    assert bars.endswith("The total grows by what is brought in: work of the tension.")
    assert "total 0.399 J" in bars


def test_every_column_of_a_closed_account_has_the_same_total() -> None:
    for case in MOVING:
        energies = energies_of(setup(case).scene("energy-bars"))
        totals = [energies.total(part) for part in PARTS.values()]
        assert totals == pytest.approx([totals[0]] * 3, rel=1e-9), case


@pytest.mark.parametrize("case", MOVING)
def test_energies_change_as_the_account_of_the_system_says(case: str) -> None:
    given = setup(case)
    for name in given.apparatus.bodies:
        for members in ((name,), (name, "Earth")):
            scene = given.scene("energy-bars", ", ".join(members))
            energies = energies_of(scene)
            change = sum(line.end - line.start for line in energies.stored)
            whole = account(given.apparatus, given.solution.phases[0], members)
            assert change == pytest.approx(whole.energy_change, rel=1e-9, abs=1e-12)
            brought = sum(line.end for line in energies.came_in)
            brought -= sum(line.end for line in energies.left)
            assert brought == pytest.approx(whole.external_work, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("case", MOVING)
def test_phases_of_the_motion_join(case: str) -> None:
    parts = parts_of(setup(case).scene("motion"), next(iter(setup(case).apparatus.bodies)))
    for before, after in pairwise(parts):
        assert after.start == before.end
        assert after.position == before.position_at(before.duration)


def test_what_stays_at_rest_has_no_chart() -> None:
    for kind in CHARTS:
        with pytest.raises(CannotDrawError):
            setup("held").draw(kind)


def test_an_unknown_kind_is_named_with_those_that_there_are() -> None:
    with pytest.raises(CannotDrawError, match="'pie'; there are sketch, diagram, motion"):
        drawn("pie")


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
    box = Box(left=10.0, bottom=5.0, right=40.0, top=25.0)
    lines = list(hatching(box, rise, 6.0))
    assert len(lines) >= 3
    assert all(
        box.left - 1e-9 <= x <= box.right + 1e-9 and box.bottom - 1e-9 <= y <= box.top + 1e-9
        for line in lines
        for x, y in line
    )


def test_numbers_in_descriptions_are_rounded_to_the_course_s_figures() -> None:
    from fallwork.figures import draw
    from fallwork.lesson.document import FigureSlot

    given = setup("incline")
    figure = draw(
        FigureSlot(kind="tension-work"),
        scenario=given.scenario,
        apparatus=given.apparatus,
        solution=given.solution,
        lesson=given.lesson,
        to_scale=True,
        figures=5,
    )
    tension = given.solution.phases[0].tensions["string"]["block"]
    assert re.search(r"constant at ([\d.]+) N", figure.description)[1] == f"{tension:.5g}"  # type: ignore[index]


def test_the_line_of_the_total_is_at_the_total() -> None:
    sheet = sheet_of(setup("incline").scene("energy-bars", ""))
    paths = [patch.get_path() for patch in sheet.axes[0].patches]
    dashed = [p for p in sheet.axes[0].patches if p.get_linestyle() not in ("solid", "-")]
    (line,) = {round(y, 6) for patch in dashed for _, y in patch.get_path().vertices}
    tops = {round(path.get_extents().ymax, 6) for path in paths}
    assert line in tops  # the three columns end there too
