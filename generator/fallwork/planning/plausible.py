"""Finds numbers and dates that can hardly be meant: a cart of 620 kg, a lab a year off the others.

Takes scenarios, a course, terms; gives what is in doubt, with its place. The limits stand in
``plausible.yaml``; the sentences about them are the lesson stage's.
"""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise, product
from typing import Any

from fallwork.errors import Place, table
from fallwork.scenario import Course, Quantity, Scenario, Slider, Term
from fallwork.scenario.numbers import quantities_of, things_of
from fallwork.scenario.quantity import kinds

_APART = timedelta(days=180)  # dates of one term lie closer together
_YEAR = re.compile(r"(?<![0-9])20[0-9]{2}(?![0-9])")
_DATES = ("opens", "data_opens", "due", "solution_opens", "extended_to")
_NO_LIMITS = {"low": -math.inf, "high": math.inf}


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
    sliders = [each for each in scenario.objects.values() if isinstance(each, Slider)]
    for path, given in quantities_of(scenario):
        name, _, key = path.partition(".")
        kind = things_of(scenario)[name].kind
        if name in scenario.surfaces and given.kind == "coefficient":
            riders = (each.kind for each in sliders if each.runs_on == name)
            kind = max(riders, key=_rubs, default="block")
        yield from _doubt(path, kind, key, given, scenario.places)


def doubts_of_course(course: Course) -> Iterator[Doubt]:
    """Gravity, where it is given."""
    if course.gravity is not None:
        yield from _doubt("gravity", "course", "gravity", course.gravity, course.places)


def _rubs(kind: str) -> float:
    """The largest usual coefficient of what runs on a surface."""
    return float(table("planning", "plausible").get(kind, {}).get("friction", _NO_LIMITS)["high"])


def _doubt(
    path: str, kind: str, key: str, given: Quantity, places: Mapping[str, Place]
) -> Iterator[Doubt]:
    limits, known = table("planning", "plausible").get(kind, {}).get(key), kinds()[given.kind]
    low, high = (float((limits or {}).get(end, of)) for end, of in _NO_LIMITS.items())

    def usual(value: float) -> bool:
        """Zero is always usual: without friction, at the back of the track, at rest."""
        size = math.degrees(value) if given.kind == "angle" else value
        return value == 0 or low <= size <= high

    if limits and not usual(given.value):
        units = (unit for unit in known.factors if unit)
        fits = tuple(unit for unit in units if usual(known.in_si(given.number, unit)))
        place, because = places.get(path), limits["because"]
        yield Doubt(path=path, place=place, given=given, because=because, fits=fits)


# ---- dates


def doubtful_dates(term: Term) -> Iterator[DateDoubt]:
    """Of each lab the first date far from the others of the term; and where all others lie in
    another year than the term's id has, the first of them.
    """
    many = sorted(_dates(term), key=lambda each: each.at)
    pauses = [later.at - earlier.at for earlier, later in pairwise(many)]
    if max(pauses, default=timedelta()) > _APART:  # the few stand beyond the longest of them
        split = pauses.index(max(pauses)) + 1
        few, many = sorted((many[:split], many[split:]), key=len)
        first = {each.lab: replace(each, others=many[0].at) for each in reversed(few)}
        yield from sorted(first.values(), key=lambda each: each.at)
    years = _YEAR.findall(term.id)
    if many and years and not any(f"{each.at:%Y}" in years for each in many):
        yield replace(many[0], year=years[0])


def _dates(term: Term) -> Iterator[DateDoubt]:
    """Every date of a term, as if it were in doubt."""
    for lab in term.labs:
        sections = {f"sections.{name}.": section for name, section in lab.sections.items()}
        holders: dict[str, Any] = {"": lab, **sections}
        for (before, holder), key in product(holders.items(), _DATES):
            path, at = f"{before}{key}", getattr(holder, key, None)
            if at is not None and (place := lab.places.get(path)) is not None:
                yield DateDoubt(lab=lab.id, path=path, place=place, at=at, others=at)
