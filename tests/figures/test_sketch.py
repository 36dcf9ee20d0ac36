"""Sketches hang together; free-body diagrams say the same as the solution."""

import cmath
import math
import re
from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest

from democourse import PROJECT
from fallwork.figures import CannotDrawError, geometry, positions
from fallwork.figures.arrows import (
    EQUAL,
    ForceArrow,
    arrows_of,
    bars,
    nice_length,
    outweighing,
    with_lengths,
)
from fallwork.figures.diagram import HUB, PULLEY, starts_of
from fallwork.figures.lettering import set_out
from fallwork.figures.placing import Box, Wish, beside, cutting, place
from fallwork.lesson import document, expression
from fallwork.mechanics.solution import Interaction
from figures.inspect_sheet import crossed_words, sheet_of, strokes_of, words_of
from figures.setups import NAMES, sample, setup

EVERY = pytest.mark.parametrize("case", NAMES)
SLOPES = [("incline", "block"), ("falling-slope", "cart"), ("double-incline", "west")]
SEEN = [*SLOPES, ("moving-pulley", "moving"), ("demo/moving-pulley", "moving-pulley")]


def layout(case: str) -> positions.Positions:
    return positions.Positions(setup(case).apparatus, setup(case).solution)


@EVERY
def test_strings_follow_their_track_or_hang_with_room_and_leave_pulleys_at_a_tangent(case):
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
    places = layout(case)
    xs = sorted({round(top.real, 6) for top in places.hanging.values()})
    assert all(right - left >= positions.WEIGHT_WIDTH + 6.0 for left, right in pairwise(xs))


def test_what_falls_starts_above_what_rises_and_a_train_in_the_order_of_its_couplings():
    places = layout("two-hanging")
    assert places.hanging["heavy"].imag > places.hanging["light"].imag
    starts = [layout("train").sliders[name].back.real for name in ("rear", "middle", "front")]
    assert starts == sorted(starts)
    given = setup("train")
    bodies = dict(reversed(given.apparatus.bodies.items()))
    other = positions.Positions(replace(given.apparatus, bodies=bodies), given.solution)
    assert other.sliders == layout("train").sliders


@pytest.mark.parametrize("case", [*NAMES, "demo/pulley-on-a-string"])
def test_all_that_hangs_has_a_catch_pad_below_it(case):
    """As the safety of each set-up asks: what rises may drop back."""
    places = layout(case)
    assert places.pads().keys() == places.hanging.keys()
    for name, top in places.pads().items():
        assert places.hanging[name].imag - positions.WEIGHT_HEIGHT > top.imag > places.floor()


@pytest.mark.parametrize("case", [*NAMES, "demo/push-away", "demo/push-towards"])
def test_no_line_to_a_name_crosses_an_arrow(case):
    rows: dict[str, list[tuple[float, ...]]] = {"stroke-width: 0.6": [], "accent-5": []}
    for path, lines in strokes_of(sheet_of(setup(case).scene("sketch"))):
        for look in (look for look in rows if look in path.get("style", "")):
            rows[look] += [(*a, *b) for line in lines for a, b in pairwise(line)]
    leaders, arrows = (np.array(found).reshape(-1, 4) for found in rows.values())
    assert not cutting(leaders, arrows).any()


@pytest.mark.parametrize("case", [*NAMES, "demo/incline-up"])
def test_the_angle_of_a_slope_stands_apart_from_the_next_word(case):
    words = words_of(sheet_of(setup(case).scene("sketch")))
    angles = [box for text, box in words if text.startswith("𝜃")]
    for angle, (text, box) in product(angles, words):
        level = box.bottom < angle.top and angle.bottom < box.top
        gap = max(box.left - angle.right, angle.left - box.right)
        assert box == angle or not level or gap > 9.0, text


# ---- free-body diagrams say the same as the solution, in arrows and in words
SLOPES += [("demo/incline-up", "cart"), ("demo/incline-down", "cart")]


def arrows(case: str, name: str, *, numbers: bool = True) -> tuple[ForceArrow, ...]:
    scene = setup(case).scene("diagram", name, numbers=numbers)
    return with_lengths(scene, arrows_of(scene))


def movers(case: str) -> list[str]:
    apparatus = setup(case).apparatus
    lifts = (name for name, pulley in apparatus.pulleys.items() if pulley.moving)
    return [*apparatus.bodies, *lifts]


@EVERY
def test_an_arrow_has_the_colour_of_its_symbol_and_the_length_of_its_force(case):
    sheet = (PROJECT / "generator/fallwork/site/assets/text.css").read_text("utf-8")
    style = dict(re.findall(r"\.fw-(\w+) \{\s*color: var\(--fw-(accent-\d)\);", sheet))
    for arrow in (arrow for name in movers(case) for arrow in arrows(case, name)):
        label = setup(case).lesson.labels[0].get(arrow.name)
        kinds = {s.force for s in expression.symbols_in(label)} - {""} if label else set()
        assert {style[kind] for kind in kinds} <= {arrow.role}, arrow.name
        assert kinds or not label
    # But for arrows that are stretched; a much larger force never has one as short.
    for every in (arrows(case, name) for name in movers(case)):
        found = [arrow for arrow in every if arrow.direction != geometry.NOWHERE]
        scales = {enlarged: length / force for force, length, enlarged in bars(found)}
        found.sort(key=lambda arrow: (arrow.enlarged, arrow.size))
        for arrow in (arrow for arrow in found if not arrow.stretched):
            assert arrow.length == pytest.approx(scales[arrow.enlarged] * arrow.size), arrow.name
        for one, other in pairwise(found):
            if one.enlarged is other.enlarged and other.size > 1.5 * one.size:
                assert other.length > 1.4 * one.length, (one.name, other.name)


