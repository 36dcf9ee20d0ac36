"""What has been published of a lab, and how its term file accounts for changes.

A file under published/ holds the record of a lab; the program writes it and nobody else. What
differs from it now, and what a correction accounts for, is found in ``planning``.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from math import inf
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import yaml

from fallwork.errors import DUMPER
from fallwork.scenario.dates import iso_moment, read_date
from fallwork.scenario.records import Record, items
from fallwork.scenario.report import Refusal, shown
from fallwork.scenario.shapes import MOMENT, OR_NUMBER, Reading, Shape, misplaced, text
from fallwork.scenario.tree import Keys, Node, Scalar
from fallwork.scenario.tree import Mapping as MappingNode

PUBLISHED = "published"  # a folder beside terms/
_LONGEST_CHANGE = 8  # half-hours after which clocks that go back have done so
_BECAUSE = text("a reason", "the cart was weighed without its hook")
_FORMER = text("a former value", "507.3 g", **OR_NUMBER)
_FIELD = text("a field", "cart.mass", pattern=r"^(?:[a-z0-9-]+(?:\.[a-z0-9_-]+)*|measured\..+)$")


@dataclass(frozen=True, kw_only=True)
class Correction:
    """A dated change of something that was open already."""

    at: Annotated[datetime, MOMENT]
    field: Annotated[str, _FIELD]
    was: Annotated[str, _FORMER] = ""  # as written; "" where it isn't said
    because: Annotated[str, _BECAUSE]


@dataclass(frozen=True, kw_only=True)
class Withdrawal:
    """From ``at`` on the pages of a lab hold one sentence and nothing else."""

    at: Annotated[datetime, MOMENT]
    because: Annotated[str, _BECAUSE]


class _Dumper(yaml.SafeDumper):
    """Quotes what must be quoted, and nothing for what it looks like: files are read as text."""


_Dumper.yaml_implicit_resolvers = {}


def pasteable(content: object) -> str:
    """Lists and mappings of texts on one line, each text quoted as YAML asks."""
    looks: dict[str, Any] = {"default_flow_style": True, "allow_unicode": True, "width": inf}
    return str(yaml.dump(content, Dumper=_Dumper, sort_keys=False, **looks)).removesuffix("\n")


def one_line(text: str) -> str:
    """A text without line breaks and hidden signs, as a term file can hold it."""
    return " ".join(re.sub("[\x00-\x1f\x7f-\x9f\u2028\u2029]", " ", text).split())


def date_of_correction(now: datetime, earliest: datetime, zone: ZoneInfo) -> str:
    """What to write for a correction made ``now``: the day, or a time where the day begins too
    early, because a correction comes after the opening and after every older one.
    """
    later = max(now, earliest).astimezone(UTC)
    day = f"{later.astimezone(zone):%Y-%m-%d}"
    half_hours = (later + timedelta(minutes=30 * n) for n in range(_LONGEST_CHANGE))
    for said in (day, *(f"{at.astimezone(zone):%Y-%m-%dT%H:%M}" for at in half_hours)):
        try:
            if read_date(said, zone) >= earliest:
                return said
        except Refusal:  # e.g. a time that comes twice, where the clocks go back
            continue
    return day


def check_corrections(
    corrections: Sequence[Correction | None], opens: datetime | None, path: Keys, reading: Reading
) -> None:
    """Corrections come in order, and none before the lab has opened."""
    before = opens
    for index, each in enumerate(corrections):
        if each and each.at and before:
            if each.at < before:
                reason = "before-opens" if before == opens else "out-of-order"
                reading.refuse((*path, str(index), "at"), f"correction-{reason}")
            before = max(before, each.at)


_HEAD = """\
# Written by `fallwork publish`: what has been published of this lab. Don't edit this file, and
# keep it under version control. To change a number, give a correction in the term file.
"""
_RESTORE = "the program writes this file: restore it from version control"


def _texts(what: str) -> Shape:
    """Any keys, each with a text; no schema, as only the program writes it."""

    def value(node: Node, path: Keys, reading: Reading) -> dict[str, str]:
        if not isinstance(node, MappingNode):
            raise misplaced(node, what, _RESTORE)
        return {key.text: raw.read(each, (*path, key.text), reading) for key, each in node.entries}

    def as_it_is(node: Node, *_: object) -> str:
        if not isinstance(node, Scalar):
            raise misplaced(node, "a text", _RESTORE)
        return node.text

    raw = Shape(as_it_is, dict)
    return Shape(value, dict)


def _moment(text: str) -> datetime:
    try:
        return iso_moment(text)
    except ValueError:
        raise Refusal("moment-without-zone", text=shown(text)) from None


_A_TEXT = text("a text", "cart.mass")
_A_MOMENT = text("a moment", "2027-02-03T00:00+01:00", _moment, None)
_SHAPES = {"at": _A_MOMENT, "field": _A_TEXT, "was": _A_TEXT, "because": _A_TEXT}
_CORRECTION = Record("a correction", Correction, shapes=_SHAPES, remedy=_RESTORE)
_CORRECTIONS = items("the corrections", "[]", _CORRECTION, at_least=0)
_Written = Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Frozen:
    """What a lab's pages were made of when they were published last; written by the program."""

    scenario: Annotated[str, _A_TEXT]
    variant: Annotated[_Written, _texts("the variant")]  # "cart.mass" -> as written, "512 g ± 1 g"
    example: Annotated[_Written, _texts("the example")]
    results: Annotated[_Written, _texts("the results")]  # quantity -> number, SI unit; six figures
    example_results: Annotated[_Written, _texts("the example_results")]
    # Once the trials were open:
    measured: Annotated[_Written, _texts("the trials")] = field(default_factory=dict)
    corrections: Annotated[tuple[Correction, ...], _CORRECTIONS] = ()  # that it contains already


FROZEN = Record("a record", Frozen, remedy=_RESTORE)


def frozen_path(root: Path, term: str, lab: str) -> Path:
    """Where the record of a lab stands."""
    return root / PUBLISHED / term / f"{lab}.yaml"


def frozen_text(frozen: Frozen) -> str:
    """The record as its file holds it; the same record gives the same bytes."""
    content: dict[str, Any] = {}
    for key, known in FROZEN.keys.items():
        value = getattr(frozen, key)
        if known.must or value:
            content[key] = dict(value) if isinstance(value, Mapping) else value
    if frozen.corrections:
        told = [(vars(c).items(), c.at.isoformat(timespec="minutes")) for c in frozen.corrections]
        content["corrections"] = [{k: v for k, v in said if v} | {"at": at} for said, at in told]
    return _HEAD + yaml.dump(
        content, Dumper=DUMPER, allow_unicode=True, sort_keys=False, width=10_000
    )
