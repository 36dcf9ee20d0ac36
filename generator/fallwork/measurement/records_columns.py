"""Which column of a table holds what, for which trial.

Takes the table of a file; gives a layout, and reports headings that can't be understood. What was
assumed goes to the table's notes. Which words are known is in ``headings.yaml``; units are those of
the scenario stage's table. Reading the numbers is left to ``records``.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from fallwork.errors import table as words_of
from fallwork.measurement.records_text import RecordTable, Row, is_number, refused
from fallwork.scenario.quantity import Kind, kinds, kinds_of_unit
from fallwork.scenario.report import closest, listed, shown

TRIAL = "trial"  # the role of a column that says to which trial a row belongs
SOURCE = "source"  # the role of a column that says whether a row was measured or simulated
ROLES = ("time", "position", "velocity", "force")
EXAMPLE = 'a line such as "t (s),v (m/s),F (N)" above the numbers'
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


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the rows of a table are to be read."""

    heading: Row
    rows: Sequence[Row]  # below headings and units
    trials: Mapping[str, Sequence[Heading]]  # "" where no heading names one; time first
    trial_column: int | None
    source_columns: Sequence[int]  # which say whether a row was measured or simulated


@cache
def known_words() -> Mapping[str, str]:
    """Every word for a role, and that role."""
    said = words_of("measurement", "headings")
    every = {role: row["words"] for role, row in said["roles"].items()}
    every |= {role: said[role] for role in (TRIAL, SOURCE)}
    return {word: role for role, words in every.items() for word in words}


def _kind_of(role: str) -> Kind:
    return kinds()[words_of("measurement", "headings")["roles"][role]["kind"]]


def factor(role: str, unit: str) -> float | None:
    """SI units in one unit as written; None where the role has no such unit."""
    kind = _kind_of(role)
    number = kind.factors.get(kind.spelling(_plain_unit(unit)) or "no unit")
    return None if number is None else float(number)


def _plain_unit(text: str) -> str:
    text = " ".join(text.replace("·", " ").replace("−", "-").split())
    if text.startswith("(") and text.endswith(")"):
        text = text[1:-1].strip()
    return str(words_of("measurement", "headings")["units"].get(text.lower(), text))


def _kinds_in(unit: str) -> tuple[Kind, ...]:
    plain = _plain_unit(unit)
    return kinds_of_unit(plain) if plain else ()


def _role_of_unit(unit: str) -> str | None:
    found = _kinds_in(unit)
    return next((role for role in ROLES if _kind_of(role) in found), None)


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
        return Heading(text=text, role=_role_of_unit(unit), unit=unit, trial=trial)
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
        remark = not _kinds_in(inside) and _BRACKETS.fullmatch(name)
        return _name_and_unit(name) if remark else (name, inside)
    for form in (_LAST_WORD, _WORDED):
        if (match := form.fullmatch(text)) and _kinds_in(match.group(2)):
            name = match.group(1).strip(" _/,")
            if _role_and_number(name)[0]:
                return name, match.group(2).strip()
    match = _WORDED.fullmatch(text)
    return (match.group(1), match.group(2).strip()) if match else (text, "")


def layout_of(table: RecordTable) -> Layout:
    """The layout of a table; raises BadInput."""
    at, first = _lines(table)
    names, headings = table.rows[at], _headings(table, at, first)
    columns = [_scaled(each, names, table) for each in headings if each.role in ROLES]
    table.report.raise_if_any()
    trials = _trials(columns, [each.text for each in headings if not each.role], names, table)
    naming = [each.at for each in headings if each.role == TRIAL]
    if len(naming) > 1 or (naming and len(trials) > 1):
        table.refuse("trials-named-twice", names)
    table.report.raise_if_any()
    return Layout(
        heading=names,
        rows=table.rows[first:],
        trials=trials,
        trial_column=naming[0] if naming else None,
        source_columns=[each.at for each in headings if each.role == SOURCE],
    )


def _lines(table: RecordTable) -> tuple[int, int]:
    """Which row holds the headings, and which the first numbers; raises BadInput."""
    rows = table.rows
    first = next((at for at, row in enumerate(rows) if sum(map(is_number, row.cells)) >= 2), None)
    if not first:
        reason = "no-numbers" if first is None else "no-headings"
        raise refused(table.place(rows[0]), reason, example=EXAMPLE)
    said = [sum(heading_of(cell).role is not None for cell in row.cells) for row in rows[:first]]
    names = max(range(first), key=lambda at: (said[at], at))
    if said[names] == 0:
        words = [cell for cell in rows[first - 1].cells if cell]
        headings, hint = listed(map(shown, words)), _suggestion(words) or f"write {EXAMPLE}"
        place = table.place(rows[first - 1])
        raise refused(place, "no-heading-known", headings=headings, hint=hint)
    below = names + 1
    if below < first:
        cells = [cell.strip("()[] ") for cell in rows[below].cells if cell]
        below += bool(cells) and all(map(_kinds_in, cells))  # units
    if below < first:
        raise refused(table.place(rows[below]), "line-of-nothing")
    return names, first


