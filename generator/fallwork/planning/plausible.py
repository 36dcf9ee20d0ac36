"""Finds numbers and dates that can hardly be meant: a cart of 620 kg, a lab a year off the others.

Takes scenarios, a course, terms; gives what is in doubt, with its place. The limits stand in
``plausible.yaml``; the sentences about them are the lesson stage's.
"""

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import Any

import yaml

from fallwork.errors import Place
from fallwork.scenario import Course, Quantity, Scenario, Slider, Surface, Term, Wheels
from fallwork.scenario.units import kinds

_APART = timedelta(days=180)  # dates of one term lie closer together
_YEAR = re.compile(r"(?<![0-9])20[0-9]{2}(?![0-9])")
_NAMES = {"speed": "start"}  # what a field of the model is called in files, where that differs


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """A number beyond what a lab has."""

    path: str  # "cart.mass"
    place: Place | None  # None where no file gives it
    given: Quantity
    because: str
    fits: tuple[str, ...]  # units in which the same digits would be usual


@dataclass(frozen=True, kw_only=True)
class DateDoubt:
    """A date that lies far from the others of its term, or in a year that the term doesn't have."""

    lab: str
    path: str  # "solution_opens"
    place: Place
    at: datetime
    others: datetime  # one of them
    year: str = ""  # of the term's id, where it is that which doesn't fit


def doubts(scenario: Scenario) -> Iterator[Doubt]:
    """The numbers of a scenario that can hardly be meant, in the order of its file."""
    for name, holder in _holders(scenario):
        for key, kind, quantity in _numbers(holder, scenario):
            found = _doubt(f"{name}.{key}", kind, key, quantity, scenario.places)
            if found is not None:
                yield found


def doubts_of_course(course: Course) -> Iterator[Doubt]:
    """Gravity, where it is given."""
    if course.gravity is not None:
        found = _doubt("gravity", "course", "gravity", course.gravity, course.places)
        if found is not None:
            yield found


def _holders(scenario: Scenario) -> Iterator[tuple[str, Any]]:
    yield from (*scenario.objects.items(), *scenario.surfaces.items(), ("run", scenario.run))


def _numbers(holder: Any, scenario: Scenario) -> Iterator[tuple[str, str, Quantity]]:
    """The numbers of an object, a surface or the run: key, whose limits count, value."""
    for known in fields(holder):
        value, key = getattr(holder, known.name), _NAMES.get(known.name, known.name)
        if isinstance(value, Wheels):
            yield f"{key}.mass", holder.kind, value.mass
        elif isinstance(value, Quantity):
            rubs = isinstance(holder, Surface) and value.kind == "coefficient"
            yield key, _rider(holder, scenario) if rubs else holder.kind, value


def _rider(surface: Surface, scenario: Scenario) -> str:
    """What runs on a surface: that which rubs most, where there are several."""
    things = [each for each in scenario.objects.values() if isinstance(each, Slider)]
    riders = {each.kind for each in things if each.runs_on == surface.name}
    return next((kind for kind in ("block", "cart", "glider") if kind in riders), "block")


def _doubt(
    path: str, kind: str, key: str, given: Quantity, places: Mapping[str, Place]
) -> Doubt | None:
    limits = _limits().get(kind, {}).get(key)
    if limits is None or _usual(given.value, given.kind, limits):
        return None
    digits = given.value / _factor(given.kind, given.unit)
    fits = [
        unit
        for unit in kinds()[given.kind].factors
        if unit and _usual(digits * _factor(given.kind, unit), given.kind, limits)
    ]
    return Doubt(
        path=path,
        place=places.get(path),
        given=given,
        because=str(limits["because"]),
        fits=tuple(fits),
    )


def _factor(kind: str, unit: str) -> float:
    """SI units in one unit as written."""
    known = kinds()[kind]
    factor = known.factors[known.spelling(unit) or ""]
    return math.radians(1) if factor is None else float(factor)


def _usual(value: float, kind: str, limits: Mapping[str, Any]) -> bool:
    """Zero is always usual: without friction, at the back of the track, at rest."""
    size = math.degrees(value) if kind == "angle" else value
    low, high = float(limits.get("low", -math.inf)), float(limits.get("high", math.inf))
    return value == 0 or low <= size <= high


@cache
def _limits() -> Mapping[str, Mapping[str, Mapping[str, Any]]]:
    source = resources.files("fallwork.planning") / "plausible.yaml"
    found: dict[str, dict[str, dict[str, Any]]] = yaml.safe_load(source.read_text("utf-8"))
    return found


# ---- dates


def doubtful_dates(term: Term) -> Iterator[DateDoubt]:
    """Of each lab the first date far from the others of the term; and where all others lie in
    another year than the term's id has, the first of them.
    """
    dates = sorted(_dates(term), key=lambda each: each[0])
    if not dates:
        return
    few, many = _apart(dates)
    first = {date[1]: date for date in reversed(few)}
    for at, lab, path, place in sorted(first.values()):
        yield DateDoubt(lab=lab, path=path, place=place, at=at, others=many[0][0])
    years = _YEAR.findall(term.id)
    if years and not any(f"{at:%Y}" in years for at, _, _, _ in many):
        at, lab, path, place = many[0]
        yield DateDoubt(lab=lab, path=path, place=place, at=at, others=at, year=years[0])


_Date = tuple[datetime, str, str, Place]  # with its lab, its path and where it stands


def _dates(term: Term) -> Iterator[_Date]:
    for lab in term.labs:
        holders: Iterable[tuple[str, Any]] = [
            ("", lab),
            *((f"sections.{name}.", section) for name, section in lab.sections.items()),
        ]
        for before, holder in holders:
            for key in ("opens", "data_opens", "due", "solution_opens", "extended_to"):
                at, place = getattr(holder, key, None), lab.places.get(f"{before}{key}")
                if at is not None and place is not None:
                    yield at, lab.id, f"{before}{key}", place


def _apart(dates: list[_Date]) -> tuple[list[_Date], list[_Date]]:
    """The few dates beyond the longest pause, if that is too long, and the many."""
    pauses = [later[0] - earlier[0] for earlier, later in pairwise(dates)]
    longest = max(pauses, default=timedelta())
    if longest <= _APART:
        return [], dates
    at = pauses.index(longest) + 1
    few, many = sorted((dates[:at], dates[at:]), key=len)
    return few, many
