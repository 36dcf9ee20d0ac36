"""Collects what is wrong in input files, and the wording that all of it shares.

Takes places and reasons, whose words are in ``refusals.yaml``; gives one BadInput with every
problem in file order.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from unicodedata import category

from fallwork.errors import BadInput, FallworkError, Place, Problem, table

_SHOWN_LENGTH = 40  # characters of a foreign text that a message repeats


class Malformed(Problem):
    """What stands there can't be read: not a number, not a known key, not YAML."""


class Impossible(Problem):
    """It can be read, but no such apparatus, run or date can be."""


@cache
def refusals() -> Mapping[str, Mapping[str, str]]:
    """Everything that is refused, by its reason; ``kind`` is the key of the kind of problem."""
    tables = table("scenario", "refusals").items()
    return {reason: {"kind": k, **row} for k, rows in tables for reason, row in rows.items()}


def refusal(reason: str, **names: object) -> tuple[str, str]:
    """The words of a refusal about these things: what was found, and what would be right."""
    row = refusals()[reason]
    return row["found"].format(**names), row["expected"].format(**names)


class Refusal(FallworkError):
    """Something that isn't what it should be, for a ``reason`` in the table of words. A text that
    can't be read raises it, and whoever has its node knows the place. What clashes, or stands for
    nothing, is found when all is read, and a number may stand in a scenario, in a term or on the
    command line: so it has the ``paths`` of the values, the likeliest culprit first.
    """

    def __init__(self, reason: str, *paths: tuple[str, ...], **names: object) -> None:
        super().__init__("; ".join(refusal(reason, **names)))
        self.reason, self.paths, self.names = reason, paths, names


def fits(pattern: str, reason: str) -> Callable[..., str]:
    """A check that gives back what fits a pattern, and refuses anything else for a ``reason``, in
    whose words may stand ``what`` it was to be.
    """

    def check(text: str, what: str = "") -> str:
        if re.fullmatch(pattern, text):
            return text
        raise Refusal(reason, text=shown(text), what=what)

    return check


def unknown(what: str, name: str, known: Sequence[str], otherwise: str = "") -> dict[str, str]:
    """What the refusal of an ``unknown`` name is about; ``what`` is the singular."""
    expected = meant(name, known, otherwise or all_known(what, known))
    return {"what": what, "name": shown(name), "expected": expected}


class Report(list[Problem]):
    """The problems of a set of files, gathered while they are read."""

    def refuse(self, place: Place, reason: str, **names: object) -> None:
        """Note something for a reason in the table of words."""
        kind = Impossible if refusals()[reason]["kind"] == "impossible" else Malformed
        self.append(kind(place, *refusal(reason, **names)))

    def sort_from(self, start: int) -> None:
        """Put the problems noted since ``start`` (those of one file) into the order of the file."""
        self[start:] = sorted(self[start:], key=lambda problem: problem.place)

    def raise_if_any(self) -> None:
        """Raise BadInput if anything was noted."""
        if self:
            raise BadInput(tuple(self))


def shown(text: str) -> str:
    """A foreign text as a message repeats it: quoted, on one line, invisible signs named."""
    signs = "".join(
        sign if sign == " " or category(sign)[0] not in "CZ" else f"<U+{ord(sign):04X}>"
        for sign in text[: _SHOWN_LENGTH + 1]
    )
    return f'"{signs}"' if len(text) <= _SHOWN_LENGTH else f'"{signs[: _SHOWN_LENGTH - 1]}…"'


def from_here(path: Path) -> Path:
    """A path as messages give it: from the current folder, where it is below that."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def holding(folder: Path, names: Iterable[str], nothing: str) -> str:
    """What a folder holds, for somebody who looks for something else in it."""
    found = sorted(names)
    return f"{folder} holds {', '.join(found[:8]) or nothing}{', …' if len(found) > 8 else ''}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words in a sentence: ``a, b and c``."""
    *most, final = [*words] or [""]
    return f"{', '.join(most)} {last} {final}" if most else final


def counted(number: int, noun: str) -> str:
    """``1 trial``, ``2 trials``."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def all_known(what: str, words: Sequence[str]) -> str:
    """``the objects are a and b``, with the right number; ``what`` is the singular."""
    if len(words) > 1:
        return f"the {what}s are {listed(words)}"
    return f"the only {what} is {words[0]}" if words else f"there is no {what} yet: add it"


def closest(word: str, words: Sequence[str]) -> str | None:
    """The known word that was probably meant, if there is one."""
    by_lower = {known.lower(): known for known in reversed(words)}
    near = get_close_matches(word.lower(), list(by_lower), n=1, cutoff=0.6)
    return by_lower[near[0]] if near else None


def meant(word: str, words: Sequence[str], otherwise: str) -> str:
    """``did you mean "mass"?`` where a known word is close; else ``otherwise``."""
    near = closest(word, words)
    return f'did you mean "{near}"?' if near else otherwise
