"""Builds a course twice: as it is, and with everything that is held back replaced; but which way
an open lab moves is no secret, so the signs of its results are kept.
"""

import math
import pickle
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import fields, replace
from datetime import datetime
from enum import Enum
from typing import Any

import pytest

from fallwork import errors
from fallwork.mechanics import Apparatus, Solution, apparatus_of, course, solve
from fallwork.pages import build, worked
from fallwork.scenario import Correction, CourseData, GivenMean, Lab, Measured, Quantity, Scenario
from fallwork.scenario.numbers import numbers_of, with_numbers
from mechanics.kit import rewritten

Solve = Callable[[Scenario, Apparatus], Solution]


def otherwise(solution: Solution, factor: float) -> Solution:
    """A solution with every result in it multiplied, and a little more by a share of each size, so
    that ratios are others too; what is equal or opposite stays so.
    """
    shares: dict[float, float] = {}

    def other(value: float) -> float:
        share = 0.2 + len(shares) * 0.618034 % 1
        return factor * value * (1 + 1e-3 * shares.setdefault(_size(value), share))

    return _each_float(solution, other)


def _each_float(solution: Solution, change: Callable[[float], float]) -> Solution:
    """A solution with every float in it changed; gravity, which is given, kept."""

    def other(part: Any) -> Any:
        if isinstance(part, float | Enum):
            return change(part) if isinstance(part, float) else part
        if not _is_vector(part):
            return None
        size = math.hypot(*part)
        return tuple(each * change(size) / size for each in part) if size else part

    return replace(solution, phases=rewritten(solution.phases, other))


def with_other_results(data: CourseData, now: datetime, factor: float) -> Solve:
    """A solver with other results for labs whose solution is to come."""
    gravity = course.gravity_of(data.course)
    held, known = (
        [
            _numbers(apparatus_of(each, gravity))
            for term in data.terms
            for lab in term.labs
            for each in lab.every_variant
            if (lab.solution_opens <= now) is seen
        ]
        for seen in (False, True)
    )

    def solved(_: Scenario, apparatus: Apparatus) -> Solution:
        found = solve(apparatus)
        numbers = _numbers(apparatus)
        return otherwise(found, factor) if numbers in held and numbers not in known else found

    return solved


def _numbers(apparatus: Apparatus) -> tuple[Any, ...]:
    """Everything that is given, for an apparatus is known by its identity."""
    return tuple(getattr(apparatus, each.name) for each in fields(apparatus))


def with_other_numbers(data: CourseData, now: datetime, factor: float) -> CourseData:
    """The course with other numbers, trials and words wherever they are held back."""
    terms = tuple(
        replace(term, labs=tuple(_changed(lab, now, factor) for lab in term.labs))
        for term in data.terms
    )
    return replace(data, terms=terms)


def _changed(lab: Lab, now: datetime, factor: float) -> Lab:
    changes: dict[str, Any] = {}
    if now < lab.opens_first:
        changes["variant"] = _otherwise(lab.variant, factor)
        changes["variants"] = {f"{n}-x": _otherwise(s, factor) for n, s in lab.variants.items()}
        changes["example"] = _otherwise(lab.example, factor) if lab.example else None
    if now < lab.trials_open:  # whether there are any isn't told either
        others = _other_trials(lab.measured or NONE, factor)
        changes["measured"] = None if lab.measured and factor > 1 else others
    if lab.withdrawn is not None and now < lab.withdrawn.at:
        changes["withdrawn"] = replace(lab.withdrawn, because=f"Another reason: {factor}.")
    changes["recordings"] = tuple(
        replace(each, title=f"Another {factor}", address=f"https://a.example.org/{factor}")
        if now < max(each.at, lab.opens_first)
        else each
        for each in lab.recordings
    )
    changes["corrections"] = tuple(_other_correction(each, lab, now) for each in lab.corrections)
    return replace(lab, **changes)


NONE = Measured(acceleration=(None, None), whose="simulation")


def _other_correction(correction: Correction, lab: Lab, now: datetime) -> Correction:
    """Another value and another reason, unless the page of what it corrects is open."""
    opens = {"results": lab.solution_opens, "measured": lab.trials_open}[correction.field]
    return replace(correction, was="0.123", because="Nobody knows.") if now < opens else correction


