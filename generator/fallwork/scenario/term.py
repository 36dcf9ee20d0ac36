"""How a file under terms/ is laid out, and what its labs become.

Takes a tree, the course's time zone and its scenarios; gives a Term, each lab with its variant
and its worked example as complete scenarios.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import datetime
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from fallwork.errors import Place
from fallwork.scenario.dates import PATTERN, read_date
from fallwork.scenario.layout import A_NAME
from fallwork.scenario.model import Lab, Quantity, Scenario, Term
from fallwork.scenario.names import lab_id
from fallwork.scenario.overrides import Override, apply_numbers, check_numbers, put_numbers
from fallwork.scenario.records import Field, Named, Record
from fallwork.scenario.report import Report, all_known, meant, shown
from fallwork.scenario.shapes import Reading, Shape, Text, found_in
from fallwork.scenario.tree import Keys, Node, Scalar, Spoilt
from fallwork.scenario.tree import Mapping as MappingNode

DATE_KEYS = ("opens", "due", "solution_opens")


@dataclass(frozen=True, kw_only=True)
class LabDraft:
    """A lab of a term file as far as it could be read."""

    id: str
    scenario: str = ""
    numbers: Mapping[str, Override] = field(default_factory=dict)
    example: Mapping[str, Override]
    opens: datetime | None
    due: datetime | None
    solution_opens: datetime | None


@dataclass(frozen=True, kw_only=True)
class TermDraft:
    """A term file as far as it could be read."""

    title: str
    labs: Mapping[str, LabDraft | None]


@dataclass(frozen=True, kw_only=True)
class Numbers(Shape):
    """Paths such as ``cart.mass`` with the numbers that replace the scenario's."""

    at_least: int = 0

    @property
    def stand_in(self) -> dict[str, Override]:
        """No numbers."""
        return {}

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> dict[str, Override]:
        """The overrides; whether the scenario has such numbers is seen later."""
        if not isinstance(node, MappingNode) or len(node.entries) < self.at_least:
            reading.report.malformed(
                node.place,
                "not one number"
                if isinstance(node, MappingNode)
                else f"{found_in(node)} where numbers should stand",
                "write e.g. {weight.mass: 120.0 g}",
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
        return {
            "type": "object",
            "minProperties": self.at_least,
            "propertyNames": {"pattern": r"^[a-z0-9-]+\.[a-z_]+(?:\.[a-z_]+)?$"},
            "additionalProperties": {"type": ["string", "number"]},
        }


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
        make=LabDraft,
        named="id",
        fields={
            "scenario": Field(shape=A_NAME, says="The scenario; the lab's id if left out"),
            "numbers": Field(shape=Numbers(), says="Numbers that replace the scenario's"),
            "example": Field(
                shape=Numbers(at_least=1),
                says="Numbers of the worked example, replacing the lab's",
                required=True,
            ),
            "opens": Field(shape=moment, says="When the prelab opens", required=True),
            "due": Field(shape=moment, says="When reports are due", required=True),
            "solution_opens": Field(
                shape=moment, says="When the worked solution opens", required=True
            ),
        },
    )


def read_term(
    node: Node,
    term_id: str,
    zone: ZoneInfo,
    scenarios: Mapping[str, Scenario | None],
    report: Report,
) -> Term | None:
    """The term that a tree gives; None where a lab can't be had. Problems go to the report."""
    reading = Reading(report=report)
    draft = term_record(zone).read(node, (), reading)
    if draft is None:
        return None
    labs = [
        _lab(lab, scenarios, reading) for lab in draft.labs.values() if isinstance(lab, LabDraft)
    ]
    whole = tuple(lab for lab in labs if lab is not None)
    return Term(id=term_id, title=draft.title, labs=whole)


def _lab(draft: LabDraft, scenarios: Mapping[str, Scenario | None], reading: Reading) -> Lab | None:
    report = reading.report
    _check_order(draft, reading)
    scenario = _scenario(draft, scenarios, reading)
    if scenario is None:
        return None
    noted = len(report)
    variant = apply_numbers(scenario, draft.numbers, report)
    example = put_numbers(variant, draft.example, report)
    if len(report) == noted:
        check_numbers(example, draft.example, report)
    if len(report) == noted and draft.example and _values(variant) == _values(example):
        report.impossible(
            reading.values["labs", draft.id, "example"],
            "a worked example with the numbers of the lab itself",
            "give it other numbers: it is open before the reports are in",
        )
    if draft.opens is None or draft.due is None or draft.solution_opens is None:
        return None
    return Lab(
        id=draft.id,
        scenario=scenario,
        variant=variant,
        example=example,
        opens=draft.opens,
        due=draft.due,
        solution_opens=draft.solution_opens,
    )


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


def _check_order(draft: LabDraft, reading: Reading) -> None:
    def place(key: str) -> Place:
        return reading.values["labs", draft.id, key]

    if draft.opens and draft.due and draft.due < draft.opens:
        reading.report.impossible(
            place("due"), "reports due before the lab opens", "due must not be before opens"
        )
    if draft.due and draft.solution_opens and draft.solution_opens <= draft.due:
        reading.report.impossible(
            place("solution_opens"),
            "a solution that opens while reports may still come in",
            "solution_opens must be later than due",
        )


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
