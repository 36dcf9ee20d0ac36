"""Holds a lab to what has been published of it.

Takes the labs as their files give them now, and the records of what was published; gives what
changed without a correction, and the records as they will stand after the next publication.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from fallwork.errors import FallworkError, Place
from fallwork.mechanics.course import gravity_of
from fallwork.planning.examples import example_in
from fallwork.planning.results import Result, results_of
from fallwork.scenario import (
    Correction,
    Course,
    CourseData,
    Frozen,
    GivenMean,
    Lab,
    Measured,
    Scenario,
    fields_of,
)
from fallwork.scenario.corrections import (
    date_of_correction,
    one_line,
    pasteable,
    pasteable_text,
)
from fallwork.scenario.quantity import as_written

FIGURES = 6  # of recorded results: fewer than floats differ in from machine to machine
_CLOSE = 3e-6  # relative; results that differ by less are the same
_NOTHING = 1e-9  # SI; both below this are zero

RESULTS = "results"
MEASURED = "measured"
_DIGEST = re.compile("[0-9a-f]{64}")  # of a record
EXAMPLE = "example."  # before the fields and the results of the worked example


@dataclass(frozen=True, kw_only=True)
class Change:
    """A field that isn't as it was published, or a correction that is at fault."""

    place: Place | str  # where it stands, or what would be there
    lab: str
    found: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.place}: {self.lab}: {self.found}; {self.remedy}"


@dataclass(eq=False)
class ChangedError(FallworkError):
    """Published labs that would change without a word; ``changes`` holds all of them."""

    changes: tuple[Change, ...]

    def __str__(self) -> str:
        return "\n".join(str(change) for change in self.changes)


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One field, as published and as it is now; "" where there was or is none."""

    field: str  # as a correction names it
    was: str
    now: str


def freeze(term: str, lab: Lab, data: CourseData, *, with_trials: bool) -> Frozen:
    """What the pages of the lab are made of now; the trials only where they are open."""
    gravity, example = gravity_of(data.course), example_in(data, term, lab)
    return Frozen(
        scenario=lab.scenario.id,
        variant={**_of_course(data.course), **fields_of(lab.variant)},
        example={**_of_course(data.course), **fields_of(example)},
        results=_written(lab.variant, gravity),
        example_results=_written(example, gravity),
        measured=_trials(lab.measured) if with_trials and lab.measured else {},
        corrections=lab.corrections,
    )


def published_by(data: CourseData, now: datetime) -> dict[tuple[str, str], Frozen]:
    """The records of all labs that are open at ``now``; a withdrawn lab keeps its own."""
    records: dict[tuple[str, str], Frozen] = {}
    for term in data.terms:
        for lab in term.labs:
            former = data.published.get((term.id, lab.id))
            if lab.withdrawn and lab.withdrawn.at <= now:
                if former is not None:
                    records[term.id, lab.id] = former
            elif former is not None or lab.opens_first <= now:
                trials = bool(former and former.measured) or lab.trials_open <= now
                records[term.id, lab.id] = freeze(term.id, lab, data, with_trials=trials)
    return records


def check_published(data: CourseData, now: datetime) -> None:
    """Raise ChangedError if a published lab isn't as it was and no correction says so."""
    changes = [
        change
        for term in data.terms
        for lab in term.labs
        if (former := data.published.get((term.id, lab.id))) is not None
        and not (lab.withdrawn and lab.withdrawn.at <= now)
        for change in _Given(term.id, lab, data).changes(former, now)
    ]
    if changes:
        raise ChangedError(tuple(changes))


