"""The record of what has been published of a lab: read from and written as YAML.

Takes the files under published/, which the program writes and nobody else; gives Frozen, and
Frozen as text. What differs from it now is found in ``planning``.
"""

from collections.abc import Container, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import yaml

from fallwork.errors import Place
from fallwork.scenario.corrections import Correction
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.records import Items, Record
from fallwork.scenario.report import Report, UnreadableError, refusal, shown
from fallwork.scenario.shapes import Reading, Shape, Text
from fallwork.scenario.tree import Keys, Node, Scalar, read_file
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

    @property
    def stand_in(self) -> dict[str, str]:
        """Nothing."""
        return {}

    def _read(self, node: Node, path: Keys, reading: Reading) -> Any:
        if not isinstance(node, MappingNode):
            return self._misplaced(node, self.what, _RESTORE, reading)
        for _, value in node.entries:
            if not isinstance(value, Scalar):
                self._misplaced(value, "a text", _RESTORE, reading)
        return {key.text: each.text for key, each in node.entries if isinstance(each, Scalar)}


def _moment(text: str) -> datetime:
    try:
        return iso_moment(text)
    except ValueError:
        raise UnreadableError("moment-without-zone", text=shown(text)) from None


_A_TEXT = Text("a text", "cart.mass")
_A_MOMENT = Text("a moment", "2027-02-03T00:00+01:00", _moment, None)
_CORRECTION = Record(
    "a correction",
    Correction,
    shapes={"at": _A_MOMENT, "field": _A_TEXT, "was": _A_TEXT, "because": _A_TEXT},
    remedy=_RESTORE,
)


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
    corrections: Annotated[
        tuple[Correction, ...], Items("the corrections", "[]", _CORRECTION, at_least=0)
    ] = ()  # that it contains already


FROZEN = Record("a record", Frozen, remedy=_RESTORE)


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
    labs: Container[tuple[str, str]],  # those that there are
    report: Report,
) -> None:
    """A lab that has been published can't be taken out of its term."""
    for term, lab in published:
        if (term, lab) not in labs:
            place = Place(file=str(frozen_path(root, term, lab)), line=1, column=1)
            report.impossible(place, *refusal("lost-lab", term=term, lab=lab))


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
