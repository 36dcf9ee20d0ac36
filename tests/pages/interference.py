"""Builds a course twice: as it is, and with everything that is held back replaced.

What is held back at a moment: the numbers of labs that aren't open, the results of open labs whose
solution isn't, trials that aren't open, the example's numbers of labs that aren't open, the reason
of a withdrawal to come.
"""

import pickle
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields, is_dataclass, replace
from datetime import datetime
from enum import Enum
from typing import Any

import pytest

from fallwork.mechanics import Apparatus, Solution, apparatus_of, solve
from fallwork.mechanics.course import gravity_of
from fallwork.pages import Address, addresses, build_pages, worked
from fallwork.scenario import CourseData, Lab, with_numbers
from fallwork.scenario.model import GivenMean, Measured, Quantity, Scenario

Solve = Callable[[Apparatus], Solution]


def scaled(part: Any, factor: float) -> Any:
    """A solution with every float in it multiplied; gravity, which is given, kept."""
    if isinstance(part, Solution):
        phases = tuple(scaled(phase, factor) for phase in part.phases)
        return replace(part, phases=phases)
    if isinstance(part, float):
        return part * factor
    if isinstance(part, tuple):
        return tuple(scaled(each, factor) for each in part)
    if isinstance(part, Mapping):
        return {key: scaled(value, factor) for key, value in part.items()}
    if is_dataclass(part) and not isinstance(part, Enum | type):
        return replace(
            part, **{each.name: scaled(getattr(part, each.name), factor) for each in fields(part)}
        )
    return part


def with_other_results(data: CourseData, now: datetime, factor: float) -> Solve:
    """A solver whose results for labs with a solution still to come are multiplied.

    Where another lab has the same numbers and its solution is open, nothing of them is held back.
    """
    gravity = gravity_of(data.course)
    held, known = (
        [
            apparatus_of(lab.variant, gravity)
            for term in data.terms
            for lab in term.labs
            if (lab.solution_opens <= now) is seen
        ]
        for seen in (False, True)
    )

    def solved(apparatus: Apparatus) -> Solution:
        found = solve(apparatus)
        return scaled(found, factor) if apparatus in held and apparatus not in known else found

    return solved


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
        changes["variant"] = _heavier(lab.variant, factor)
        changes["example"] = _heavier(lab.example, factor) if lab.example else None
    if lab.measured is not None and now < lab.trials_open:
        changes["measured"] = _other_trials(lab.measured, factor)
    if lab.withdrawn is not None and now < lab.withdrawn.at:
        changes["withdrawn"] = replace(lab.withdrawn, because=f"Another reason: {factor}.")
    return replace(lab, **changes)


def _heavier(scenario: Scenario, factor: float) -> Scenario:
    """The same set-up with every mass multiplied."""
    masses = {
        f"{name}.mass": f"{1000 * mass.value * factor:.1f} g"
        for name, thing in scenario.objects.items()
        if isinstance(mass := getattr(thing, "mass", None), Quantity)
    }
    return with_numbers(scenario, masses)


def _other_trials(measured: Measured, factor: float) -> Measured:
    values: dict[str, GivenMean | tuple[Quantity | None, ...]] = {}
    for name, given in measured.values.items():
        if isinstance(given, GivenMean):
            values[name] = GivenMean(value=_other(given.value, factor), n=given.n + 1)
        else:
            values[name] = tuple(_other(each, factor) if each else None for each in given)
    return replace(
        measured,
        values=values,
        files=tuple(file.with_name("another.csv") for file in measured.files),  # isn't there
        digests=dict.fromkeys(measured.digests, "00"),
    )


def _other(quantity: Quantity, factor: float) -> Quantity:
    value = quantity.value * factor
    return replace(quantity, value=value, number=f"{value:.4f}")


Built = tuple[tuple[Any, ...], tuple[Address, ...]]


def built(data: CourseData, now: datetime) -> Built:
    """All files of the students' edition, and all addresses that it gives out."""
    return build_pages(data, now=now, edition="student"), addresses(data, now)


def differences(
    data: CourseData, now: datetime, factor: float, patch: pytest.MonkeyPatch
) -> list[str]:
    """The files that show something of what is held back."""
    with patch.context() as changed:
        plain, plain_addresses = built(data, now)
        changed.setattr(worked, "solve", with_other_results(data, now, factor))
        other, other_addresses = built(with_other_numbers(data, now, factor), now)
    one, two = ({file.path: file.content for file in files} for files in (plain, other))
    found = [path for path in {**one, **two} if one.get(path) != two.get(path)]
    return found if plain_addresses == other_addresses else [*found, "the addresses"]


@contextmanager
def worked_once(patch: pytest.MonkeyPatch) -> Iterator[None]:
    """Build a lesson and draw a figure of exactly the same things only once: both are slow.

    The key is everything that the outcome can depend on, so nothing that differs is overlooked.
    """
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
