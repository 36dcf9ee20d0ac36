"""The record of what has been published of a lab: read from and written as YAML.

Takes the files under published/, which the program writes and nobody else; gives Frozen, and
Frozen as text. What differs from it now is found in ``planning``.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import yaml

from fallwork.errors import Place
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.model import Correction, Frozen, Lab, Term
from fallwork.scenario.quantity import UnreadableError
from fallwork.scenario.records import Field, Items, Record
from fallwork.scenario.report import Report, shown
from fallwork.scenario.shapes import Reading, Shape, Text, found_in
from fallwork.scenario.tree import Keys, Node, Scalar, read_file
from fallwork.scenario.tree import Mapping as MappingNode

PUBLISHED = "published"  # a folder beside terms/
_HEAD = """\
# Written by `fallwork publish`: what has been published of this lab. Don't edit this file, and
# keep it under version control. To change a number, give a correction in the term file.
"""


@dataclass(frozen=True, kw_only=True)
class Texts(Shape):
    """Any keys, each with a text."""

    what: str

    @property
    def stand_in(self) -> dict[str, str]:
        """Nothing."""
        return {}

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> dict[str, str]:
        """The texts by key."""
        if not isinstance(node, MappingNode):
            reading.report.malformed(
                node.place, f"{found_in(node)} where {self.what} should stand", _RESTORE
            )
            return {}
        found = {}
        for key, value in node.entries:
            if isinstance(value, Scalar):
                found[key.text] = value.text
            else:
                reading.report.malformed(
                    value.place, f"{found_in(value)} where a text should stand", _RESTORE
                )
        return found

    def json_schema(self) -> dict[str, Any]:
        """Texts."""
        return {"type": "object", "additionalProperties": {"type": "string"}}


_RESTORE = "the program writes this file: restore it from version control"


def _moment(text: str) -> datetime:
    try:
        return iso_moment(text)
    except ValueError:
        raise UnreadableError(
            f"{shown(text)} is not a moment with its time zone", _RESTORE
        ) from None


_TEXT = Text(what="a text", example="cart.mass")
_CORRECTION = Record(
    what="a correction",
    make=Correction,
    remedy=_RESTORE,
    fields={
        "at": Field(
            shape=Text(
                what="a moment", example="2027-02-03T00:00+01:00", check=_moment, stand_in=None
            ),
            says="When it was made",
            required=True,
        ),
        "field": Field(shape=_TEXT, says="What was changed", required=True),
        "was": Field(shape=_TEXT, says="What had been published there"),
        "because": Field(shape=_TEXT, says="Why", required=True),
    },
)

FROZEN = Record(
    what="a record",
    make=Frozen,
    remedy=_RESTORE,
    fields={
        "scenario": Field(shape=_TEXT, says="The scenario's id", required=True),
        **{
            key: Field(shape=Texts(what=f"the {key}"), says=f"The {key}", required=True)
            for key in ("variant", "example", "results", "example_results")
        },
        "measured": Field(shape=Texts(what="the trials"), says="The trials, once they were open"),
        "corrections": Field(
            shape=Items(what="the corrections", example="[]", item=_CORRECTION, at_least=0),
            says="Those that it contains",
        ),
    },
)


def frozen_path(root: Path, term: str, lab: str) -> Path:
    """Where the record of a lab stands."""
    return root / PUBLISHED / term / f"{lab}.yaml"


def read_published(root: Path, report: Report) -> dict[tuple[str, str], Frozen]:
    """All records under a course's folder, by term and lab."""
    found: dict[tuple[str, str], Frozen] = {}
    folder = root / PUBLISHED
    for path in sorted(folder.glob("*/*.yaml")) if folder.is_dir() else []:
        noted = len(report)
        node = read_file(path, report)
        if node is None:
            continue
        frozen = FROZEN.read(node, (), Reading(report=report))
        report.sort_from(noted)
        if isinstance(frozen, Frozen):
            found[path.parent.name, path.stem] = frozen
    return found


def check_nothing_lost(
    root: Path,
    published: Mapping[tuple[str, str], Frozen],
    labs: Mapping[tuple[str, str], Lab],
    report: Report,
) -> None:
    """A lab that has been published can't be taken out of its term."""
    for term, lab in published:
        if (term, lab) not in labs:
            report.impossible(
                Place(file=str(frozen_path(root, term, lab)), line=1, column=1),
                f"{lab} has been published, but terms/{term}.yaml has no such lab any more",
                "put it back; to take its pages down, give it "
                "withdrawn: {at: 2027-03-01, because: …}",
            )


def labs_by_name(terms: tuple[Term, ...]) -> dict[tuple[str, str], Lab]:
    """All labs by the ids of term and lab."""
    return {(term.id, lab.id): lab for term in terms for lab in term.labs}


def frozen_text(frozen: Frozen) -> str:
    """The record as its file holds it; the same record gives the same bytes."""
    content: dict[str, Any] = {
        "scenario": frozen.scenario,
        "variant": dict(frozen.variant),
        "example": dict(frozen.example),
        "results": dict(frozen.results),
        "example_results": dict(frozen.example_results),
    }
    if frozen.measured:
        content["measured"] = dict(frozen.measured)
    if frozen.corrections:
        content["corrections"] = [_written(correction) for correction in frozen.corrections]
    return _HEAD + yaml.safe_dump(content, allow_unicode=True, sort_keys=False, width=10_000)


def _written(correction: Correction) -> dict[str, str]:
    was = {"was": correction.was} if correction.was else {}
    return {
        "at": correction.at.isoformat(timespec="minutes"),
        "field": correction.field,
        **was,
        "because": correction.because,
    }
