"""Exports the layout of the four kinds of file as JSON Schema, for editors.

Takes the same records that read the files; gives one document each. Run as a module it writes
them to ``schema/`` beside this file.
"""

import json
from pathlib import Path

from fallwork.scenario.course import COURSE
from fallwork.scenario.inventory import INVENTORY
from fallwork.scenario.model import SCENARIO
from fallwork.scenario.term import TERM

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FOLDER = Path(__file__).with_name("schema")
FILES = {"scenario": SCENARIO, "term": TERM, "course": COURSE, "inventory": INVENTORY}


def export(folder: Path = FOLDER) -> None:
    """Write the schema files."""
    folder.mkdir(exist_ok=True)
    for name, record in FILES.items():
        head = {"$schema": DIALECT, "title": f"Fallwork {name} file"}
        text = json.dumps({**head, **record.schema()}, indent=2, ensure_ascii=False)
        (folder / f"{name}.schema.json").write_text(f"{text}\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    export()