@pytest.mark.parametrize(("case", "name"), SEEN)
@pytest.mark.parametrize("numbers", [True, False])
def test_gravity_and_its_components_can_be_seen(case, name, numbers):
    found = [a for a in arrows(case, name, numbers=numbers) if a.role == "accent-2"]
    assert [arrow.part for arrow in found] == (["", "cos", "sin"] if len(found) > 1 else [""])
    assert all(arrow.length >= 12.0 for arrow in found)
    assert len(found) == 3 or case.endswith("moving-pulley")


def test_forces_keep_their_ratio_and_letters_stand_at_their_arrows():
    # T = 0.209 N and f = 0.0361 N beside N = 3.01 N
    friction, tension = (a.length for a in arrows("demo/incline-down", "cart")[-2:])
    assert tension / friction == pytest.approx(0.209 / 0.0361, rel=0.01)
    slot = document.FigureSlot(kind="diagram", subject="cart", phase=2)
    sheet = sheet_of(setup("demo/level-track").scene(slot, numbers=False))
    words = dict(words_of(sheet))
    (dashed, _), *_ = [
        lines[0] for path, lines in strokes_of(sheet) if "dasharray" in path.get("style", "")
    ]
    assert words["𝑎coast"].top < dashed[1] < words["𝑓"].bottom


@pytest.mark.parametrize("numbers", [True, False])
def test_words_beside_a_slanted_arrow_keep_their_distance(numbers):
    sheet = sheet_of(setup("demo/heavy-pulley").scene("diagram", "pulley", numbers=numbers))
    axle = [(words, box) for words, box in words_of(sheet) if words in ("force of the", "axle")]
    assert len(axle) == 2
    grown = [(w, Box(b.left - 3, b.bottom - 3, b.right + 3, b.top + 3)) for w, b in axle]
    assert crossed_words(sheet, grown) == []


@EVERY
def test_arrows_outweigh_each_other_as_forces_do_and_start_where_these_act(case):
    for name in movers(case):
        scene = setup(case).scene("diagram", name, numbers=False)
        found, way = arrows(case, name, numbers=False), outweighing(scene)
        if any(arrow.part for arrow in found):  # gravity's components stand for it
            found = tuple(a for a in found if a.part or a.role != "accent-2")
        if way is not None:
            sides = (scene.ahead, 1j * scene.ahead)
            along, across = (sum(a.length * a.along(side) for a in found) for side in sides)
            assert across == pytest.approx(0.0, abs=1e-9), name
            assert (round(along, 6) > 0) - (round(along, 6) < 0) == way, name
    for name in setup(case).apparatus.pulleys:
        scene, found = setup(case).scene("diagram", name), arrows(case, name)
        for arrow, start in zip(found, starts_of(found, scene), strict=True):
            if arrow.direction != geometry.NOWHERE:
                pulled = arrow.force.interaction in (Interaction.TENSION, Interaction.CONTACT)
                away = abs(start)
                assert away == pytest.approx(PULLEY) if pulled else away <= HUB, arrow.name


def test_no_value_stands_nearer_to_another_arrow_than_to_its_own():
    lines = [(0j, -50j), (20 + 0j, 20 - 50j)]
    label = set_out("T = 1 N")
    spots = tuple(beside(20 - 60j, x, 5.0) for x in (math.pi, 0.0))
    wish = Wish(label=label, spots=spots, of=lines[1])
    other = Wish(label=label, spots=(beside(20j, math.pi),), of=(-14 + 20j, lines[0][1]))
    first, _ = place((wish, other), boxes=(), segments=(), sides=(-200.0, 200.0))
    assert first.left > 20.0


def test_tensions_at_pulleys_have_their_sides_and_sizes():
    pulls = [a for a in arrows("moving-pulley", "moving") if a.force.partner == "string"]
    assert [arrow.rim for arrow in pulls] == [-1, 1]
    assert [arrow.direction for arrow in pulls] == [1j] * 2
    # Back again, the hanging mass turns the wheel faster: T_h > T_c, for inertia and bearing alike.
    given = setup("push-back")
    scene = given.scene("diagram", "pulley", numbers=False)
    back = given.scene(replace(scene.slot, phase=1), numbers=False)
    first, second = (a for a in with_lengths(back, arrows_of(back)) if a.rim != geometry.NOWHERE)
    assert (first.direction, second.direction) == (-1, -1j)
    assert second.length > first.length
    assert {a.length for a in arrows("held", "weight", numbers=False)} == {EQUAL}
    with pytest.raises(CannotDrawError, match="a body or a pulley, not 'string'"):
        sample("diagram", "string")


def test_the_scale_bar_is_a_round_force_and_an_axle_between_equal_pulls_has_no_arrow():
    longest = (4.12, 0.785, 0.9, 12.0)
    assert [*map(nice_length, longest)] == pytest.approx([2.0, 0.2, 0.5, 5.0])
    given = setup("incline").scene("diagram", "pulley", numbers=False)
    (one, other, axle) = arrows_of(given)
    level = [replace(one, direction=-1 + 0j), replace(other, direction=1 + 0j), axle]
    assert [arrow.name for arrow in with_lengths(given, level)] == [one.name, other.name]
