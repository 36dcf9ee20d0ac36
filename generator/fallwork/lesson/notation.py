"""A lesson in the notation of its course, and whether that can be: each letter with one meaning.

Takes what a lesson is made of, in the letters of the table ``texts/symbols.yaml``; gives the same
in those of the course. Only what is read changes: ids stay.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.symbols import fixed_marks
from fallwork.lesson.stepfiles import check_words
from fallwork.lesson.words import texts
from fallwork.scenario import Course
from fallwork.scenario.notation import LETTERS, NUMBER, USUAL, Notation
from fallwork.scenario.report import Report, shown

T = TypeVar("T")
_FITS = {"f": "k", "K": "k", "U": "g"}  # subscripts of others that fit them
_KINDS = ("k", "s", "max")  # of friction; the first one is left out beside any of them


def noted(part: T, notation: Notation) -> T:
    """A part of a lesson with its symbols in the letters of a notation."""
    found: Any = part
    if notation == USUAL:
        return part
    if type(found) is tuple:
        found = tuple(noted(each, notation) for each in found)
    elif isinstance(found, Mapping):
        found = {key: noted(each, notation) for key, each in found.items()}
    elif isinstance(found, Symbol):
        before, _, usual = found.letter.rpartition(" ")
        letter, own = notation.letters.get(usual, (usual, ""))
        marks = [notation.mark(mark) for mark in found.subscript.split(",")]
        own = "" if own == _KINDS[0] and marks[0] in _KINDS else own
        letter = notation.number if usual == NUMBER else letter
        found = replace(
            found,
            letter=f"{before} {letter}".strip(),
            subscript=",".join(filter(None, (own, *marks))),
            meaning=notation.worded(found.meaning),
        )
    elif is_dataclass(found) and not isinstance(found, type):
        names = (each.name for each in fields(found))
        found = replace(found, **{n: noted(getattr(found, n), notation) for n in names})
    return found  # type: ignore[no-any-return]


def check_notation(course: Course) -> None:
    """Raises BadInput where a letter of the course's notation stands for something else too, and
    where its own files of words can't stand.
    """
    report, notation = Report(), course.notation
    for usual, (letter, mark) in notation.letters.items():
        key = LETTERS[usual]
        at, about = course.places[f"notation.{key}"], {"letter": shown(getattr(notation, key))}
        fixed = {m: said for m, said in fixed_marks().items() if m not in (usual, _FITS.get(usual))}
        if other := next(_others(usual, letter, mark, notation), ""):
            report.refuse(at, "letter-taken", **about, other=other)
        elif mark in fixed:
            report.refuse(at, "mark-taken", **about, mark=shown(mark), other=fixed[mark])
    report.raise_if_any()
    check_words(notation.words)


def _others(usual: str, letter: str, mark: str, notation: Notation) -> Iterator[str]:
    """What else has this letter, which with subscripts may be that of several in one unit."""
    table = texts("symbols")
    rows = [*table["given"].values(), *table["quantities"].values()]
    rows += [{"letter": own, **row} for own, row in table["others"].items()]
    units = {row["letter"].split()[-1]: row.get("unit") for row in rows}
    for row in rows:
        other = row["letter"].split()[-1]
        its = notation.letters.get(other, (other if other != NUMBER else notation.number, ""))
        alike = its == (letter, mark) or (its[0] == letter and units[other] != units[usual])
        if other != usual and alike:
            yield re.sub(" ?(of|on|between|up to|in which)? {.*", "", row["meaning"])
