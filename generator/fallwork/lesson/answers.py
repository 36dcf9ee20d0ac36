"""Which numbers come out of a lesson: right results, slips, and what follows from a number, right
or wrong, for marking what comes after; of one set of numbers or of many.

Takes a lesson with numbers; gives results and slips, each with the step that works it out.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import isclose, isfinite

import numpy as np

from fallwork.lesson.build import build_lesson
from fallwork.lesson.document import Equation, Lesson, Slip, Step
from fallwork.lesson.expression import (
    SCALE,
    Array,
    Expression,
    Symbol,
    evaluated,
    follows,
    symbols_in,
)
from fallwork.lesson.known import by_path, followed
from fallwork.lesson.lab import Lab
from fallwork.lesson.matching import Found as Found
from fallwork.lesson.matching import tolerance as tolerance
from fallwork.measurement.prediction import GRAVITY
from fallwork.mechanics import apparatus_of, solve
from fallwork.planning.conditions import Answers
from fallwork.planning.driven import Values, columns
from fallwork.scenario import Scenario

_SAME = 1e-9  # relative; what differs by less hasn't changed


def equations_of(lesson: Lesson) -> Iterator[tuple[Step, Symbol, Equation]]:
    """Every equation that gives a value, with its step and what it gives, as the page has them."""
    for step in lesson.steps:
        for each in step.equations:
            if each.result and each.result.value is not None:
                yield step, each.result, each


def results(lesson: Lesson) -> tuple[Found, ...]:
    """Every quantity that an equation of the lesson works out, at the first step that does."""
    found: dict[str, Found] = {}
    for step, symbol, _ in equations_of(lesson):
        if not (symbol.given or symbol.aside):
            found.setdefault(symbol.id, Found(of=symbol, value=symbol.value or 0.0, step=step))
    return tuple(found.values())


def slips(lesson: Lesson) -> tuple[Found, ...]:
    """Every slip that gives a number, in the order of the steps."""
    every = ((step, slip) for step in lesson.steps for slip in step.slips)
    return tuple(
        Found(of=slip.of, value=slip.value, step=step, slip=slip)
        for step, slip in every
        if slip.value is not None
    )


def numbers_of(lesson: Lesson) -> tuple[Found, ...]:
    """Right results, slips, what follows from a slip, a slip on another; the likelier of equals."""
    found, seen = [*results(lesson), *slips(lesson)], dict[str, list[float]]()
    for each in found:
        seen.setdefault(each.of.id, []).append(each.value)
    for each in sorted(_of_two(lesson), key=lambda each: each.depth):
        if not _is_in(seen, each):
            seen.setdefault(each.of.id, []).append(each.value)
            found.append(each)
    return tuple(found)


def _is_in(seen: Mapping[str, Sequence[float]], one: Found) -> bool:
    """Whether its value is among those of its quantity, but for what floats lose on other ways."""
    return any(isclose(one.value, value, rel_tol=_SAME) for value in seen.get(one.of.id, ()))


def _of_two(lesson: Lesson) -> Iterator[Found]:
    """What follows from each slip, and what the slips of its step and of later ones give then."""
    wrong, place = slips(lesson), [step.id for step in lesson.steps].index
    for of in dict.fromkeys(each.of.id for each in wrong):
        first = [each for each in wrong if each.of.id == of]
        values = {of: np.array([each.value for each in first])}
        later: list[tuple[Step, Symbol, Slip | None, Array]] = [
            (step, left, None, value)
            for step, left, _, value in _worked_on(lesson, values)
            if not (left.given or left.aside)
        ]
        for step, left, slip in ((each.step, each.of, each.slip) for each in wrong):
            if slip and left.id != of and any(s.id in values for s in symbols_in(slip.formula)):
                later.append((step, left, slip, evaluated(slip.formula, values, left.unit)))
        for step, left, slip, found in later:
            for earlier, value in zip(first, found.tolist(), strict=True):
                if isfinite(value) and place(step.id) >= place(earlier.step.id):
                    yield Found(of=left, value=value, step=step, slip=slip, earlier=earlier)


def following(lesson: Lesson, given: Mapping[str, float]) -> Iterator[Found]:
    """Every equation that changes, in the order of the steps; ``given`` in the symbols' units.

    A quantity is carried on with what the first equation gives for it, a given one with its given
    value; where another equation gives something else, both are told. Where the first one has no
    solution with these values (the root of a negative number), nothing is told of it any more.
    """
    values = {key: np.array([value]) for key, value in given.items()}
    for step, left, formula, (value,) in _worked_on(lesson, values):
        if isfinite(value):
            yield Found(of=left, value=float(value), step=step, formula=formula)


def changed_by(given: Mapping[str, float], lesson: Lesson) -> dict[str, Found]:
    """What comes first of each quantity that such values change, by the quantity's id."""
    first = {one.of.id: one for one in [*following(lesson, given)][::-1]}
    changed = (f for f in first.values() if not isclose(f.value, f.of.value or 0, rel_tol=_SAME))
    return {each.of.id: each for each in changed}


