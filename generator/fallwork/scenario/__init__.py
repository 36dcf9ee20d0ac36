"""Scenario stage: takes the YAML files of a course, gives them validated and in SI units.

Knows nothing of physics or pages. Raises ``BadInput`` with every problem of the files at once.
"""

from fallwork.scenario.fields import fields_of, numbers_of
from fallwork.scenario.frozen import PUBLISHED, frozen_path, frozen_text
from fallwork.scenario.load import find_course, from_here, load_course, load_scenario
from fallwork.scenario.model import CourseData, Frozen, Lab, Quantity, Scenario, Term
from fallwork.scenario.overrides import Override, overrides_from_words, with_numbers
from fallwork.scenario.quantity import as_written, in_si

__all__ = [
    "PUBLISHED",
    "CourseData",
    "Frozen",
    "Lab",
    "Override",
    "Quantity",
    "Scenario",
    "Term",
    "as_written",
    "fields_of",
    "find_course",
    "from_here",
    "frozen_path",
    "frozen_text",
    "in_si",
    "load_course",
    "load_scenario",
    "numbers_of",
    "overrides_from_words",
    "with_numbers",
]
