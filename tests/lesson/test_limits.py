"""Each printed limiting case is what the solver finds for an apparatus with those numbers; what is
said of the hardest blow is a bound.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from fallwork.lesson.expression import evaluate
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.limits import Claim
from fallwork.lesson.safety import SafetyLab
from fallwork.mechanics import Apparatus, Solution, solve
from lesson.kit import DEMO, by_set_up, solved

ALMOST = 0.01  # of g, or of a weight: what 1000 times as heavy, or as light, still leaves
NOTHING = 1e-9  # kg, for a mass that is left out
TABLE = 0.90  # m


def lab_of(path: Path, *, numbers: bool = True) -> Lab:
    return Lab(*solved(path), figures=3, numbers=numbers)


def changed(apparatus: Apparatus, changes: Mapping[str, float]) -> Apparatus:
    """The apparatus with other values for the givens, by the ids of their symbols."""
    bodies, pulleys = dict(apparatus.bodies), dict(apparatus.pulleys)
    surfaces = dict(apparatus.surfaces)
    for key, value in changes.items():
        kind, name = key.split(".")
        if kind == "mass" and name in bodies:
            bodies[name] = replace(bodies[name], mass=max(value, NOTHING))
        elif kind == "wheel-mass":
            bodies[name] = replace(bodies[name], wheel_mass=value)
        elif kind == "friction":
            alike = [body for body in bodies.values() if body.friction == bodies[name].friction]
            for body in alike:
                bodies[body.name] = replace(body, friction=value, static_friction=value)
        elif kind == "slope":
            old = surfaces[name].slope
            slope = math.copysign(math.radians(value), float(old))
            surfaces[name] = replace(surfaces[name], slope=slope)
        elif kind in ("inertia", "bearing-torque"):
            pulleys[name] = replace(pulleys[name], **{kind.replace("-", "_"): value})
        else:
            raise LookupError(key)
    return replace(apparatus, bodies=bodies, pulleys=pulleys, surfaces=surfaces)


def found(lab: Lab, apparatus: Apparatus, solution: Solution, claim: Claim) -> float:
    """What the solver finds, counted in the senses of the lesson."""
    kind, _, name = claim.symbol.id.partition(".")
    if kind == "acceleration":
        name = name or lab.reference
        return lab.senses[name] * solution.phases[0].accelerations.get(name, 0.0)
    other = replace(lab, apparatus=apparatus, solution=solution)
    if kind == "tension":
        value = next(s.tension for s in other.stretches if s.key == claim.symbol.id)
    else:
        value = other.friction(name).value
    assert value is not None
    return float(value)


@by_set_up
def test_every_limit_is_what_the_solver_finds_there(path: Path) -> None:
    lab = lab_of(path)
    weight = 9.80665 * max(map(lab.mass_kg, lab.movers))
    for limit in lab.limits:
        apparatus = changed(lab.apparatus, limit.changes)
        solution = solve(apparatus)
        if limit.id == "unloaded" and solution.moves:
            continue  # it says under which condition the block stays
        for claim in limit.claims:
            scale = 9.80665 if claim.symbol.unit == "m/s²" else weight
            close = pytest.approx(found(lab, apparatus, solution, claim), abs=ALMOST * scale)
            for tree in (claim.formula, claim.limit):
                value = evaluate(tree, limit.changes)
                if claim.symbol.id.startswith("static"):  # the solver gives its size alone
                    value = abs(value)
                assert value == close, (limit.id, claim.symbol.id)


@by_set_up
def test_what_is_said_to_rest_or_to_turn_back_does_so(path: Path) -> None:
    lab = lab_of(path)
    for limit in lab.limits:
        if limit.id != "light" or limit.claims:
            continue
        solution = solve(changed(lab.apparatus, limit.changes))
        rests = limit.outcome == "rests"
        assert solution.moves is not rests
        if not rests:
            name = lab.reference
            assert solution.phases[0].accelerations[name] * lab.senses[name] < 0


def test_a_cart_on_a_moving_pulley_reaches_twice_the_free_fall() -> None:
    lab = lab_of(DEMO / "moving-pulley.yaml")
    heavy = next(limit for limit in lab.limits if limit.id == "heavy")
    far = {claim.symbol.id: evaluate(claim.limit, {}) for claim in heavy.claims}
    assert far == {"acceleration": 9.80665, "acceleration.cart": 2 * 9.80665}


def test_a_pair_on_a_string_weighs_like_four_times_its_reduced_mass() -> None:
    # m_e = 4 × 0.100 × 0.130/0.230 kg = 0.226087 kg; a = (0.250 − m_e) g/(0.250 + m_e).
    lab = lab_of(DEMO / "pulley-on-a-string.yaml")
    effective = next(limit for limit in lab.limits if limit.id == "effective")
    assert evaluate(effective.claims[0].limit, {}) == pytest.approx(0.492571, abs=1e-6)


def test_a_very_light_mass_of_a_pair_has_a_thousandth_of_its_own_as_the_page_says() -> None:
    lab = lab_of(DEMO / "pulley-on-a-string.yaml")
    light = next(limit for limit in lab.limits if limit.id == "light")
    assert light.changes == {"mass.left-weight": pytest.approx(0.0001)}


@by_set_up
def test_no_object_moves_with_more_energy_than_is_said(path: Path) -> None:
    """At no end of a phase, on the track a fall from the table still to come."""
    _, apparatus, solution = solved(path)
    lab = lab_of(path, numbers=False).seen_as(SafetyLab)
    for fall in lab.falls:
        ahead = fall.mass * apparatus.gravity * TABLE if fall.name in lab.sliders else 0.0
        for phase in solution.phases:
            speed = phase.end_velocities[fall.name] or phase.start_velocities[fall.name]
            assert fall.mass * speed**2 / 2 <= fall.energy - ahead + 1e-9
