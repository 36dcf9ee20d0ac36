"""From files to what the solver takes: a scenario's apparatus, and gravity where its lab stands."""

import math

from fallwork.errors import BadInput
from fallwork.mechanics.apparatus import Apparatus, ImpossibleApparatus
from fallwork.mechanics.assembly import setup_of
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
    apparatus, places = Apparatus.of(scenario, gravity), scenario.places
    try:
        start_speeds(setup_of(apparatus), apparatus.run.speed)
    except ImpossibleApparatus as fault:
        place = places.get(fault.number) or places.get(fault.objects[0])
        if place is None:
            raise
        found, expected = fault.words
        problem = Impossible(place, f"{listed(fault.objects)}: {found}", expected)
        raise BadInput((problem,)) from fault
    return apparatus


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
