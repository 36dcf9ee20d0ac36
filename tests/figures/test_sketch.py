"""Sketches hang together: strings touch pulleys, tracks have their slope, names are there."""

import cmath
import math
from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest

from fallwork.figures.placing import cutting
from fallwork.figures.positions import WEIGHT_HEIGHT, WEIGHT_WIDTH, Positions
from figures.inspect_sheet import sheet_of, strokes_of, words_of
from figures.setups import NAMES, setup

EVERY = pytest.mark.parametrize("case", NAMES)


def layout(case: str) -> Positions:
    return Positions(setup(case).apparatus, setup(case).solution)


@EVERY
def test_strings_follow_their_track_or_hang_and_leave_pulleys_at_a_tangent(case: str) -> None:
    places, apparatus = layout(case), setup(case).apparatus
    slopes = {name: float(surface.slope) for name, surface in apparatus.surfaces.items()}
    angles = {name: track.angle for name, track in places.tracks.items()}
    assert angles == pytest.approx(slopes, abs=1e-12)
    for name, string in apparatus.strings.items():
        line = places.string_line(name)
        for wheel in (
            places.wheels[pulley] for pulley in string.path[1:-1] if pulley in places.wheels
        ):
            away = [abs(point - wheel.centre) - wheel.radius for point in line]
            assert sum(abs(each) < 1e-6 for each in away) >= 4, f"{name} round {wheel}"
            assert min(away) > -1e-6
        for angle in (cmath.phase(b - a) for a, b in pairwise(line) if abs(b - a) > 12.0):
            upright = abs(abs(angle) - math.pi / 2) < 1e-6
            assert upright or any(abs(angle - slope) < 1e-6 for slope in slopes.values()), name


def test_what_falls_starts_above_what_rises() -> None:
    places = layout("two-hanging")
    assert places.hanging["heavy"].imag > places.hanging["light"].imag


def test_a_train_stands_in_the_order_of_its_couplings_whatever_that_in_the_file() -> None:
    starts = [layout("train").sliders[name].back.real for name in ("rear", "middle", "front")]
    assert starts == sorted(starts)
    given = setup("train")
    bodies = dict(reversed(given.apparatus.bodies.items()))
    other = Positions(replace(given.apparatus, bodies=bodies), given.solution)
    assert other.sliders == layout("train").sliders


@EVERY
def test_what_hangs_side_by_side_passes_each_other_with_room(case: str) -> None:
    places = layout(case)
    xs = sorted({round(top.real, 6) for top in places.hanging.values()})
    assert all(right - left >= WEIGHT_WIDTH + 6.0 for left, right in pairwise(xs))


@pytest.mark.parametrize("case", [*NAMES, "demo/pulley-on-a-string"])
def test_all_that_hangs_has_a_catch_pad_below_it(case: str) -> None:
    """As the safety of each set-up asks: what rises may drop back."""
    places = layout(case)
    assert places.pads().keys() == places.hanging.keys()
    for name, top in places.pads().items():
        assert places.hanging[name].imag - WEIGHT_HEIGHT > top.imag > places.floor()


@pytest.mark.parametrize("case", [*NAMES, "demo/push-away", "demo/push-towards"])
def test_no_line_to_a_name_crosses_an_arrow(case: str) -> None:
    rows: dict[str, list[tuple[float, ...]]] = {"stroke-width: 0.6": [], "accent-5": []}
    for path, lines in strokes_of(sheet_of(setup(case).scene("sketch"))):
        for look in (look for look in rows if look in path.get("style", "")):
            rows[look] += [(*a, *b) for line in lines for a, b in pairwise(line)]
    leaders, arrows = (np.array(found).reshape(-1, 4) for found in rows.values())
    assert not cutting(leaders, arrows).any()


@pytest.mark.parametrize("case", [*NAMES, "demo/incline-up"])
def test_the_angle_of_a_slope_stands_apart_from_the_next_word(case: str) -> None:
    words = words_of(sheet_of(setup(case).scene("sketch")))
    angles = [box for text, box in words if text.startswith("𝜃")]
    for angle, (text, box) in product(angles, words):
        level = box.bottom < angle.top and angle.bottom < box.top
        gap = max(box.left - angle.right, angle.left - box.right)
        assert box == angle or not level or gap > 9.0, text
