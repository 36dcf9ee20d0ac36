"""Gravity where a course's lab stands: as given, or from latitude and height."""

import math

from fallwork.mechanics.gravity import normal_gravity
from fallwork.scenario import Course


def gravity_of(course: Course) -> float:
    """The local acceleration of free fall in m/s²; the reader makes sure that one way is given."""
    if course.gravity is not None:
        return course.gravity.value
    assert course.latitude is not None
    assert course.height is not None
    return normal_gravity(math.degrees(course.latitude.value), course.height.value)
