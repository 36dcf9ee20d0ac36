"""What a file under terms/ says, and what its labs become: complete scenarios with dates."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from operator import itemgetter
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.frozen import Correction, Withdrawal, check_corrections
from fallwork.scenario.model import A_NAME, TITLE, Scenario
from fallwork.scenario.nouns import lab_id
from fallwork.scenario.numbers import Numbers, check_numbers, put_numbers, values_of
from fallwork.scenario.recordings import RECORDINGS, Recording
from fallwork.scenario.records import Items, Key, Named, Record
from fallwork.scenario.report import Report, unknown
from fallwork.scenario.shapes import MOMENT, OrWord, Reading, text
from fallwork.scenario.tree import Keys, Node
from fallwork.scenario.trials import MEASURED, Measured, with_files


@dataclass(frozen=True, kw_only=True)
class Section:
    """A group of a lab with dates of its own; those that the file leaves out are the lab's."""

    id: str
    title: Annotated[str, TITLE] = ""
    opens: Annotated[datetime, Key(MOMENT, must=False)]
    data_opens: Annotated[datetime | None, MOMENT] = None
    due: Annotated[datetime, Key(MOMENT, must=False)]


_CORRECTIONS = Items(
    "the corrections",
    '[{at: 2027-02-03, field: cart.mass, was: 507.3 g, because: "…"}]',
    Record("a correction", Correction),
    at_least=0,
)
_SECTIONS = Named("the section's id", "a section", Record("a section", Section), lab_id)
_EXAMPLE = OrWord("auto", Numbers(at_least=1, otherwise=", or auto"))  # the program chooses
Later = datetime | None


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A scenario as given in one term: ``variant`` and ``example`` are complete scenarios.

    One page serves every section, so it opens for all at once: what students need from the first
    date that any section has, what is held back not before the last. (While a file is read,
    ``scenario``, ``variant`` and ``example`` hold what it says: a name, and numbers.)
    """

    id: str
    title: Annotated[str, TITLE] = ""
    scenario: Annotated[Scenario, Key(A_NAME, must=False)]  # as the scenario file has it
    # With the term's numbers; with the worked example's, None: to be chosen (planning).
    variant: Annotated[Scenario, Key(Numbers(), key="numbers", must=False)]
    example: Annotated[Scenario | None, _EXAMPLE]
    opens: Annotated[datetime, MOMENT]  # and the report
    data_opens: Annotated[Later, MOMENT] = None  # None: no page for the trials before the solution
    due: Annotated[datetime, MOMENT]
    solution_opens: Annotated[datetime, MOMENT]  # later than every due date
    extended_to: Annotated[Later, MOMENT] = None
    sections: Annotated[Mapping[str, Section], _SECTIONS] = field(default_factory=dict)
    measured: Annotated[Measured | None, MEASURED] = None
    recordings: Annotated[tuple[Recording, ...], RECORDINGS] = ()
    corrections: Annotated[tuple[Correction, ...], _CORRECTIONS] = ()
    withdrawn: Annotated[Withdrawal | None, Record("a withdrawal", Withdrawal)] = None
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where values stand in the term's file, by their paths below the lab: "opens",
    #   "measured.exclude.0.trial"; "" for the lab itself

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


@dataclass(frozen=True, kw_only=True)
class Term:
    """A file under terms/."""

    id: str  # the file's stem, e.g. "2027-spring"
    title: Annotated[str, Key(text("a title", "Spring 2027"), key="term")]
    labs: Annotated[
        tuple[Lab, ...],
        Named("the lab's id", "a lab", Record("a lab", Lab), lab_id, at_least=1, keyed=False),
    ]


TERM = Record("a term", Term)


def read_term(
    node: Node,
    id_: str,
    zone: ZoneInfo,
    scenarios: Mapping[str, Scenario | None],
    trials: Path | None,
    report: Report,
) -> Term | None:
    """The term with its labs made whole, as far as nothing is wrong with them.

    A scenario whose file can't be read is None; ``trials`` is the folder of records, None where
    they aren't looked for.
    """
    reading = Reading(report=report, zone=zone)
    term: Term | None = TERM.read(node, (), reading)
    if term is None:
        return None
    labs = (_lab(said, scenarios, trials, reading) for said in term.labs if said)
    return replace(term, id=id_, labs=tuple(lab for lab in labs if lab))


def _lab(
    said: Any, scenarios: Mapping[str, Scenario | None], trials: Path | None, reading: Reading
) -> Lab | None:
    """The lab as a whole; None where its scenario can't be had."""
    base, measured = ("labs", said.id), said.measured
    opens = _check_dates(said, base, reading)
    check_corrections(said.corrections, opens, (*base, "corrections"), reading)
    if measured:
        measured = with_files(measured, (*base, "measured"), trials, reading)
    name, given = said.scenario or said.id, reading.values.get((*base, "scenario"))
    if name not in scenarios and (said.scenario or given is None):
        words = unknown("scenario", name, list(scenarios))
        reading.report.refuse(given or reading.keys[base], "unknown", **words)
    scenario = scenarios.get(name)
    if scenario is None:
        return None
    variant, example = _both(said, scenario, reading)
    lab: Lab = replace(
        said,
        title=said.title or scenario.title,
        scenario=scenario,
        variant=variant,
        example=example,
        sections={
            name: replace(section, title=section.title or name, **(_given(said) | _given(section)))
            for name, section in said.sections.items()
            if section
        },
        measured=measured,
        places=reading.places(base),
    )
    return lab


def _both(said: Any, scenario: Scenario, reading: Reading) -> tuple[Scenario, Scenario | None]:
    """The variant and the worked example, which is None where it is to be chosen."""
    report, noted = reading.report, len(reading.report)
    named = replace(scenario, title=said.title) if said.title else scenario
    variant = put_numbers(named, said.variant, report)
    if len(report) == noted:
        check_numbers(variant, said.variant, report)
    if said.example is None:
        return variant, None
    example = put_numbers(variant, said.example, report)
    if len(report) == noted:
        check_numbers(example, said.example, report)
    if len(report) == noted and said.example and values_of(variant) == values_of(example):
        reading.refuse(("labs", said.id, "example"), "example-of-the-lab")
    return variant, example


# ---- the order in which dates must come


_ORDER = {
    ("opens", "due"): "due-before-opens",
    ("opens", "data_opens"): "data-before-opens",
    ("data_opens", "due"): "due-before-data",
}
_first = itemgetter(0)


def _given(holder: Any) -> dict[str, datetime]:
    return {key: at for key in ("opens", "data_opens", "due") if (at := getattr(holder, key))}


def _check_dates(lab: Any, base: Keys, reading: Reading) -> datetime | None:
    """When a lab opens first, if that can be read, after noting every date in the wrong order.

    The lab is as it was read, ``base`` its path.
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
