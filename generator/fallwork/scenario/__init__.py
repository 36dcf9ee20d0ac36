"""Scenario stage: takes the YAML files of a course, gives them validated and in SI units.

Knows nothing of physics or pages. Raises ``BadInput`` with every problem of the files at once.
"""

from fallwork.scenario.load import find_course, load_course, load_scenario
from fallwork.scenario.model import CourseData, Lab, Quantity, Scenario, Term
from fallwork.scenario.overrides import Override, overrides_from_words, with_numbers
from fallwork.scenario.quantity import as_written, in_si

__all__ = [
    "CourseData",
    "Lab",
    "Override",
    "Quantity",
    "Scenario",
    "Term",
    "as_written",
    "find_course",
    "in_si",
    "load_course",
    "load_scenario",
    "overrides_from_words",
    "with_numbers",
]
