"""A copy of the demo course, to build or to spoil."""

import re
import shutil
from pathlib import Path

PROJECT = Path(__file__).parents[1]


def copy_of_the_course(folder: Path) -> Path:
    """Settings, hand-written pages and data, without what may have been published."""
    folder.mkdir(parents=True)
    shutil.copy(PROJECT / "mkdocs.yml", folder)
    for name in ("content", "site-data"):
        shutil.copytree(PROJECT / name, folder / name, ignore=shutil.ignore_patterns("published"))
    return folder


def postpone(course: Path, year: int) -> None:
    """Move every date to another year, so that nothing is open yet."""
    for path in sorted((course / "site-data" / "terms").glob("*.yaml")):
        text = re.sub(r"\b\d{4}(?=-\d\d-\d\d)", str(year), path.read_text("utf-8"))
        path.write_text(text, "utf-8")
