"""The record of what has been published of a lab, and its text.

A file under published/ holds one; the program writes it and nobody else. What differs from it now
is found in ``planning``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import yaml

from fallwork.scenario.corrections import Correction
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.records import Items, Record
from fallwork.scenario.report import UnreadableError, shown
from fallwork.scenario.shapes import Reading, Shape, text
from fallwork.scenario.tree import Keys, Node, Scalar
from fallwork.scenario.tree import Mapping as MappingNode

PUBLISHED = "published"  # a folder beside terms/
_HEAD = """\
# Written by `fallwork publish`: what has been published of this lab. Don't edit this file, and
# keep it under version control. To change a number, give a correction in the term file.
"""
_RESTORE = "the program writes this file: restore it from version control"


@dataclass(frozen=True)
class _Texts(Shape):
    """Any keys, each with a text."""

    what: str

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        if not isinstance(node, MappingNode):
            return reading.misplaced(node, self.what, _RESTORE)
        for _, value in node.entries:
            if not isinstance(value, Scalar):
                reading.misplaced(value, "a text", _RESTORE)
        return {key.text: each.text for key, each in node.entries if isinstance(each, Scalar)}


def _moment(text: str) -> datetime:
    try:
        return iso_moment(text)
    except ValueError:
        raise UnreadableError("moment-without-zone", text=shown(text)) from None


_A_TEXT = text("a text", "cart.mass")
_A_MOMENT = text("a moment", "2027-02-03T00:00+01:00", _moment, None)
_SHAPES = {"at": _A_MOMENT, "field": _A_TEXT, "was": _A_TEXT, "because": _A_TEXT}
_CORRECTION = Record("a correction", Correction, shapes=_SHAPES, remedy=_RESTORE)
_CORRECTIONS = Items("the corrections", "[]", _CORRECTION, at_least=0)
_Written = Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Frozen:
    """What a lab's pages were made of when they were published last; written by the program."""

    scenario: Annotated[str, _A_TEXT]
    variant: Annotated[_Written, _Texts("the variant")]  # "cart.mass" -> as written, "512 g ± 1 g"
    example: Annotated[_Written, _Texts("the example")]
    results: Annotated[_Written, _Texts("the results")]  # quantity -> number, SI unit; six figures
    example_results: Annotated[_Written, _Texts("the example_results")]
    # Once the trials were open:
    measured: Annotated[_Written, _Texts("the trials")] = field(default_factory=dict)
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
        if known.required or value:
            content[key] = dict(value) if isinstance(value, Mapping) else value
    if frozen.corrections:
        content["corrections"] = [
            {key: text for key, text in vars(each).items() if text}
            | {"at": each.at.isoformat(timespec="minutes")}
            for each in frozen.corrections
        ]
    return _HEAD + yaml.safe_dump(content, allow_unicode=True, sort_keys=False, width=10_000)
