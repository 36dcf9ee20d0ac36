"""What the solver finds of a run, in words for whoever reads the key: endings, reasons, notes.

Takes the solver's data and how things are called; gives parts of sentences and sentences.
"""

from collections.abc import Callable

from fallwork.lesson.words import told
from fallwork.mechanics.solution import End, Solution, ZeroWork

Call = Callable[[str], str]  # the noun of a thing, with or without its article


def end_in_words(end: End | None, call: Call) -> str:
    """What ends a phase as a clause, e.g. ``the weight lands``; "" where nothing does."""
    return "".join(told("run", "ends", end, call)) if end else ""


def reason_in_words(reason: ZeroWork | None) -> str:
    """Why a force does no work."""
    return "".join(told("run", "reason", reason)) if reason else ""


def notes_of(solution: Solution, call: Call) -> tuple[str, ...]:
    """What the key says about a run besides its numbers, each note once."""
    return tuple(dict.fromkeys(told("run", "notes", solution, call)))