@dataclass(frozen=True)
class _Given:
    """A lab as its files give it now."""

    term: str
    lab: Lab
    data: CourseData

    def changes(self, former: Frozen, now: datetime) -> Iterator[Change]:
        """What isn't as it was published, and the corrections that are at fault."""
        present = freeze(self.term, self.lab, self.data, with_trials=bool(former.measured))
        differences = differences_of(former, present)
        fresh, gone = _paired(self.lab.corrections, former.corrections)
        for field, alike in _by_correction(_unaccounted(differences, fresh)).items():
            named = [each for each in fresh if _covers(each.field, alike[0].field)]
            if named:
                yield self._misremembered(alike[0], named[0])
            else:
                yield self._unsaid(field, alike, now)
        for correction in fresh:
            if not any(_covers(correction.field, each.field) for each in differences):
                yield self._change(
                    self._of_correction(correction),
                    f"the correction of {correction.field} stands for no change",
                    "name the field that was changed, or take the correction out",
                )
        for correction in gone:
            yield self._change(
                self._itself,
                f"the correction of {correction.field} of {correction.at:%Y-%m-%d} has been "
                "published and is gone or changed",
                "put it back as it was; another correction may follow it",
            )

    def _change(self, place: Place | str, found: str, remedy: str) -> Change:
        return Change(place=place, lab=self.lab.id, found=found, remedy=remedy)

    def _misremembered(self, difference: Difference, said: Correction) -> Change:
        """A correction that gives another former value than the one that was published."""
        says = f"says that it was {said.was}" if said.was else "doesn't say what it was"
        published, remedy = "nothing", f"take was: {said.was} out of the correction"
        if difference.was:
            published = one_line(difference.was)
            remedy = f"write was: {pasteable_text(published)}"
        found = f"the correction of {difference.field} {says}, but {published} was published there"
        return self._change(self._of_correction(said), found, remedy)

    def _unsaid(self, field: str, alike: Sequence[Difference], now: datetime) -> Change:
        """What changed without a correction of ``field``."""
        first, more = alike[0], f", and {len(alike) - 1} more differ" if len(alike) > 1 else ""
        back = "put it back" if first.was else "take it out again"
        if field.endswith(RESULTS):
            back = "go back to the version of the program that published it"
        earliest = max([self.lab.opens_first, *(each.at for each in self.lab.corrections)])
        correction = pasteable(
            at=date_of_correction(now, earliest, self.data.course.zone),
            field=field,
            was=one_line(first.was) if field == first.field else "",
        )
        remedy = f"{back}, or add to the corrections in terms/{self.term}.yaml: {correction}"
        return self._change(self._of_field(first.field), f"{_what_changed(first)}{more}", remedy)

    def _of_field(self, field: str) -> Place | str:
        """Where a field stands, as far as a file gives it."""
        lab = self.lab
        if field.startswith(EXAMPLE):
            places = {} if lab.example is None else lab.example.places
            found = places.get(field.removeprefix(EXAMPLE))
        elif field.startswith(f"{MEASURED}."):
            found = lab.places.get(field) or lab.places.get(MEASURED)
        elif field.startswith("course."):
            found = self.data.course.places.get(field.removeprefix("course."))
        else:
            found = lab.variant.places.get(field)
        return found or self._itself

    def _of_correction(self, correction: Correction) -> Place | str:
        path = f"corrections.{self.lab.corrections.index(correction)}"
        return self.lab.places.get(path) or self._itself

    @property
    def _itself(self) -> Place | str:
        return self.lab.places.get("") or f"terms/{self.term}.yaml"


def _paired(
    present: Sequence[Correction], former: Sequence[Correction]
) -> tuple[list[Correction], list[Correction]]:
    """The corrections that weren't published yet, and the published ones that are gone."""
    fresh, gone = [], list(former)
    for each in present:
        same = next((known for known in gone if _is_same(each, known)), None)
        if same is None:
            fresh.append(each)
        else:
            gone.remove(same)
    return fresh, gone


def _is_same(one: Correction, other: Correction) -> bool:
    """Whether pages say the same of both: what, why and on which day, in whatever time zone."""
    days = one.at == other.at or one.at.date() == other.at.date()
    return days and replace(one, at=other.at) == other


def _by_correction(differences: Sequence[Difference]) -> dict[str, list[Difference]]:
    """The differences by the field of the correction that would account for them."""
    found: dict[str, list[Difference]] = {}
    for each in differences:
        table = next((t for t in (RESULTS, f"{EXAMPLE}{RESULTS}") if _covers(t, each.field)), "")
        if _DIGEST.fullmatch(each.was or each.now):
            table = MEASURED
        found.setdefault(table or each.field, []).append(each)
    return found


def _what_changed(difference: Difference) -> str:
    field, was, now = (one_line(text) for text in vars(difference).values())
    if _DIGEST.fullmatch(was or now):
        record = field.removeprefix(f"{MEASURED}.")
        if was and now:
            return f"the record {record} is another one than was published"
        return f"the record {record} {'was published and is gone' if was else 'was not published'}"
    if was and now:
        return f"{field} was published as {was} and would now be {now}"
    if was:
        return f"{field} was published as {was} and would now be gone"
    return f"{field} was not published and would now be {now}"


def _unaccounted(differences: tuple[Difference, ...], fresh: list[Correction]) -> list[Difference]:
    """The differences that no new correction accounts for.

    An example that takes a number over from the lab changes with it.
    """
    accounted = [each for each in differences if any(_accounts(c, each) for c in fresh)]
    inherited = {(f"{EXAMPLE}{each.field}", each.was, each.now) for each in accounted}
    return [
        each
        for each in differences
        if each not in accounted and (each.field, each.was, each.now) not in inherited
    ]