def _worked_on(
    lesson: Lesson, values: dict[str, Array]
) -> Iterator[tuple[Step, Symbol, Expression, Array]]:
    """As ``following`` for several cases; what is carried on is put into ``values``."""
    given, settled = frozenset(values), set(values)
    for step, left, equation in equations_of(lesson):
        last = equation.last
        if left.id not in given and any(symbol.id in values for symbol in symbols_in(last)):
            found = evaluated(last, values, left.unit)
            found = np.where(np.isfinite(found + values.get(left.id, 0.0)), found, np.nan)
            yield step, left, last, found
            if left.id not in settled and not left.given:
                values[left.id] = found
        settled.add(left.id)


# ---- many sets of numbers at once


def of_each(
    lesson: Lesson, own: Scenario, sets: Mapping[str, tuple[Scenario, float]], figures: int
) -> dict[str, tuple[Found, ...]]:
    """The lesson's results and slips with other sets of numbers than its ``own``, each with its
    gravity in m/s²; a slip that gives the right value is none.
    """
    scenarios, gravity = zip(*sets.values(), strict=True)
    many = columns(*scenarios) | {GRAVITY: np.array(gravity)}
    answers = answers_of(own, gravity[0], figures)(many)
    values = {(slip, of): value for slip, of, value in answers.wrongs}
    values |= {("", of): value for of, value in answers.rights.items()}
    every: list[list[Found]] = [[] for _ in sets]
    for one in (*results(lesson), *slips(lesson)):
        slip, right = one.slip and one.slip.id, answers.rights.get(one.of.id, np.nan)
        found = np.broadcast_to(values.get((slip or "", one.of.id), np.nan), len(sets))
        wrong = ~np.isclose(found, right, rtol=1e-9, atol=0.0)
        for at in np.flatnonzero(np.isfinite(found) & (wrong if slip else True)).tolist():
            every[at].append(replace(one, value=float(found[at])))
    return dict(zip(sets, map(tuple, every), strict=True))


def elsewhere(lesson: Lesson, sets: Mapping[str, tuple[Found, ...]]) -> tuple[Found, ...]:
    """The numbers of other sets, by whose these are, but for what is right in the lesson too."""
    own = {each.of.id: [each.value] for each in results(lesson)}
    found = dict[tuple[str, ...], Found]()
    for whose, there in sets.items():
        rights = {
            each.of.id: replace(each.of, value=each.value) for each in there[::-1] if not each.slip
        }
        for each in there:
            key = (f"{each.value:.8e}", *each.what)
            if not _is_in(own, each):
                before = found[key].numbers if key in found else ()
                of = rights.get(each.of.id, each.of)
                found[key] = replace(each, of=of, numbers=(*before, whose))
    return tuple(found.values())


def answers_of(scenario: Scenario, gravity: float, figures: int) -> Callable[[Values], Answers]:
    """What the formulas of a set-up's lesson give for many sets of numbers of its kind of run at
    once, right and with each mistake; ``gravity`` in m/s².
    """
    apparatus = apparatus_of(scenario, gravity)
    solution = solve(apparatus)
    lesson = build_lesson(scenario, apparatus, solution, figures=figures, numbers=True)
    lab = Lab(scenario, apparatus, solution, figures, numbers=True)
    given = [*by_path(lab), (GRAVITY, lab.gravity)]
    equations = [equation for _, _, equation in equations_of(lesson)]
    wrong = [(each.of, each.slip) for each in slips(lesson) if each.slip]

    def answers(numbers: Values) -> Answers:
        values = {
            symbol.id: np.abs(numbers[path]) / SCALE.get(symbol.unit, 1.0)
            for path, symbol in given
            if path in numbers
        }
        found = [of for of in followed(equations, values) if not of.aside]
        rights = {of.id: values[of.id] for of in found}
        wrongs = [
            (slip.id, of.id, evaluated(slip.formula, values, of.unit))
            for of, slip in wrong
            if of.id in rights and follows(slip.formula, values)
        ]
        return Answers(rights, wrongs)

    return answers
