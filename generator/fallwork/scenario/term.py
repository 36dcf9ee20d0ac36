"""What a file under terms/ says, and what its labs become: complete scenarios with dates; and the
recordings of a lab: where they stand, since when students have them, what they show when.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import chain
from operator import itemgetter
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.frozen import Correction, Withdrawal, check_corrections
from fallwork.scenario.model import A_NAME, TITLE, Scenario
from fallwork.scenario.nouns import lab_id
from fallwork.scenario.numbers import put_numbers, quantities_of, replacing, values_of, with_values
from fallwork.scenario.records import Key, Record, in_order, items, named
from fallwork.scenario.report import Refusal, Report, fits, shown, unknown
from fallwork.scenario.shapes import MOMENT, Reading, or_word, text
from fallwork.scenario.tree import Keys, Node
from fallwork.scenario.trials import MEASURED, OWN, Measured, with_files

MOST_VARIANTS = 500
_SIGNS = r"[\w.~%+,;=:@/-]"  # none that means more than itself in HTML
_HOST = r"[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?"
_ADDRESS = rf"(?a)https://{_HOST}(?::\d{{1,5}})?/{_SIGNS}*(?:\?(?:{_SIGNS}|[?&])*)?"
_LEADING = rf"(?a)[?&#](?:{_SIGNS}|&)*\{{seconds\}}(?:{_SIGNS}|&)*"
_TIME = re.compile(r"(?:(\d{1,2}):(?=\d\d:))?(\d{1,3}):([0-5]\d)", re.ASCII)
_FRAGMENT = "#t={seconds}"  # Media Fragments URI 1.0, 4.2.1 (from memory)


def _seconds(given: str) -> int:
    found = _TIME.fullmatch(given)
    if found is None or (found[1] and int(found[2]) > 59):
        raise Refusal("no-time", text=shown(given))
    hours, minutes, seconds = (int(each or 0) for each in found.groups())
    return 3600 * hours + 60 * minutes + seconds


def time_in_words(seconds: int) -> str:
    """As it was given: ``3:10``, ``1:02:30``."""
    hours, rest = divmod(seconds, 3600)
    minutes, last = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{last:02}" if hours else f"{minutes}:{last:02}"


_PLACE = text("an address", "https://media.example.org/run-1", fits(_ADDRESS, "no-recording"))
_MARKS = named("the step", "a time", text("a time", '"3:10"', _seconds, 0), lab_id)


@dataclass(frozen=True, kw_only=True)
class Recording:
    """A recording that stands elsewhere; pages only lead to it."""

    title: Annotated[str, TITLE]
    address: Annotated[str, _PLACE]
    at: Annotated[datetime, Key(MOMENT, key="from")]  # from when on students have it
    marks: Annotated[Mapping[str, int], _MARKS] = field(default_factory=dict)  # step -> seconds

    @property
    def host(self) -> str:
        """The name of the site where it stands."""
        return urlsplit(self.address).hostname or ""

    def moment(self, seconds: int, patterns: Mapping[str, str]) -> str:
        """The address that leads to a time; ``patterns``: by host, what is put after an address."""
        ending = patterns.get(self.host, _FRAGMENT).format(seconds=seconds)
        again = ending.startswith("?") and "?" in self.address
        return self.address + (f"&{ending[1:]}" if again else ending)


_LEADS = "what leads to a time"
_LEADS_THERE = text(_LEADS, '"?start={seconds}"', fits(_LEADING, "no-moment-of-recording"))
LEADS = named("the host", _LEADS, _LEADS_THERE, fits(_HOST, "no-host"), pattern=f"^{_HOST}$")
_RECORDINGS = items(
    "the recordings",
    "[{title: The trials, address: https://media.example.org/run-1, from: 2027-02-08}]",
    Record("a recording", Recording),
)


@dataclass(frozen=True, kw_only=True)
class Section:
    """A group of a lab with dates of its own; those that the file leaves out are the lab's."""

    id: str
    title: Annotated[str, TITLE] = ""
    opens: Annotated[datetime, Key(MOMENT, must=False)]
    data_opens: Annotated[datetime | None, MOMENT] = None
    due: Annotated[datetime, Key(MOMENT, must=False)]


