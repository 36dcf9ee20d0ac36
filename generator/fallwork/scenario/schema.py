"""Exports the layout of the three kinds of file as JSON Schema, for editors.

Takes the same records that read the files; gives one document each. Run as a module it writes
them to ``schema/`` beside this file.
"""

import json
from collections.abc import Mapping
from pathlib import Path

from fallwork.scenario.course import COURSE
from fallwork.scenario.model import SCENARIO
from fallwork.scenario.term import TERM

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FOLDER = Path(__file__).with_name("schema")


def schemas() -> Mapping[str, str]:
    """The text of each schema file by its name."""
    found = {}
    for name, record in {"scenario": SCENARIO, "term": TERM, "course": COURSE}.items():
        head = {"$schema": DIALECT, "title": f"Fallwork {name} file"}
        text = json.dumps({**head, **record.schema()}, indent=2, ensure_ascii=False)
        found[f"{name}.schema.json"] = f"{text}\n"
    return found


def export(folder: Path = FOLDER) -> None:
    """Write the schema files."""
    folder.mkdir(exist_ok=True)
    for name, text in schemas().items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    export()
