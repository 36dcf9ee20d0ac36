"""How a file under terms/ is laid out, and what its labs become.

Takes a tree, the course's time zone and its scenarios; gives a Term, each lab with its variant
and its worked example as complete scenarios.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.corrections import (
    check_corrections,
    corrections_shape,
    withdrawal_record,
)
from fallwork.scenario.dates import PATTERN, read_date
from fallwork.scenario.layout import A_NAME, TITLE
from fallwork.scenario.measured import MEASURED, MeasuredDraft
from fallwork.scenario.model import Correction, Lab, Quantity, Scenario, Term, Withdrawal
from fallwork.scenario.names import lab_id
from fallwork.scenario.overrides import Override, apply_numbers, check_numbers, put_numbers
from fallwork.scenario.records import Field, Named, Record
from fallwork.scenario.report import Report, all_known, meant, shown
from fallwork.scenario.sections import Dates, check_dates, sections_of, sections_shape
from fallwork.scenario.shapes import Reading, Shape, Text, found_in
from fallwork.scenario.tree import Keys, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode
from fallwork.scenario.trials import measured_of

AUTO = "auto"  # a worked example that the program chooses


@dataclass(frozen=True, kw_only=True)
class LabDraft:
    """A lab of a term file as far as it could be read."""

    id: str
    title: str = ""
    scenario: str = ""
    numbers: Mapping[str, Override] = field(default_factory=dict)
    example: Mapping[str, Override] | None  # None: to be chosen
    dates: Dates
    measured: MeasuredDraft | None = None
    corrections: tuple[Correction | None, ...] = ()
    withdrawn: Withdrawal | None = None


def _lab_draft(**values: Any) -> LabDraft:
    names = [known.name for known in fields(Dates)]
    dates = Dates(**{name: values.pop(name) for name in names if name in values})
    return LabDraft(dates=dates, **values)


@dataclass(frozen=True, kw_only=True)
class TermDraft:
    """A term file as far as it could be read."""

    title: str
    labs: Mapping[str, LabDraft | None]


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What a term file refers to."""

    zone: ZoneInfo
    scenarios: Mapping[str, Scenario | None]  # None for a file that can't be read
    trials: Path  # the folder of records


@dataclass(frozen=True, kw_only=True)
class Numbers(Shape):
    """Paths such as ``cart.mass`` with the numbers that replace the scenario's."""

    at_least: int = 0
    auto: bool = False  # whether the word auto may stand in their place

    @property
    def stand_in(self) -> dict[str, Override]:
        """No numbers."""
        return {}

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> dict[str, Override] | None:
        """The overrides; whether the scenario has such numbers is seen later. None for auto."""
        if self.auto and isinstance(node, Scalar) and node.text.strip() == AUTO:
            return None
        if not isinstance(node, MappingNode) or len(node.entries) < self.at_least:
            reading.report.malformed(
                node.place,
                "not one number"
                if isinstance(node, MappingNode)
                else f"{found_in(node)} where numbers should stand",
                "write e.g. {weight.mass: 120.0 g}" + (f", or {AUTO}" if self.auto else ""),
            )
            return {}
        overrides = {}
        for key, value in node.entries:
            if isinstance(value, Scalar):
                overrides[key.text] = Override(
                    text=value.text, place=value.place, key_place=key.place
                )
            elif not isinstance(value, Spoilt):
                reading.report.malformed(
                    value.place,
                    "a list or mapping where a number should stand",
                    "write the path as one key, e.g. weight.mass: 120.0 g",
                )
        return overrides

    def json_schema(self) -> dict[str, Any]:
        """Paths with texts or plain numbers."""
        numbers = {
            "type": "object",
            "minProperties": self.at_least,
            "propertyNames": {"pattern": r"^[a-z0-9-]+\.[a-z_]+(?:\.[a-z_]+)?$"},
            "additionalProperties": {"type": ["string", "number"]},
        }
        return {"anyOf": [{"const": AUTO}, numbers]} if self.auto else numbers


def term_record(zone: ZoneInfo) -> Record:
    """The layout of a term file whose dates are meant in ``zone``."""
    return Record(
        what="a term",
        make=TermDraft,
        fields={
            "term": Field(
                shape=Text(what="a title", example="Spring 2027"),
                says="What the pages call the term",
                required=True,
                attribute="title",
            ),
            "labs": Field(
                shape=Named(
                    what="the lab's id",
                    of="a lab",
                    value=_lab_record(zone),
                    at_least=1,
                    check=lab_id,
                ),
                says="The labs of the term by id",
                required=True,
            ),
        },
    )


