"""Every number that may come up in a lab: with its own numbers and with others that students may
have taken, those of its variants, of its example, another g.

Takes a lab of a course; gives what ``trace`` looks a number up in.
"""

from collections.abc import Mapping
from contextlib import suppress
from functools import partial
from math import isclose

from fallwork.errors import said
from fallwork.lesson.answers import elsewhere, numbers_of, of_each, results
from fallwork.lesson.document import Lesson
from fallwork.lesson.matching import Found
from fallwork.mechanics.course import gravity_of
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.schedule import EXAMPLE, SOLUTION
from fallwork.pages.worked import with_data, worked
from fallwork.planning.results import NoExampleError
from fallwork.scenario import Scenario, with_numbers
from fallwork.scenario.numbers import Override

_USUAL = (10.0, 9.81, 9.8)  # m/s²; what people take for g
_said = partial(said, "commands")


def numbers_known(
    context: Context, given: GivenLab, own: Mapping[str, Override] | None = None
) -> tuple[Found, ...]:
    """Every number that comes up in a lab and its trials; with ``own`` numbers in the lab alone;
    and those of other sets.
    """
    scenario, lesson = given.lab.variant, with_data(context.worked(given, SOLUTION))
    if own:
        scenario, course = with_numbers(scenario, own), context.data.course
        lesson = worked(given.lab, EXAMPLE, scenario, course, telling=False).lesson
    others = _others(context, given, lesson, scenario)
    return (*numbers_of(lesson), *elsewhere(lesson, others))


def _others(
    context: Context, given: GivenLab, lesson: Lesson, scenario: Scenario
) -> dict[str, tuple[Found, ...]]:
    """What other sets of numbers give, by whose these are: the lab and its variants, the example,
    and what people take for g.
    """
    course, (term,) = context.data.course, given.site.data.terms
    (base,) = term.labs  # with its own numbers, where ``given`` has a variant's
    every = {_said("of-lab"): base.variant}
    every |= {_said("of-variant", name=name): each for name, each in base.variants.items()}
    g = gravity_of(course)
    sets = {whose: (each, g) for whose, each in every.items() if each is not scenario}
    for other in (each for each in _USUAL if not isclose(each, g)):
        sets[_said("with-g", g=other)] = scenario, other
    found = of_each(lesson, base.variant, sets, course.significant_figures)
    with suppress(NoExampleError):
        found[_said("of-example")] = results(context.worked(given, EXAMPLE).lesson)
    return found