_CORRECTION = '[{at: 2027-02-03, field: cart.mass, was: 507.3 g, because: "…"}]'
_CORRECTIONS = items("the corrections", _CORRECTION, Record("a correction", Correction), 0)
_SECTIONS = named("the section's id", "a section", Record("a section", Section), lab_id)
_EXAMPLE = or_word("auto", replacing(1, ", or auto"))  # the program chooses
_VARIANTS = named("the variant's id", "numbers", replacing(1), lab_id, at_most=MOST_VARIANTS)
Later = datetime | None


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A scenario as given in one term: ``variant`` and ``example`` are complete scenarios. One page
    serves every section, so it opens for all at once: what students need from the first date that
    any section has, what is held back not before the last. (While a file is read, ``scenario``,
    ``variant`` and ``example`` hold what it says: a name, and numbers.)
    """

    id: str
    title: Annotated[str, TITLE] = ""
    scenario: Annotated[Scenario, Key(A_NAME, must=False)]  # as the scenario file has it
    # With the term's numbers; with the worked example's, None: to be chosen (planning).
    variant: Annotated[Scenario, Key(replacing(), key="numbers", must=False)]
    example: Annotated[Scenario | None, _EXAMPLE]
    # Other numbers for benches or students, by id; prelab and example serve them all.
    variants: Annotated[Mapping[str, Scenario], _VARIANTS] = field(default_factory=dict)
    opens: Annotated[datetime, MOMENT]  # and the report
    data_opens: Annotated[Later, MOMENT] = None  # None: no page for the trials before the solution
    due: Annotated[datetime, MOMENT]
    solution_opens: Annotated[datetime, MOMENT]  # later than every due date
    extended_to: Annotated[Later, MOMENT] = None
    sections: Annotated[Mapping[str, Section], _SECTIONS] = field(default_factory=dict)
    measured: Annotated[Measured | None, MEASURED] = None
    recordings: Annotated[tuple[Recording, ...], _RECORDINGS] = ()
    corrections: Annotated[tuple[Correction, ...], _CORRECTIONS] = ()
    withdrawn: Annotated[Withdrawal | None, Record("a withdrawal", Withdrawal)] = None
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where values stand in the term's file, by their paths below the lab: "opens",
    #   "measured.exclude.0.trial"; "" for the lab itself

    @property
    def every_variant(self) -> tuple[Scenario, ...]:
        """The lab's own numbers, and those of its variants."""
        return (self.variant, *self.variants.values())

    @property
    def by_variant(self) -> "dict[str, Lab]":
        """The lab with the numbers of each variant, by its id; trials are of the lab's own."""
        bare: dict[str, Any] = {"measured": None, "data_opens": None, "variants": {}}
        return {name: replace(self, variant=s, **bare) for name, s in self.variants.items()}

    @property
    def widest(self) -> Scenario:
        """The set-up with the greatest size that each number has in any variant: what is bounded by
        the sizes of its numbers is so in all.
        """
        sizes: dict[str, float] = {}
        for path, each in chain(*map(quantities_of, self.every_variant)):
            sizes[path] = max(each.value, sizes.get(path, 0.0), key=abs)
        pushed = (each for each in self.every_variant if each.run.speed)
        return with_values(next(pushed, self.variant), sizes)

    @property
    def opens_first(self) -> datetime:
        """From when on prelab, example and report are open, for everybody."""
        return min([self.opens, *(section.opens for section in self.sections.values())])

    @property
    def data_opens_last(self) -> datetime | None:
        """From when on the trials are open, for everybody."""
        dates = [self.data_opens, *(section.data_opens for section in self.sections.values())]
        return max((at for at in dates if at is not None), default=None)

    @property
    def trials_open(self) -> datetime:
        """From when on the trials may be seen at all: the solution shows them too."""
        return min(self.data_opens_last or self.solution_opens, self.solution_opens)

    @property
    def due_last(self) -> datetime:
        """When the last section's report is due; extensions left out."""
        return max([self.due, *(section.due for section in self.sections.values())])


_LABS = in_order(named("the lab's id", "a lab", Record("a lab", Lab), lab_id, at_least=1))


@dataclass(frozen=True, kw_only=True)
class Term:
    """A file under terms/."""

    id: str  # the file's stem, e.g. "2027-spring"
    title: Annotated[str, Key(text("a title", "Spring 2027"), key="term")]
    labs: Annotated[tuple[Lab, ...], _LABS]


TERM = Record("a term", Term)
_Scenarios = Mapping[str, Scenario | None]  # None: its file can't be read


