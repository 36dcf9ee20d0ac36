"""Finds numbers and dates that can hardly be meant: a cart of 620 kg, a lab a year off the others.

Takes scenarios, a course, terms; gives what is in doubt, with its place. The limits stand in
``plausible.yaml``; the sentences about them are the lesson stage's.
"""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import Any

import yaml

from fallwork.errors import Place
from fallwork.measurement.inputs import quantities_of
from fallwork.scenario import Course, Quantity, Scenario, Slider, Term
from fallwork.scenario.quantity import kinds

_APART = timedelta(days=180)  # dates of one term lie closer together
_YEAR = re.compile(r"(?<![0-9])20[0-9]{2}(?![0-9])")
_DATES = ("opens", "data_opens", "due", "solution_opens", "extended_to")
_RIDERS = ("block", "cart", "glider")  # from that which rubs most on


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
    holders = {**scenario.objects, **scenario.surfaces, "run": scenario.run}
    for path, given in quantities_of(scenario):
        name, _, key = path.partition(".")
        kind = holders[name].kind
        if name in scenario.surfaces and given.kind == "coefficient":
            kind = _rider(scenario, name)
        yield from _doubt(path, kind, key, given, scenario.places)


def doubts_of_course(course: Course) -> Iterator[Doubt]:
    """Gravity, where it is given."""
    if course.gravity is not None:
        yield from _doubt("gravity", "course", "gravity", course.gravity, course.places)


def _rider(scenario: Scenario, surface: str) -> str:
    """What runs on a surface: that which rubs most, where there are several."""
    things = [each for each in scenario.objects.values() if isinstance(each, Slider)]
    riders = {each.kind for each in things if each.runs_on == surface}
    return next((kind for kind in _RIDERS if kind in riders), _RIDERS[0])


def _doubt(
    path: str, kind: str, key: str, given: Quantity, places: Mapping[str, Place]
) -> Iterator[Doubt]:
    limits = _limits().get(kind, {}).get(key)
    if limits is None or _usual(given.value, given.kind, limits):
        return
    digits, units = given.value / _factor(given.kind, given.unit), kinds()[given.kind].factors
    yield Doubt(
        path=path,
        place=places.get(path),
        given=given,
        because=str(limits["because"]),
        fits=tuple(
            unit
            for unit in units
            if unit and _usual(digits * _factor(given.kind, unit), given.kind, limits)
        ),
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


_Date = tuple[datetime, str, str, Place]  # with its lab, its path and where it stands


def doubtful_dates(term: Term) -> Iterator[DateDoubt]:
    """Of each lab the first date far from the others of the term; and where all others lie in
    another year than the term's id has, the first of them.
    """
    many = sorted(_dates(term), key=lambda each: each[0])
    pauses = [later[0] - earlier[0] for earlier, later in pairwise(many)]
    if max(pauses, default=timedelta()) > _APART:  # the few stand beyond the longest of them
        at = pauses.index(max(pauses)) + 1
        few, many = sorted((many[:at], many[at:]), key=len)
        first = {lab: date for date in reversed(few) for lab in [date[1]]}
        for when, lab, path, place in sorted(first.values()):
            yield DateDoubt(lab=lab, path=path, place=place, at=when, others=many[0][0])
    years = _YEAR.findall(term.id)
    if many and years and not any(f"{date[0]:%Y}" in years for date in many):
        when, lab, path, place = many[0]
        yield DateDoubt(lab=lab, path=path, place=place, at=when, others=when, year=years[0])


def _dates(term: Term) -> Iterator[_Date]:
    for lab in term.labs:
        sections = {f"sections.{name}.": section for name, section in lab.sections.items()}
        holders: dict[str, Any] = {"": lab, **sections}
        for path, holder, key in (
            (f"{b}{key}", h, key) for b, h in holders.items() for key in _DATES
        ):
            at, place = getattr(holder, key, None), lab.places.get(path)
            if at is not None and place is not None:
                yield at, lab.id, path, place
