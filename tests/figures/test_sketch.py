"""Sketches hang together: strings touch pulleys, tracks have their slope, names are there."""

import cmath
import math
from dataclasses import replace
from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest

from fallwork.figures.placing import cutting
from fallwork.figures.positions import WEIGHT_WIDTH, Positions
from figures.inspect_sheet import sheet_of, strokes_of, words_of
from figures.setups import NAMES, setup

EVERY = pytest.mark.parametrize("case", NAMES)


def layout(case: str) -> Positions:
    return Positions(setup(case).apparatus, setup(case).solution)


@EVERY
def test_tracks_have_their_slope(case: str) -> None:
    for name, track in layout(case).tracks.items():
        slope = float(setup(case).apparatus.surfaces[name].slope)
        assert track.angle == pytest.approx(slope, abs=1e-12)


@EVERY
def test_strings_end_at_their_objects_and_leave_pulleys_at_a_tangent(case: str) -> None:
    places = layout(case)
    for name in setup(case).apparatus.strings:
        line = places.string_line(name)
        for pulley in setup(case).apparatus.strings[name].path[1:-1]:
            wheel = places.wheels[pulley]
            near = [p for p in line if abs(abs(p - wheel.centre) - wheel.radius) < 1e-6]
            assert len(near) >= 4, f"{name} round {pulley}"
            assert min(abs(p - wheel.centre) for p in line) > wheel.radius - 1e-6


@EVERY
def test_strings_are_upright_or_follow_a_slope(case: str) -> None:
    places, apparatus = layout(case), setup(case).apparatus
    slopes = {round(float(s.slope), 6) for s in apparatus.surfaces.values()}
    for name in apparatus.strings:
        line = places.string_line(name)
        for one, other in pairwise(line):
            if abs(other - one) > 12.0:
                angle = cmath.phase(other - one)
                upright = abs(abs(angle) - math.pi / 2) < 1e-6
                assert upright or round(angle, 6) in slopes, name


def test_what_falls_starts_above_what_rises() -> None:
    places = layout("two-hanging")
    assert places.hanging["heavy"].imag > places.hanging["light"].imag


def test_a_train_stands_in_the_order_of_its_couplings() -> None:
    starts = [layout("train").sliders[name].back.real for name in ("rear", "middle", "front")]
    assert starts == sorted(starts)


def test_names_in_another_order_in_the_file_change_nothing() -> None:
    given = setup("train")
    bodies = dict(reversed(given.apparatus.bodies.items()))
    other = Positions(replace(given.apparatus, bodies=bodies), given.solution)
    assert other.sliders == layout("train").sliders


@EVERY
def test_what_hangs_side_by_side_passes_each_other_with_room(case: str) -> None:
    places = layout(case)
    xs = sorted({round(top.real, 6) for top in places.hanging.values()})
    assert all(right - left >= WEIGHT_WIDTH + 6.0 for left, right in pairwise(xs))


def test_all_that_falls_has_a_catch_pad_under_it() -> None:
    places = layout("demo/pulley-on-a-string")
    falling = {name for name, way in places.way.items() if way > 0 and name in places.hanging}
    assert len(falling) == 2
    assert set(places.pads()) == falling


@pytest.mark.parametrize("case", [*NAMES, "demo/push-away", "demo/push-towards"])
def test_no_line_to_a_name_crosses_an_arrow(case: str) -> None:
    sheet = sheet_of(setup(case).scene("sketch"))
    strokes = [(path.get("style", ""), lines) for path, lines in strokes_of(sheet)]
    leaders = [line for style, lines in strokes if "stroke-width: 0.6" in style for line in lines]
    arrows = [line for style, lines in strokes if "accent-5" in style for line in lines]
    for leader in leaders:
        assert not any(cutting(*rows(leader, arrow)).any() for arrow in arrows)


def rows(*lines: list[tuple[float, float]]) -> list[np.ndarray[Any, Any]]:
    """Each line as its straight pieces, (pieces, 4)."""
    return [np.array([(*a, *b) for a, b in pairwise(line)]) for line in lines]


@pytest.mark.parametrize("case", [*NAMES, "demo/incline-up"])
def test_the_angle_of_a_slope_stands_apart_from_the_next_word(case: str) -> None:
    words = words_of(sheet_of(setup(case).scene("sketch")))
    angles = [box for text, box in words if text.startswith("𝜃")]
    for angle, (text, box) in product(angles, words):
        level = box.bottom < angle.top and angle.bottom < box.top
        gap = max(box.left - angle.right, angle.left - box.right)
        assert box == angle or not level or gap > 9.0, text