def _suggestion(headings: Sequence[str]) -> str:
    """``did you mean …`` for the first heading that is close to a known word."""
    known = [word for word in known_words() if len(word) > 1]
    for heading in headings:
        word = heading.split("(")[0].split("[")[0].strip()
        if near := closest(word, known) if len(word) > 2 else None:
            return f"did you mean {shown(near)} by {shown(heading)}?"
    return ""


def _headings(table: RecordTable, at: int, first: int) -> list[Heading]:
    """What its line, the units below and the trials above say of each column; notes the rest."""
    rows, nothing = table.rows, Row(0, "", ())
    units = rows[at + 1] if at + 1 < first else nothing
    titled = at > 0 and any(heading_of(cell).trial for cell in rows[at - 1].cells)
    titles = rows[at - 1] if titled else nothing
    if lines := [row.line for row in rows[: at - titled]]:
        key = "lines-above" if len(lines) > 1 else "line-above"
        table.note(key, first=lines[0], last=lines[-1])
    trial, headings = "", []
    for column, cell in enumerate(rows[at].cells):
        heading = heading_of(cell)
        trial = heading_of(titles.cell(column)).trial or trial
        unit = heading.unit or units.cell(column).strip("()[] ")
        headings.append(replace(heading, at=column, unit=unit, trial=heading.trial or trial))
    if unknown := [shown(each.text) for each in headings if each.text and not each.role]:
        table.note("unknown-columns", s="s"[: len(unknown) - 1], columns=listed(unknown))
    return headings


def _scaled(heading: Heading, names: Row, table: RecordTable) -> Heading:
    """The heading with the factor of its unit; reports a unit that can't be."""
    role, unit, text = heading.role or "", heading.unit, shown(heading.text)
    kind = _kind_of(role)
    scale = factor(role, unit or kind.si_unit)
    if scale is None:
        others, near = kinds_of_unit(unit), closest(unit, [*kind.factors])
        is_of = f"{shown(unit)} is the unit of {others[0].say}" if others else ""
        table.refuse(
            *("unit-of-heading", names, heading.at),
            found=is_of or f"unknown unit {shown(unit)}",
            heading=text,
            hint=f"did you mean {near}? " if near and not others else "",
            what=kind.say,
            units=listed(kind.factors, "or"),
        )
    elif not unit:
        table.note("no-unit", heading=text, unit=kind.si_unit)
    elif _role_of_unit(heading.text.strip("()[] ")):
        table.note("unit-alone", heading=text, role=role)
    return replace(heading, factor=scale or 1.0)


def _trials(
    columns: Sequence[Heading], unknown: Sequence[str], names: Row, table: RecordTable
) -> dict[str, list[Heading]]:
    """Columns by trial: a time without one belongs to all; headings that repeat are numbered."""
    roles, texts = {column.role for column in columns}, [column.text for column in columns]
    if "time" not in roles or len(roles) == 1:
        timed = "time" in roles
        what = "position, velocity or force" if timed else "the time"
        example = f'head one e.g. "{"v (m/s)" if timed else "t (s)"}"'
        table.refuse("no-column", names, what=what, hint=_suggestion(unknown) or example)
        return {}
    if not any(column.trial for column in columns) and len({*texts}) < len(texts):
        table.note("headings-repeat")
        columns = [
            column
            if column.role == "time" and texts.count(column.text) == 1
            else replace(column, trial=str(texts[: at + 1].count(column.text)))
            for at, column in enumerate(columns)
        ]
    trials = {}
    for trial in dict.fromkeys(c.trial for c in columns if c.role != "time" or c.trial):
        own = [column for column in columns if column.trial == trial]
        if not any(column.role == "time" for column in own):
            own += [column for column in columns if column.role == "time" and not column.trial]
        trials[trial] = sorted(own, key=lambda column: (column.role != "time", column.at))
    for trial, own in trials.items():
        _check(trial, own, len(trials) > 1, names, table)
    if len(trials) > 1:
        table.note("side-by-side", trials=listed(trials))
    return trials


def _check(trial: str, own: Sequence[Heading], several: bool, row: Row, table: RecordTable) -> None:
    """Report what a trial has too many of, or no time for."""
    if several and not trial:
        words = listed(shown(column.text) for column in own if column.role != "time")
        table.refuse("heading-without-trial", row, headings=words)
        return
    where = f" of trial {trial}" if several else ""
    for role in ROLES:
        same = [shown(column.text) for column in own if column.role == role]
        if len(same) > 1:
            words, count = listed(same), len(same)
            reason = "column-twice"
            table.refuse(reason, row, count=count, role=role, where=where, headings=words)
        elif not same and role == "time":
            table.refuse("no-column", row, what=f"the time{where}", hint="add it")