def _lab_record(zone: ZoneInfo) -> Record:
    moment = Text(
        what="a date",
        example="2027-02-01 or 2027-02-12T17:00",
        pattern=f"^{PATTERN}$",
        check=partial(read_date, zone=zone),
        stand_in=None,
    )
    return Record(
        what="a lab",
        make=_lab_draft,
        named="id",
        fields={
            "title": Field(shape=TITLE, says="What the pages call it; the scenario's if left out"),
            "scenario": Field(shape=A_NAME, says="The scenario; the lab's id if left out"),
            "numbers": Field(shape=Numbers(), says="Numbers that replace the scenario's"),
            "example": Field(
                shape=Numbers(at_least=1, auto=True),
                says="Numbers of the worked example, replacing the lab's; auto chooses them",
                required=True,
            ),
            "opens": Field(shape=moment, says="When prelab and example open", required=True),
            "data_opens": Field(shape=moment, says="When the trials open"),
            "due": Field(shape=moment, says="When reports are due", required=True),
            "solution_opens": Field(
                shape=moment, says="When the worked solution opens", required=True
            ),
            "extended_to": Field(
                shape=moment,
                says="When the last report with an extension is due; the pages don't show it",
            ),
            "sections": Field(
                shape=sections_shape(moment), says="Groups with dates of their own, by id"
            ),
            "measured": Field(shape=MEASURED, says="The trials"),
            "corrections": Field(
                shape=corrections_shape(moment), says="What was changed after the lab had opened"
            ),
            "withdrawn": Field(
                shape=withdrawal_record(moment),
                says="Takes the lab's pages down and keeps their addresses",
            ),
        },
    )


def read_term(
    node: Node,
    term_id: str,
    course: Surroundings,
    report: Report,
) -> Term | None:
    """The term that a tree gives; None where a lab can't be had. Problems go to the report."""
    reading = Reading(report=report)
    draft = term_record(course.zone).read(node, (), reading)
    if draft is None:
        return None
    labs = [_lab(lab, course, reading) for lab in draft.labs.values() if isinstance(lab, LabDraft)]
    whole = tuple(lab for lab in labs if lab is not None)
    return Term(id=term_id, title=draft.title, labs=whole)


def _lab(draft: LabDraft, course: Surroundings, reading: Reading) -> Lab | None:
    base = ("labs", draft.id)
    dates = draft.dates
    check_dates(dates, base, reading)
    check_corrections(draft.corrections, dates.opens_first, (*base, "corrections"), reading)
    measured = measured_of(draft.measured, (*base, "measured"), course.trials, reading)
    scenario = _scenario(draft, course.scenarios, reading)
    if scenario is None:
        return None
    variant, example = _both(draft, scenario, reading)
    if dates.opens is None or dates.due is None or dates.solution_opens is None:
        return None
    return Lab(
        id=draft.id,
        title=draft.title or scenario.title,
        scenario=scenario,
        variant=variant,
        example=example,
        opens=dates.opens,
        data_opens=dates.data_opens,
        due=dates.due,
        solution_opens=dates.solution_opens,
        sections=sections_of(dates),
        extended_to=dates.extended_to,
        measured=measured,
        corrections=tuple(each for each in draft.corrections if each),
        withdrawn=draft.withdrawn,
        places=_places(base, reading),
    )


def _places(base: Keys, reading: Reading) -> dict[str, Place]:
    """Where what is said of a lab stands; for the lab itself, its id."""
    below = {k[len(base) :]: place for k, place in reading.values.items() if k[: len(base)] == base}
    return {".".join(keys): place for keys, place in below.items()} | {"": reading.keys[base]}


def _both(
    draft: LabDraft, scenario: Scenario, reading: Reading
) -> tuple[Scenario, Scenario | None]:
    """The variant and the worked example, which is None where it is to be chosen."""
    report, noted = reading.report, len(reading.report)
    named = replace(scenario, title=draft.title) if draft.title else scenario
    variant = apply_numbers(named, draft.numbers, report)
    if draft.example is None:
        return variant, None
    example = put_numbers(variant, draft.example, report)
    if len(report) == noted:
        check_numbers(example, draft.example, report)
    if len(report) == noted and draft.example and _values(variant) == _values(example):
        report.impossible(
            reading.values["labs", draft.id, "example"],
            "a worked example with the numbers of the lab itself",
            "give it other numbers: it is open before the reports are in",
        )
    return variant, example


def _scenario(
    draft: LabDraft, scenarios: Mapping[str, Scenario | None], reading: Reading
) -> Scenario | None:
    name = draft.scenario or draft.id
    base = ("labs", draft.id)
    given = reading.values.get((*base, "scenario"))
    if name not in scenarios and (draft.scenario or given is None):
        known = list(scenarios)
        reading.report.malformed(
            given or reading.keys[base],
            f"unknown scenario {shown(name)}",
            meant(name, known, all_known("scenario", known)),
        )
    return scenarios.get(name)


def _values(scenario: Scenario) -> list[float]:
    """All values of a scenario in the order of its file."""
    found: list[float] = []

    def walk(part: Any) -> None:
        if isinstance(part, Quantity):
            found.append(part.value)
        elif isinstance(part, Mapping):
            for below in part.values():
                walk(below)
        elif is_dataclass(part):
            for known in fields(part):
                walk(getattr(part, known.name))

    walk(scenario)
    return found
