"""From files to what the solver takes: a scenario's apparatus, and gravity where its lab stands."""

import math
from collections.abc import Iterator
from contextlib import contextmanager

from fallwork.errors import BadInput
from fallwork.mechanics.apparatus import Apparatus, ImpossibleApparatus
from fallwork.mechanics.assembly import setup_of
from fallwork.mechanics.run import solve
from fallwork.mechanics.solution import Solution
from fallwork.mechanics.state import start_speeds
from fallwork.scenario import Course
from fallwork.scenario.model import Scenario
from fallwork.scenario.report import Impossible, listed

# Geodetic Reference System 1980: H. Moritz, Bulletin Géodésique 54 (1980) 395–405.
EQUATOR = 9.7803267715  # m/s², normal gravity at the equator
SOMIGLIANA = 0.001931851353  # k of Somigliana's closed formula
ECCENTRICITY_SQUARED = 0.00669438002290  # of the ellipsoid
FREE_AIR = 3.086e-6  # 1/s², decrease with height


def apparatus_of(scenario: Scenario, gravity: float) -> Apparatus:
    """The scenario's apparatus in SI units; ``gravity`` in m/s². Raises BadInput for an apparatus
    that can't be, or ImpossibleApparatus where no file is known.
    """
    apparatus = Apparatus.of(scenario, gravity)
    with _placed(scenario):
        start_speeds(setup_of(apparatus), apparatus.run.speed)
    return apparatus


def run_of(scenario: Scenario, apparatus: Apparatus) -> Solution:
    """The run of the scenario's apparatus. Raises as ``apparatus_of`` for one that can't be, or is
    beyond the program.
    """
    with _placed(scenario):
        return solve(apparatus)


@contextmanager
def _placed(scenario: Scenario) -> Iterator[None]:
    """BadInput in place of ImpossibleApparatus, where a file is known."""
    try:
        yield
    except ImpossibleApparatus as fault:
        known = map(scenario.places.get, (fault.number, *fault.objects[:1]))
        if (place := next(filter(None, known), None)) is None:
            raise
        about = f"{listed(fault.objects)}: " if fault.objects else ""
        found, expected = fault.words
        raise BadInput((Impossible(place, f"{about}{found}", expected),)) from fault


def gravity_of(course: Course) -> float:
    """The local acceleration of free fall in m/s²; the reader makes sure that one way is given."""
    if course.gravity is not None:
        return course.gravity.value
    assert course.latitude is not None
    assert course.height is not None
    return normal_gravity(math.degrees(course.latitude.value), course.height.value)


def normal_gravity(latitude_deg: float, height_m: float) -> float:
    """GRS80 normal gravity on the ellipsoid (Somigliana) less the free-air term, in m/s²."""
    sine_squared = math.sin(math.radians(latitude_deg)) ** 2
    numerator = EQUATOR * (1 + SOMIGLIANA * sine_squared)
    return numerator / math.sqrt(1 - ECCENTRICITY_SQUARED * sine_squared) - FREE_AIR * height_m
