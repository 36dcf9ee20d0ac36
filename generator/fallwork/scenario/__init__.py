"""Scenario stage: takes the YAML files of a course, gives them validated and in SI units.

Knows nothing of physics or pages. Raises ``BadInput`` with every problem of the files at once.
"""

from fallwork.scenario.course import (
    Contact,
    Course,
    CourseData,
    Safety,
    find_course,
    from_here,
    load_course,
    load_scenario,
)
from fallwork.scenario.frozen import (
    PUBLISHED,
    Correction,
    Frozen,
    Withdrawal,
    frozen_path,
    frozen_text,
)
from fallwork.scenario.model import (
    Anchor,
    FormerStep,
    Hanging,
    Object,
    Pulley,
    Run,
    Scenario,
    Slider,
    String,
    Surface,
    SystemChoice,
    Wheels,
)
from fallwork.scenario.numbers import (
    Override,
    fields_of,
    numbers_of,
    overrides_from_words,
    with_numbers,
)
from fallwork.scenario.quantity import Quantity, as_written, in_si
from fallwork.scenario.term import Lab, Recording, Section, Term
from fallwork.scenario.trials import Excluded, GivenMean, Measured, SensorsGiven, Window

__all__ = ["PUBLISHED", "Anchor", "Contact", "Correction", "Course", "CourseData", "Excluded"]
__all__ += ["FormerStep", "Frozen", "GivenMean", "Hanging", "Lab", "Measured", "Object"]
__all__ += ["Override", "Pulley", "Quantity", "Run", "Scenario", "Section", "SensorsGiven"]
__all__ += [
    "Recording",
    "Safety",
    "Slider",
    "String",
    "Surface",
    "SystemChoice",
    "Term",
    "Wheels",
    "Window",
]
__all__ += ["Wheels", "Window", "Withdrawal", "as_written", "fields_of", "find_course"]
__all__ += ["from_here", "frozen_path", "frozen_text", "in_si", "load_course", "load_scenario"]
__all__ += ["numbers_of", "overrides_from_words", "with_numbers"]
