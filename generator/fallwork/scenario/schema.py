"""Exports the layout of the three kinds of file as JSON Schema, for editors.

Takes the same records that read the files; gives one document each. Run as a module it writes
them to ``schema/`` beside this file.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fallwork.scenario.course import COURSE
from fallwork.scenario.model import SCENARIO
from fallwork.scenario.records import Record
from fallwork.scenario.term import TERM

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FOLDER = Path(__file__).with_name("schema")


def schemas() -> Mapping[str, str]:
    """The text of each schema file by its name."""
    records = {"scenario": SCENARIO, "term": TERM, "course": COURSE}
    return {f"{name}.schema.json": _text(name, record) for name, record in records.items()}


def _text(name: str, record: Record) -> str:
    document: dict[str, Any] = {
        "$schema": DIALECT,
        "title": f"Fallwork {name} file",
        **record.schema(),
    }
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def export(folder: Path = FOLDER) -> None:
    """Write the schema files."""
    folder.mkdir(exist_ok=True)
    for name, text in schemas().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    export()
