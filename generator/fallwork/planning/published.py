"""Holds a lab to what has been published of it.

Takes the labs as their files give them now, and the records of what was published; gives what
changed without a correction, and the records as they will stand after the next publication.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import NamedTuple

from fallwork.errors import BadInput, Place, Problem
from fallwork.mechanics.course import gravity_of
from fallwork.planning.results import example_in, results_of
from fallwork.scenario import Correction, CourseData, Frozen, GivenMean, Lab, Measured, as_written
from fallwork.scenario.frozen import date_of_correction, one_line, pasteable
from fallwork.scenario.numbers import fields_of, numbers_of
from fallwork.scenario.report import refusal

_CLOSE = 3e-6  # relative; results that differ by less are the same
_NOTHING = 1e-9  # SI; a result below this is zero

RESULTS = "results"
MEASURED = "measured"
EXAMPLE = "example."  # before the fields and the results of the worked example
VARIANTS = "variants."  # before the id of a variant, of which all its numbers are one field
_TABLES = (RESULTS, f"{EXAMPLE}{RESULTS}", MEASURED)  # a correction may be of all in one
_DIGEST = re.compile("[0-9a-f]{64}")  # of a record


class ChangedError(BadInput):
    """Published labs that would change without a word."""


def published_by(data: CourseData, now: datetime) -> dict[tuple[str, str], Frozen]:
    """The records of all labs that are open at ``now``; a withdrawn lab keeps its own."""
    records: dict[tuple[str, str], Frozen] = {}
    for given, former, withdrawn in _labs(data, now):
        lab, key = given.lab, (given.term, given.lab.id)
        if not withdrawn and (former is not None or lab.opens_first <= now):
            trials = bool(former and former.measured) or lab.trials_open <= now
            records[key] = given.recorded(with_trials=trials)
        elif former is not None:
            records[key] = former
    return records


def check_published(data: CourseData, now: datetime) -> None:
    """Raise ChangedError if a published lab isn't as it was and no correction says so."""
    labs = ((g, former) for g, former, gone in _labs(data, now) if former is not None and not gone)
    if problems := tuple(each for given, former in labs for each in given.problems(former, now)):
        raise ChangedError(problems)


def _labs(data: CourseData, now: datetime) -> Iterator[tuple["_Given", Frozen | None, bool]]:
    """Each lab with its record and whether it has been taken down."""
    for term in data.terms:
        for lab in term.labs:
            withdrawn = lab.withdrawn is not None and lab.withdrawn.at <= now
            yield _Given(term.id, lab, data), data.published.get((term.id, lab.id)), withdrawn


# ---- differences, field by field


class _Difference(NamedTuple):
    """One field, as published and as it is now; "" where there was or is none."""

    field: str  # as a correction names it
    was: str
    now: str

    @property
    def correctable(self) -> str:
        """The field of a correction that would account for it: of results and records the table."""
        if _DIGEST.fullmatch(self.was or self.now):
            return MEASURED
        return table if (table := _table(self.field)).endswith(RESULTS) else self.field

    def is_of(self, correction: Correction) -> bool:
        """Whether the correction speaks of it: one of ``measured`` of all trials."""
        return correction.field in (self.field, _table(self.field))

    def accounted(self, correction: Correction) -> bool:
        """Whether it says what was there too; one of a table says that in words."""
        if correction.field != self.field:
            return self.is_of(correction)
        said, was = (one_line(each.was).replace("-", "−") for each in (correction, self))
        return said in (was, was.partition(" ± ")[0])

    def __str__(self) -> str:
        field, was, now = map(one_line, self)
        published = f"published as {was}" if was else "not published"
        if not _DIGEST.fullmatch(was or now):
            return f"{field} was {published} and would now be {now or 'gone'}"
        gone = "was published and is gone" if was else "was not published"
        other = "is another one than was published" if was and now else gone
        return f"the record {field.removeprefix(f'{MEASURED}.')} {other}"


def _table(field: str) -> str:
    return next((table for table in _TABLES if field.startswith(f"{table}.")), "")