def _covers(named: str, field: str) -> bool:
    """Whether a correction of ``named`` speaks of ``field``: ``measured`` of all trials."""
    tables = (RESULTS, f"{EXAMPLE}{RESULTS}", MEASURED)
    return named == field or (named in tables and field.startswith(f"{named}."))


def _accounts(correction: Correction, difference: Difference) -> bool:
    if not _covers(correction.field, difference.field):
        return False
    if correction.field != difference.field:
        return True  # of a whole table; what was there is said in words, if at all
    said, was = _plain(correction.was), _plain(difference.was)
    return said in (was, was.partition(" ± ")[0])


def _plain(text: str) -> str:
    return one_line(text).replace("-", "−")


def differences_of(former: Frozen, present: Frozen) -> tuple[Difference, ...]:
    """Every field that differs, as corrections name it.

    Results follow from the fields; they are compared only where the fields are the same, so a
    difference there is the program's.
    """
    found: list[Difference] = []
    if former.scenario != present.scenario:
        found.append(Difference(field="scenario", was=former.scenario, now=present.scenario))
    sets = (
        ("", former.variant, present.variant, former.results, present.results),
        (EXAMPLE, former.example, present.example, former.example_results, present.example_results),
    )
    for before, was, now, old, new in sets:
        changed = list(_of_texts(before, was, now))
        found += changed or list(_of_results(f"{before}{RESULTS}.", old, new))
    if former.measured:
        found += _of_texts(f"{MEASURED}.", former.measured, present.measured)
    return tuple(found)


def _of_texts(before: str, was: Mapping[str, str], now: Mapping[str, str]) -> Iterator[Difference]:
    for field in dict.fromkeys((*was, *now)):
        if was.get(field, "") != now.get(field, ""):
            yield Difference(
                field=f"{before}{field}", was=was.get(field, ""), now=now.get(field, "")
            )


def _of_results(
    before: str, was: Mapping[str, str], now: Mapping[str, str]
) -> Iterator[Difference]:
    for name in dict.fromkeys((*was, *now)):
        old, new = was.get(name, ""), now.get(name, "")
        if old != new and not _same_amount(old, new):
            yield Difference(field=f"{before}{name}", was=old, now=new)


def _same_amount(old: str, new: str) -> bool:
    (a, _, unit), (b, _, other) = old.partition(" "), new.partition(" ")
    try:
        one, two = float(a), float(b)
    except ValueError:
        return False
    near = abs(one - two) <= max(_CLOSE * max(abs(one), abs(two)), _NOTHING)
    return near and unit == other


def _written(scenario: Scenario, gravity: float) -> dict[str, str]:
    return {name: _amount(each) for name, each in results_of(scenario, gravity).items()}


def _amount(result: Result) -> str:
    value = 0.0 if abs(result.value) < _NOTHING else result.value
    return f"{value:.{FIGURES}g} {result.unit}"


def _of_course(course: Course) -> dict[str, str]:
    """What a course says that every number of its labs depends on."""
    given = {"gravity": course.gravity, "latitude": course.latitude, "height": course.height}
    found = {f"course.{key}": as_written(value) for key, value in given.items() if value}
    return {**found, "course.significant_figures": str(course.significant_figures)}


def _trials(measured: Measured) -> dict[str, str]:
    """The trials as texts: digests of the files, or the values, and what is done with them."""
    found = dict(measured.digests)
    for name, given in measured.values.items():
        if isinstance(given, GivenMean):
            parts = (as_written(given.value), f"n = {given.n}" if given.n else "")
            spread = f"s = {as_written(given.deviation)}" if given.deviation else ""
            found[name] = ", ".join(part for part in (*parts, spread) if part)
        else:
            found[name] = ", ".join(as_written(each) if each else "none" for each in given)
    found |= {f"signs.{channel}": str(sign) for channel, sign in measured.signs.items()}
    for window in measured.windows:
        ends = f"{as_written(window.start)} to {as_written(window.end)}"
        found[f"windows.{window.trial}"] = ends
    found |= {"zero": measured.zero} if measured.zero else {}
    found |= {f"exclude.{each.trial}": each.because for each in measured.excluded}
    found |= {f"include.{each.trial}": each.because for each in measured.included}
    sensors = vars(measured.sensors)
    found |= {f"sensors.{key}": as_written(value) for key, value in sensors.items() if value}
    return found
