"""Edges of the model, different rates, reasons, and what is left open, with answers by hand; and
published numbers of level tracks, inclines, pulleys, pushes and falls (``published/motion.yaml``).

Tables of set-ups with their answers in YAML, and what a run comes to by words; in SI units.
"""

import math
from collections.abc import Mapping
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

import pytest
import yaml

from fallwork.lesson.words import end_in_words, notes_of
from fallwork.mechanics import (
    Apparatus,
    ImpossibleApparatus,
    Phase,
    Solution,
    ZeroWork,
    account,
    solve,
)
from mechanics import kit
from mechanics.promises import every_complaint


def cases(file: Path, gravity: float) -> dict[str, tuple[Apparatus, dict[str, Any]]]:
    """What a table in YAML says: each case's set-up and its quantities by words.

    A set-up is an expression in the terms of the kit, or what ``rig`` takes, the things under
    ``of``; a number is an expression too, in which G is ``gravity``; lists are words. ``terms``
    are names for what several cases share.
    """
    terms = {**vars(math), **vars(kit), "ZeroWork": ZeroWork, "G": gravity}

    def value(given: Any) -> Any:
        if isinstance(given, dict):
            return {key: value(each) for key, each in given.items()}
        return eval(given, terms) if isinstance(given, str) else given

    def set_up(given: Any) -> Apparatus:
        if isinstance(given, str):
            return eval(given, terms)
        groups = ([each] if isinstance(each, str) else each for each in given["of"])
        more = {key: words for key, words in given.items() if key != "of"}
        return kit.rig(*chain.from_iterable(groups), **{"gravity": gravity, **more})

    table = yaml.safe_load(file.read_text("utf-8"))
    for name, each in table.pop("terms", {}).items():
        terms[name] = value(each)
    return {
        name: (set_up(case.pop("set-up")), {what: value(each) for what, each in case.items()})
        for name, case in table.items()
    }


def missed(set_up: Apparatus, solution: Solution, expected: Mapping[str, Any]) -> dict[str, Any]:
    """What comes out otherwise than expected: numbers to within ``near`` of their size, zeros to
    within ``least``, and words exactly.
    """
    given = {"near": 1e-9, "least": 0.0, **expected}
    agree = partial(_agree, rel_tol=given.pop("near"), abs_tol=given.pop("least"))
    found = {what: read(set_up, solution, what) for what in given}
    return {what: each for what, each in found.items() if not agree(each, given[what])}


def _agree(found: Any, wanted: Any, **near: float) -> bool:
    if isinstance(wanted, dict):
        wanted, found = sorted(wanted.items()), sorted(found.items())
    if isinstance(wanted, tuple | list):
        return len(found) == len(wanted) and all(map(partial(_agree, **near), found, wanted))
    if isinstance(wanted, float):
        return found is not None and math.isclose(found, wanted, **near)
    return bool(found == wanted)


def read(set_up: Apparatus, solution: Solution, what: str) -> Any:
    """A quantity by words: of the first phase unless the number of another stands first."""
    number, words = (int(what[0]), what[2:]) if what[0].isdigit() else (0, what)
    phase, (name, *keys) = solution.phases[number], words.split()
    match name:
        case "ends":
            ends = ((each.name, end_in_words(each.ends, str)) for each in solution.phases)
            return [f"{name}: {end or 'nothing'}" for name, end in ends]
        case "notes":  # what the key says of the run, with the names as the set-up has them
            return list(notes_of(solution, str))
        case "moves":
            return solution.moves
        case "work" | "size" | "reason" | "vector" | "torque":
            (found,) = (each for each in phase.forces if each.name == " ".join(keys))
            return getattr(found, name)
        case "bounds":
            return bounds(phase)[" ".join(keys)]
        case "account":  # a property of the account of the members named after it
            found = account(set_up, phase, keys[1:])
            return dict(found.energy_changes) if keys[0] == "changes" else getattr(found, keys[0])
    value = getattr(phase, name)
    for key in keys:
        value = value[key]
    return sorted(value) if isinstance(value, frozenset) else value


def bounds(phase: Phase) -> dict[str, tuple[float | None, float | None]]:
    """What is undetermined -> its least and its greatest value."""
    found = {}
    for each in phase.undetermined:
        name = f"{each.interaction.value} of {each.partner}"
        name += f" on {each.on}" if each.on else ""
        name += " from {} to {}".format(*each.between) if each.between else ""
        found[name] = (each.low, each.high)
    return found


HERE = Path(__file__).parent
CASES = cases(HERE / "by-hand.yaml", kit.STANDARD_GRAVITY)
CASES |= cases(HERE.parent / "published/motion.yaml", 9.80)


@pytest.mark.parametrize("case", CASES)
def test_the_answer_by_hand_comes_out(case: str) -> None:
    set_up, expected = CASES[case]
    if "refused" in expected:  # what only the solver finds out
        with pytest.raises(ImpossibleApparatus) as refused:
            solve(set_up)
        assert [str(refused.value)] == expected["refused"]
        return
    solution = solve(set_up)
    assert missed(set_up, solution, expected) == {}
    assert every_complaint(set_up, solution) == []
