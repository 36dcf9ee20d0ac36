"""Scenario stage: takes the YAML files of a course, gives them validated and in SI units.

Knows nothing of physics or pages. Raises ``BadInput`` with every problem of the files at once.
"""

from fallwork.scenario.course import (
    Course,
    CourseData,
    find_course,
    load_course,
    load_scenario,
    load_settings,
)
from fallwork.scenario.frozen import Correction, Frozen, Withdrawal, frozen_path, frozen_text
from fallwork.scenario.model import FormerStep, Hanging, Pulley, Scenario, Slider, SystemChoice
from fallwork.scenario.numbers import fields_of, numbers_of, overrides_from_words, with_numbers
from fallwork.scenario.quantity import Quantity, as_written, in_si
from fallwork.scenario.report import from_here
from fallwork.scenario.term import Lab, Recording, Section, Term
from fallwork.scenario.trials import Excluded, GivenMean, Measured, SensorsGiven, Window
