"""Writes down what has been published, so that it can't change unnoticed.

Takes a course and the moment that its students see; writes files under published/.
"""

import os
from datetime import datetime
from pathlib import Path

from fallwork.planning import published_by
from fallwork.scenario import frozen_path, frozen_text
from fallwork.scenario.model import CourseData


def write_records(data: CourseData, moment: datetime) -> tuple[str, ...]:
    """Bring the records of all open labs up to date; the labs whose record is new or changed."""
    changed = []
    for (term, lab), frozen in published_by(data, moment).items():
        path, text = frozen_path(data.root, term, lab), frozen_text(frozen)
        if not path.is_file() or path.read_text("utf-8") != text:
            write_whole(path, text)
            changed.append(f"{term}/{lab}")
    return tuple(changed)


def write_whole(path: Path, text: str) -> None:
    """The whole file or nothing, whatever happens meanwhile."""
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{path.name}.new")
    with aside.open("w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    aside.replace(path)