def read_term(
    node: Node, id_: str, zone: ZoneInfo, scenarios: _Scenarios, trials: Path | None, report: Report
) -> Term | None:
    """The term with its labs made whole, as far as nothing is wrong with them; ``trials`` is the
    folder of records, None where they aren't looked for.
    """
    reading = Reading(report=report, zone=zone)
    term: Term | None = TERM.read(node, (), reading)
    if term is None:
        return None
    labs = (_lab(said, scenarios, trials, reading) for said in term.labs if said)
    return replace(term, id=id_, labs=tuple(lab for lab in labs if lab))


def _lab(said: Any, scenarios: _Scenarios, trials: Path | None, reading: Reading) -> Lab | None:
    """The lab as a whole; None where its scenario can't be had."""
    base, measured, report = ("labs", said.id), said.measured, reading.report
    opens = _check_dates(said, base, reading)
    check_corrections(said.corrections, opens, (*base, "corrections"), reading)
    if measured:
        measured = with_files(measured, (*base, "measured"), trials, reading)
        if measured.variant != (OWN if said.variants else measured.variant and OWN):
            reading.refuse((*base, "measured"), "whose-numbers")
    name, given = said.scenario or said.id, reading.values.get((*base, "scenario"))
    if name not in scenarios and (said.scenario or given is None):
        words = unknown("scenario", name, list(scenarios))
        report.refuse(given or reading.keys[base], "unknown", **words)
    scenario = scenarios.get(name)
    if scenario is None:
        return None
    noted, title = len(report), said.title or scenario.title
    variant = put_numbers(replace(scenario, title=title), said.variant, report)
    example = None
    if said.example is not None:
        example = put_numbers(variant, said.example, report, sound=len(report) == noted)
        things = (*variant.objects.values(), *variant.surfaces.values(), variant.run)
        known = len(report) == noted and None not in things
        if said.example and known and values_of(variant) == values_of(example):
            reading.refuse((*base, "example"), "example-of-the-lab")
    variants = {
        name: put_numbers(variant, given, report, sound=len(report) == noted)
        for name, given in said.variants.items()
        if given
    }
    groups = ((name, section) for name, section in said.sections.items() if section)
    own = _given(said)
    sections = {n: replace(s, title=s.title or n, **(own | _given(s))) for n, s in groups}
    made = {"scenario": scenario, "variant": variant, "variants": variants, "example": example}
    places = reading.places(base)
    made |= {"title": title, "sections": sections, "measured": measured, "places": places}
    lab: Lab = replace(said, **made)
    return lab


_ORDER = {
    ("opens", "due"): "due-before-opens",
    ("opens", "data_opens"): "data-before-opens",
    ("data_opens", "due"): "due-before-data",
}
_first = itemgetter(0)


def _given(holder: Any) -> dict[str, datetime]:
    return {key: at for key in ("opens", "data_opens", "due") if (at := getattr(holder, key))}


def _check_dates(lab: Any, base: Keys, reading: Reading) -> datetime | None:
    """When a lab opens first, if that can be read, after noting every date in the wrong order. The
    lab is as it was read, ``base`` its path.
    """
    own = _given(lab)
    groups = [("", base, own, own)]  # everybody in no section, then each section
    for name, section in lab.sections.items():
        below = _given(section) if section else {}
        groups.append((f" of section {name}", (*base, "sections", name), below, own | below))
    in_order = True
    for words, path, given, dates in groups:
        for (one, other), reason in _ORDER.items():
            keys = [key for key in (other, one) if key in given]
            if keys and {one, other} <= dates.keys() and dates[other] < dates[one]:
                reading.refuse((*path, keys[0]), reason, of=words)
                in_order = False
                break  # what else is in the wrong order follows from the same date
    opens, data_opens, due = (
        [(dates[key], words, path) for words, path, _, dates in groups if key in dates]
        for key in ("opens", "data_opens", "due")
    )
    if in_order and data_opens and due:  # one page holds the trials, and waits for the last section
        (late, _, path), (early, words, _) = max(data_opens, key=_first), min(due, key=_first)
        if early < late:
            whose = words or " of the others"
            reading.refuse((*path, "data_opens"), "data-after-due", of=whose)
    ends = [(at, f"due{words}") for at, words, _ in due]
    ends += [(lab.extended_to, "extended_to")] if lab.extended_to else []
    last, which = max(ends, key=_first, default=(None, ""))
    if last and lab.solution_opens and lab.solution_opens <= last:
        reading.refuse((*base, "solution_opens"), "solution-before-due", last=which)
    return min(opens, key=_first)[0] if lab.opens else None
