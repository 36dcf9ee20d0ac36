"""A sound course to spoil or to add to, and what stands at a path of a model, as text."""

import shutil
from collections.abc import Mapping
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from cases import cases
from democourse import exchange
from fallwork.errors import BadInput
from fallwork.scenario import CourseData, Quantity, Scenario, as_written, load_course, load_scenario

HERE = Path(__file__).parent
SOUND = HERE / "sound"
DEMO = HERE.parents[1] / "site-data"
table = partial(cases, __file__, as_text=True)


def sound(name: str) -> Scenario:
    return load_scenario(SOUND / "scenarios" / f"{name}.yaml")


def copied(folder: Path) -> Path:
    return shutil.copytree(SOUND, folder / "course")


def changed(folder: Path, file: str, old: str, new: str) -> CourseData:
    """The sound course with a text of one file exchanged."""
    exchange(copied(folder) / file, old, new)
    return load_course(folder / "course")


def message(load: Any, *args: Any) -> str:
    with pytest.raises(BadInput) as caught:
        load(*args)
    return str(caught.value)


def at(thing: Any, path: str) -> str:
    """What stands at a path, e.g. ``sections.thursday.due`` or ``excluded.0.trial``."""
    for part in path.split("."):
        if isinstance(thing, Mapping):
            thing = thing[part]
        else:
            thing = thing[int(part)] if isinstance(thing, tuple) else getattr(thing, part)
    if isinstance(thing, datetime):
        return thing.isoformat(timespec="minutes")
    return as_written(thing) if isinstance(thing, Quantity) else str(thing)