def _otherwise(scenario: Scenario, factor: float) -> Scenario:
    """The same set-up with every mass multiplied, another slope, and other friction and start."""
    numbers = {
        f"{name}.mass": f"{1000 * mass.value * factor:.1f} g"
        for name, thing in scenario.objects.items()
        if isinstance(mass := getattr(thing, "mass", None), Quantity)
    }
    for name, surface in scenario.surfaces.items():
        numbers[f"{name}.slope"] = "-3 deg" if surface.slope.value >= 0 else "2 deg"
        numbers[f"{name}.friction"] = "0" if surface.friction.value else "0.02"
    start = "-0.3 m/s" if scenario.run.speed is None else "rest"
    return with_numbers(scenario, numbers | {"run.start": start})


def each_alone(scenario: Scenario) -> Iterator[tuple[str, Scenario]]:
    """The set-up with one number changed: a little, in sign, to nothing, far off; if it can be."""
    for path, text in numbers_of(scenario).items():
        number, unit = re.fullmatch(r"(?:([−\d.]+)|rest)(.*)", text, re.DOTALL).groups()
        value = float((number or "0").replace("−", "-"))
        others = [f"{value * by:.7g}{unit}" for by in (1.003, -1, 0, 0.05, 20)]
        if path == "run.start":
            others = ["rest", *others] if number else ["0.3 m/s", "-0.3 m/s"]
        for other in others:
            with suppress(errors.BadInput):
                yield f"{path}: {other}", with_numbers(scenario, {path: other})


def _size(value: float) -> float:
    return float(f"{abs(value):.9e}")


def _is_vector(part: Any) -> bool:
    """Whether it has a direction, which the givens decide, and a size."""
    return isinstance(part, tuple) and len(part) == 2 and all(isinstance(p, float) for p in part)


def _other_trials(measured: Measured, factor: float) -> Measured:
    values: dict[str, GivenMean | tuple[Quantity | None, ...]] = {}
    for name, given in measured.values.items():
        if isinstance(given, GivenMean):
            values[name] = GivenMean(value=_other(given.value, factor), n=given.n + 1)
        else:
            values[name] = tuple(_other(each, factor) if each else None for each in given)
    return replace(
        measured,
        **values,  # by its keys
        files=tuple(file.with_name("another.csv") for file in measured.files),  # isn't there
        digests=dict.fromkeys(measured.digests, "00"),
    )


def _other(quantity: Quantity, factor: float) -> Quantity:
    value = quantity.value * factor
    return replace(quantity, value=value, number=f"{value:.4f}")


def built(data: CourseData, now: datetime) -> dict[str, Any]:
    """All files of the students' edition by their paths, and all addresses that it gives out."""
    files = build.build_pages(data, now=now, edition="student")
    return {**{each.path: each.content for each in files}, "addresses": build.addresses(data, now)}


def differences(
    data: CourseData,
    now: datetime,
    factor: float,
    patch: pytest.MonkeyPatch,
    make: Callable[[CourseData, datetime], dict[str, Any]] = built,
) -> list[str]:
    """The files that show something of what is held back."""
    with patch.context() as changed:
        one = make(data, now)
        changed.setattr(worked, "run_of", with_other_results(data, now, factor))
        two = make(with_other_numbers(data, now, factor), now)
    return [name for name in {**one, **two} if one.get(name) != two.get(name)]


@contextmanager
def worked_once(patch: pytest.MonkeyPatch) -> Iterator[None]:
    """Build a lesson and draw a figure of exactly the same things only once: both are slow."""
    with patch.context() as changed:
        changed.setattr(worked, "draw", _remembering(worked.draw))
        changed.setattr(worked, "build_lesson", _remembering(worked.build_lesson))
        yield


def _remembering(function: Callable[..., Any]) -> Callable[..., Any]:
    known: dict[bytes, Any] = {}

    def remembered(*positional: Any, **named: Any) -> Any:
        key = pickle.dumps((positional, sorted(named.items())))
        if key not in known:
            known[key] = function(*positional, **named)
        return known[key]

    return remembered