def _differences(former: Frozen, present: Frozen) -> Iterator[_Difference]:
    """Every field that differs. Results follow from the other fields; they count only where those
    are the same, so a difference there is the program's.
    """
    was, now = _flat(former), _flat(present)
    changed = set()
    for field in dict.fromkeys((*was, *now)):
        old, new = was.get(field, ""), now.get(field, "")
        example, computed = field.startswith(EXAMPLE), _table(field).endswith(RESULTS)
        if not _table(field) and old != new:
            changed.add(example)
        if old != new and not (computed and (example in changed or _same_amount(old, new))):
            yield _Difference(field, old, new)


def _flat(frozen: Frozen) -> dict[str, str]:
    """Every field, as a correction names it."""
    parts: Mapping[str, Mapping[str, str]] = {
        "": {"scenario": frozen.scenario, **frozen.variant},
        f"{RESULTS}.": frozen.results,
        EXAMPLE: frozen.example,
        f"{EXAMPLE}{RESULTS}.": frozen.example_results,
        f"{MEASURED}.": frozen.measured,
    }
    return {
        f"{before}{name}": text for before, part in parts.items() for name, text in part.items()
    }


def _same_amount(old: str, new: str) -> bool:
    (a, _, unit), (b, _, other) = old.partition(" "), new.partition(" ")
    try:
        one, two = float(a), float(b)
    except ValueError:
        return False
    near = abs(one - two) <= max(_CLOSE * max(abs(one), abs(two)), _NOTHING)
    return near and unit == other


# ---- a lab


@dataclass(frozen=True)
class _Given:
    """A lab as its files give it now."""

    term: str
    lab: Lab
    data: CourseData

    def problems(self, former: Frozen, now: datetime) -> Iterator[Problem]:
        """What isn't as it was published, and the corrections that are at fault."""
        present = self.recorded(with_trials=bool(former.measured))
        differences = list(_differences(former, present))
        fresh, gone = _paired(self.lab.corrections, former.corrections)
        accounted = {each for each in differences if any(map(each.accounted, fresh))}
        # An example that takes a number over from the lab changes with it.
        accounted |= {each._replace(field=f"{EXAMPLE}{each.field}") for each in accounted}
        left: dict[str, list[_Difference]] = {}
        for each in differences:
            if each not in accounted:
                left.setdefault(each.correctable, []).append(each)
        for field, alike in left.items():
            said = next((each for each in fresh if alike[0].is_of(each)), None)
            yield self._misremembered(alike[0], said) if said else self._unsaid(field, alike, now)
        for correction in fresh:
            place, field = self._of_correction(correction), correction.field
            if not any(each.is_of(correction) for each in differences):
                yield self._problem(place, *refusal("correction-of-nothing", field=field))
            elif (today := now.astimezone(self.data.course.zone).date()) < correction.at.date():
                yield self._problem(place, *refusal("correction-to-come", field=field, day=today))
        for correction in gone:
            told = {"field": correction.field, "day": f"{correction.at:%Y-%m-%d}"}
            yield self._problem(self._itself, *refusal("correction-gone", **told))

    def _problem(self, place: Place, found: str, remedy: str) -> Problem:
        return Problem(place=place, found=f"{self.lab.id}: {found}", expected=remedy)

    def _misremembered(self, difference: _Difference, said: Correction) -> Problem:
        """A correction that gives another former value than the one that was published."""
        was = one_line(difference.was)
        told = {"field": difference.field, "was": was, "write": pasteable([was])[1:-1]}
        told["says"] = f"says that it was {said.was}" if said.was else "doesn't say what it was"
        reason = "correction-of-another-value" if was else "correction-of-a-new-value"
        words = refusal(reason, take=said.was, **told)
        return self._problem(self._of_correction(said), *words)

    def _unsaid(self, field: str, alike: Sequence[_Difference], now: datetime) -> Problem:
        """What changed without a correction of ``field``."""
        first, more = alike[0], f", and {len(alike) - 1} more differ" if len(alike) > 1 else ""
        back = "put it back" if first.was else "take it out again"
        if field.endswith(RESULTS):
            back = "go back to the version of the program that published it"
        earliest = max([self.lab.opens_first, *(each.at for each in self.lab.corrections)])
        at = date_of_correction(now, earliest, self.data.course.zone)
        was = one_line(first.was) if field == first.field else ""
        told = {"at": at, "field": field, **({"was": was} if was else {}), "because": "…"}
        remedy = f"{back}, or add to the corrections in terms/{self.term}.yaml: {pasteable(told)}"
        return self._problem(self._of_field(first.field), f"{first}{more}", remedy)

    def _of_field(self, field: str) -> Place:
        """Where a field stands, as far as a file gives it."""
        lab, (first, _, rest) = self.lab, field.partition(".")
        places, path = {
            MEASURED: (lab.places, field if field in lab.places else MEASURED),
            "course": (self.data.course.places, rest),
            "example": (lab.example.places if lab.example else {}, rest),
            "variants": (lab.places, field),
        }.get(first, (lab.variant.places, field))
        return places.get(path) or self._itself

    def _of_correction(self, correction: Correction) -> Place:
        path = f"corrections.{self.lab.corrections.index(correction)}"
        return self.lab.places.get(path) or self._itself

    @property
    def _itself(self) -> Place:
        return self.lab.places.get("", Place(file=f"terms/{self.term}.yaml"))

    def recorded(self, *, with_trials: bool) -> Frozen:
        """What its pages are made of now; the trials only where they are open."""
        lab, course = self.lab, self.data.course
        example = example_in(self.data, self.term, lab)
        given = {"gravity": course.gravity, "latitude": course.latitude, "height": course.height}
        shared = {f"course.{key}": as_written(value) for key, value in given.items() if value}
        shared["course.significant_figures"] = str(course.significant_figures)
        own, *others, shown = (
            {name: each.written for name, each in results_of(scenario, gravity_of(course)).items()}
            for scenario in (*lab.every_variant, example)
        )
        for name, found in zip(lab.variants, others, strict=True):
            own |= {f"{VARIANTS}{name}, {key}": text for key, text in found.items()}
        variants = {f"{VARIANTS}{name}": numbers_of_variant(lab, name) for name in lab.variants}
        return Frozen(
            scenario=lab.scenario.id,
            variant={**shared, **fields_of(lab.variant), **variants},
            example={**shared, **fields_of(example)},
            results=own,
            example_results=shown,
            measured=_trials(lab.measured) if with_trials and lab.measured else {},
            corrections=lab.corrections,
        )


