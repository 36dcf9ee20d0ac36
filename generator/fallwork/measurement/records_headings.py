"""What the heading of a column says: its role, its unit, the trial it belongs to.

Takes the text of a heading; gives these three as far as it says them. Which words are known is in
``headings.yaml``; units are those of the scenario stage's table.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import yaml

from fallwork.scenario.quantity import Kind, kinds, kinds_of_unit

TRIAL = "trial"  # the role of a column that says to which trial a row belongs
SOURCE = "source"  # the role of a column that says whether a row was measured or simulated
ROLES = ("time", "position", "velocity", "force")
_TAG = re.compile(r"\b(?:trial|run)[\s_]*(?:no\.?|number|#)?[\s_]*([0-9]+|[a-z])\b\s*[:,–-]?", re.I)
_BRACKETS = re.compile(r"(.*?)[\s_/,]*(?:\(([^()]*(?:\([^()]*\)[^()]*)*)\)|\[([^\[\]]*)\])")
_WORDED = re.compile(r"(.*?)(?:\s*/\s*|,\s*|\s+in\s+)(.+)")
_LAST_WORD = re.compile(r"(.*?)[\s_]+(\S+)")
_NUMBERED = re.compile(r"(.*?)[\s_]*([0-9]{1,3})")


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What a heading says; empty texts and None for what it doesn't say."""

    text: str
    role: str | None = None  # one of ROLES, TRIAL or SOURCE
    unit: str = ""  # as written
    trial: str = ""  # the name of the trial in it, e.g. "3"
    at: int = 0  # which column it stands over
    factor: float = 1.0  # SI units in one unit of the column


@cache
def _table() -> Mapping[str, Any]:
    text = files("fallwork.measurement").joinpath("headings.yaml").read_text("utf-8")
    table: Mapping[str, Any] = yaml.load(text, Loader=yaml.BaseLoader)
    return table


@cache
def known_words() -> Mapping[str, str]:
    """Every word for a role, and that role."""
    words = {role: row["words"] for role, row in _table()["roles"].items()}
    words |= {role: _table()[role] for role in (TRIAL, SOURCE)}
    return {word: role for role, every in words.items() for word in every}


def kind_of(role: str) -> Kind:
    """The kind of quantity of a role."""
    return kinds()[_table()["roles"][role]["kind"]]


def factor(role: str, unit: str) -> float | None:
    """SI units in one unit as written; None where the role has no such unit."""
    kind = kind_of(role)
    number = kind.factors.get(kind.spelling(_plain_unit(unit)) or "no unit")
    return None if number is None else float(number)


def _plain_unit(text: str) -> str:
    text = " ".join(text.replace("·", " ").replace("−", "-").split())
    if text.startswith("(") and text.endswith(")"):
        text = text[1:-1].strip()
    return str(_table()["units"].get(text.lower(), text))


def kinds_in(unit: str) -> tuple[Kind, ...]:
    """The kinds of quantity that are given in a unit as written; none for a text that is none."""
    plain = _plain_unit(unit)
    return kinds_of_unit(plain) if plain else ()


def role_of_unit(unit: str) -> str | None:
    """The role that alone is given in this unit."""
    found = kinds_in(unit)
    return next((role for role in ROLES if kind_of(role) in found), None)


def heading_of(text: str) -> Heading:
    """Reads e.g. ``t (s)``, ``Time [ms]``, ``position_m``, ``v / (cm/s)``, ``Run 2: x, mm``."""
    rest, trial = text.strip(), ""
    if tag := _TAG.search(text):
        before, after, trial = text[: tag.start()], text[tag.end() :], tag.group(1)
        if before.endswith("(") and after.startswith(")"):
            before, after = before[:-1], after[1:]
        rest = f"{before} {after}".strip(" _:,–-")
    name, unit = _name_and_unit(rest)
    if not name and unit:
        return Heading(text=text, role=role_of_unit(unit), unit=unit, trial=trial)
    role, number = _role_and_number(name)
    if not role or (number and trial):
        return Heading(text=text, trial=trial)
    return Heading(text=text, role=role, unit=unit, trial=trial or number)


def _role_and_number(name: str) -> tuple[str | None, str]:
    """The role that a name stands for, and the number of a trial behind it."""
    numbered = _NUMBERED.fullmatch(name)
    for word, number in ((name, ""), *([numbered.groups()] if numbered else [])):
        role = known_words().get(" ".join(re.sub(r"[_.\-]+", " ", word.lower()).split()))
        if role:
            return role, number
    return None, ""


def _name_and_unit(text: str) -> tuple[str, str]:
    """Name and unit; the unit is empty where none is recognised, by its form or its name."""
    if _role_and_number(text)[0]:
        return text, ""
    if brackets := _BRACKETS.fullmatch(text):
        name, inside = brackets.group(1), (brackets.group(2) or brackets.group(3) or "").strip()
        remark = not kinds_in(inside) and _BRACKETS.fullmatch(name)
        return _name_and_unit(name) if remark else (name, inside)
    for form in (_LAST_WORD, _WORDED):
        if (match := form.fullmatch(text)) and kinds_in(match.group(2)):
            name = match.group(1).strip(" _/,")
            if _role_and_number(name)[0]:
                return name, match.group(2).strip()
    match = _WORDED.fullmatch(text)
    return (match.group(1), match.group(2).strip()) if match else (text, "")
