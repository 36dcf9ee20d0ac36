"""Writes the files of a new course, and brings those of an older one up to this version.

Takes options as typed; gives lines of text. The files are templates in the folder ``course``.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from importlib.metadata import version
from pathlib import Path
from shutil import move
from tempfile import TemporaryDirectory
from typing import Any

from jinja2 import Environment, StrictUndefined

from fallwork.commands.call import COURSE_FOLDER, CallError
from fallwork.errors import FallworkError, said
from fallwork.scenario import load_course
from fallwork.scenario.schema import export

_FILES = Path(__file__).with_name("course")
_BESIDE = {".git", ".venv"}  # what may be in its folder before it
_SCHEMA = "schema"  # the folder of the schemas, in a course
_PIN = re.compile(r"(?m)^fallwork *==.*$")
_MARKS = Environment(trim_blocks=True, keep_trailing_newline=True, undefined=StrictUndefined)


def started(
    *, folder: Path, title: str, zone: str, lab: str, first_day: datetime | None
) -> Iterator[str]:
    """Write a course into a folder that holds none; it can be checked and built at once."""
    if folder.exists() and not (folder.is_dir() and {p.name for p in folder.iterdir()} <= _BESIDE):
        raise CallError("not-empty", folder=folder)
    monday = _next_monday(date.today()) if first_day is None else first_day.date()
    labs = ("level-track", "two-weights") if lab == "both" else (lab,)
    season = "spring" if monday.month < 6 else "summer" if monday.month < 8 else "autumn"
    names = {
        "title": title,
        "name": folder.resolve().name,
        "zone": zone,
        "labs": labs,
        "term": f"{monday.year}-{season}",
        "term_title": f"{season.title()} {monday.year}",
        "days": [monday + timedelta(days=n) for n in range(28)],
        "version": version("fallwork"),
    }
    with TemporaryDirectory() as aside:
        _write(Path(aside), names)
        try:
            load_course(Path(aside, COURSE_FOLDER))
        except FallworkError as error:
            raise FallworkError(str(error).replace(aside, str(folder))) from None
        folder.mkdir(parents=True, exist_ok=True)
        for each in Path(aside).iterdir():
            move(each, folder)
    told = {"folder": folder.resolve(), "labs": " and ".join(labs), "term": names["term"]}
    yield said("commands", "started", **told)


def _next_monday(day: date) -> date:
    """The Monday after the next one, so that there is a week to look at everything."""
    return day + timedelta(days=14 - day.weekday())


def _write(whole: Path, names: Mapping[str, Any]) -> None:
    """The files of the course that the names describe."""
    for path in sorted(each for each in _FILES.rglob("*") if each.is_file()):
        if path.parent.name == "scenarios" and path.stem not in names["labs"]:
            continue
        at = path.relative_to(_FILES)
        called = {"gitignore": ".gitignore", "term.yaml": f"{names['term']}.yaml"}
        to = whole / at.with_name(called.get(at.name, at.name))
        to.parent.mkdir(parents=True, exist_ok=True)
        text = _MARKS.from_string(path.read_text("utf-8")).render(names)
        to.write_text(text, encoding="utf-8", newline="\n")
    export(whole / _SCHEMA)


def upgraded() -> Iterator[str]:
    """Renew what a course has of the program's: the schemas, and the version that it asks for."""
    if not COURSE_FOLDER.is_dir():
        raise CallError("no-course-here")
    export(Path(_SCHEMA))
    here, wanted = version("fallwork"), Path("requirements.txt")
    if wanted.is_file():
        text = wanted.read_text("utf-8")
        wanted.write_text(_PIN.sub(f"fallwork == {here}", text), encoding="utf-8", newline="\n")
    yield said("commands", "upgraded", version=here)