def numbers_of_variant(lab: Lab, name: str) -> str:
    """Those that it gives itself, in one text, though the lab's own may come to be the same."""
    own, other = lab.variant, lab.variants[name]
    shared, numbers = numbers_of(own), numbers_of(other)
    given = {path for path in numbers if own.places.get(path) != other.places.get(path)}
    told = (path for path, text in numbers.items() if path in given or text != shared.get(path))
    return "; ".join(f"{path} {numbers[path]}" for path in told)


def _paired(
    present: Sequence[Correction], former: Sequence[Correction]
) -> tuple[list[Correction], list[Correction]]:
    """The corrections that weren't published yet, and the published ones that are gone. Two are the
    same if pages say the same of both: what, why and on which day, in whatever time zone.
    """
    fresh, gone = [], list(former)
    for each in present:
        days = (k for k in gone if each.at == k.at or each.at.date() == k.at.date())
        if known := next((k for k in days if replace(each, at=k.at) == k), None):
            gone.remove(known)
        else:
            fresh.append(each)
    return fresh, gone


def _trials(measured: Measured) -> dict[str, str]:
    """The trials as texts: digests of the files, or the values, and what is done with them."""
    found = dict(measured.digests)
    for name, given in measured.values.items():
        if isinstance(given, GivenMean):
            n = f"n = {given.n}" if given.n else ""
            spread = f"s = {as_written(given.deviation)}" if given.deviation else ""
            found[name] = ", ".join(filter(None, (as_written(given.value), n, spread)))
        else:
            found[name] = ", ".join(as_written(each) if each else "none" for each in given)
    found |= {f"signs.{channel}": str(sign) for channel, sign in measured.signs.items()}
    for window in measured.windows:
        found[f"windows.{window.trial}"] = f"{as_written(window.start)} to {as_written(window.end)}"
    found |= {"zero": measured.zero} if measured.zero else {}
    found |= {f"exclude.{each.trial}": each.because for each in measured.excluded}
    found |= {f"include.{each.trial}": each.because for each in measured.included}
    sensors = vars(measured.sensors)
    found |= {f"sensors.{key}": as_written(value) for key, value in sensors.items() if value}
    return found
