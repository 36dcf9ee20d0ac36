"""Charts of motion, work and energy show the numbers of the solution."""

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
from lesson.kit import DEMO, ZOO

MOVING = pytest.mark.parametrize("case", [case for case in NAMES if case != "held"])


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
        assert before.last[::2] == (after.times[0], after.positions[0])


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


@pytest.mark.parametrize("speed", ["-0.30 m/s", "-0.50 m/s", "-0.55 m/s"])
def test_the_letter_of_an_early_end_stands_clear_of_the_title(speed: str) -> None:
    given = set_up(with_numbers(load_scenario(DEMO / "push-away.yaml"), {"run.start": speed}))
    words = dict(words_of(sheet_of(given.scene("motion"))))
    assert "0 m/s" in words  # where it turns, and no rounding left of nothing
    title, letter = words["velocity (m/s)"], words["A"]
    assert letter.left > title.right + 3.0 or letter.top < title.bottom


def test_what_can_t_be_drawn_is_told() -> None:
    for kind in CHARTS:
        with pytest.raises(CannotDrawError):
            setup("held").draw(kind)
    behind = set_up(load_scenario(ZOO / "held-behind.yaml"))  # the block stays at rest
    with pytest.raises(CannotDrawError, match="'block' doesn't move"):
        behind.draw("motion", "block")
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
def test_each_energy_s_line_is_told_by_the_piece_at_its_name_and_no_name_is_above_the_axes(
    case: str,
) -> None:
    sheet = sheet_of(setup(case).scene("energy-position"))
    styles = [path.get("style", "") for path, _ in strokes_of(sheet)]
    drawn = Counter(style for style in styles if "stroke-width: 1.7" in style)
    assert len(drawn) >= 6
    assert set(drawn.values()) == {2}  # the line, and its piece
    _, ([(_, top), _, (right, _)], *_) = strokes_of(sheet)[0]
    assert min(box.bottom for _, box in words_of(sheet) if box.left > right) > top - 0.5
