"""What the solver finds of a run, in words for whoever reads the key: endings, reasons, notes.

Takes the solver's data and how things are called; gives parts of sentences and sentences.
"""

from collections.abc import Callable, Iterator

from fallwork.lesson.words import say, sentence
from fallwork.mechanics.solution import (
    End,
    Ending,
    Interaction,
    Solution,
    Undetermined,
    ZeroWork,
)

FILE = "run"
Call = Callable[[str], str]  # the noun of a thing, with or without its article


def end_in_words(end: End | None, call: Call) -> str:
    """What ends a phase as a clause, e.g. ``the weight lands``; "" where nothing does."""
    if end is None:
        return ""
    subject = call(end.subject) if end.subject else ""
    return _said(f"ends.{end.ending.value}", the_subject=subject, at=_at(end, call))


def _at(end: End, call: Call) -> str:
    if end.ending is not Ending.REACHES or end.at is None:
        return ""
    if end.side == 0:
        return call(end.at)
    return _said("ends.at.front" if end.side > 0 else "ends.at.back", the_surface=call(end.at))


def reason_in_words(reason: ZeroWork | None) -> str:
    """Why a force does no work."""
    return sentence(f"zero-work.{reason.value}", FILE) if reason else ""


def notes_of(solution: Solution, call: Call) -> tuple[str, ...]:
    """What the key says about a run besides its numbers, each note once."""
    return tuple(dict.fromkeys((*_of_run(solution, call), *_of_phases(solution, call))))


def _of_run(solution: Solution, call: Call) -> Iterator[str]:
    """Where it is followed no further, and what is taken for granted."""
    if solution.until is not None:
        ends = end_in_words(solution.until, call)
        if solution.jerked is not None:
            ends = _said("notes.jerk", ends=ends, the_string=call(solution.jerked))
        yield _said("notes.until", ends=ends)
    elif solution.moves and solution.phases[-1].ends is None:
        yield _said("notes.endless", phase=solution.phases[-1].name)
    for string in solution.gripped:
        yield _said("notes.gripped", the_string=call(string))


def _of_phases(solution: Solution, call: Call) -> Iterator[str]:
    """What the set-up leaves open."""
    for phase in solution.phases:
        yield from (_open(each, call) for each in phase.undetermined)
        yield from (_said("notes.adrift", the_object=call(name)) for name in phase.adrift)


def _open(each: Undetermined, call: Call) -> str:
    key = "open-friction" if each.interaction is Interaction.FRICTION else "open"
    return _said(f"notes.{key}", force=_force(each, call), range=_range(each))


def _force(each: Undetermined, call: Call) -> str:
    if each.on is not None:
        kind, partner = each.interaction.value, call(each.partner)
        return _said("notes.force", kind=kind, the_partner=partner, the_object=call(each.on))
    if each.between is None:
        return _said("notes.tension", the_string=call(each.partner))
    first, last = (call(name) for name in each.between)
    return _said(
        "notes.tension-between", the_string=call(each.partner), the_first=first, the_last=last
    )


def _range(each: Undetermined) -> str:
    unit = "N·m" if each.interaction is Interaction.BEARING_TORQUE else "N"
    low, high = (
        "" if x is None else f"{x:.4g} {unit}".replace("-", "−") for x in (each.low, each.high)
    )
    key = {(True, True): "between", (True, False): "above", (False, True): "below"}
    return _said(f"notes.{key.get((bool(low), bool(high)), 'any')}", low=low, high=high)


def _said(key: str, **parts: str) -> str:
    return say(key, FILE, **parts)
