"""Edges of the model, different rates, reasons, and what is left open, with answers by hand; and
published numbers of level tracks, inclines, pulleys, pushes and falls (``published/motion.yaml``).

Tables of set-ups with their answers in YAML, and what a run comes to by words; in SI units. At the
end, from a scenario file to the apparatus that is solved.
"""

import math
from collections.abc import Mapping
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from cases import cases as tables
from fallwork.lesson.words import end_in_words, notes_of
from fallwork.measurement.prediction import with_values
from fallwork.mechanics import (
    Apparatus,
    ImpossibleApparatus,
    Phase,
    Solution,
    ZeroWork,
    account,
    solve,
)
from fallwork.mechanics.apparatus import Body, Pulley, Run, String, Surface
from fallwork.scenario import Scenario, load_scenario
from mechanics import kit
from mechanics.promises import every_complaint

HERE = Path(__file__).parent
FROM = tables(__file__, "from-scenario")
PARTS = ("cart", "pulley", "more", "track", "strings")


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
    found = {what: found_in(set_up, solution, what) for what in given}
    return {what: each for what, each in found.items() if not agree(each, given[what])}


def _agree(found: Any, wanted: Any, **near: float) -> bool:
    if isinstance(wanted, dict):
        wanted, found = sorted(wanted.items()), sorted(found.items())
    if isinstance(wanted, tuple | list):
        return len(found) == len(wanted) and all(map(partial(_agree, **near), found, wanted))
    if isinstance(wanted, float):
        return found is not None and math.isclose(found, wanted, **near)
    return bool(found == wanted)


def found_in(set_up: Apparatus, solution: Solution, what: str) -> Any:
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


CASES = cases(HERE / "by-hand.yaml", kit.STANDARD_GRAVITY)
CASES |= cases(HERE.parent / "published/motion.yaml", 9.80)


@pytest.mark.parametrize("case", CASES)
def test_the_answer_by_hand_comes_out(case):
    set_up, expected = CASES[case]
    if "refused" in expected:  # what only the solver finds out
        with pytest.raises(ImpossibleApparatus) as refused:
            solve(set_up)
        assert [str(refused.value)] == expected["refused"]
        return
    solution = solve(set_up)
    assert missed(set_up, solution, expected) == {}
    assert every_complaint(set_up, solution) == []


# ---- from a scenario file


def read(folder: Path, **given: str) -> Scenario:
    file = folder / "test.yaml"
    file.write_text(FROM["set-up"].format(**{**dict.fromkeys(PARTS, ""), **given}), "utf-8")
    return load_scenario(file)


def test_a_whole_scenario(tmp_path):
    more = "hook: {kind: anchor}\n  lower: {kind: moving pulley}\n"
    more += "  load: {kind: hanging, mass: 0.2 kg, hangs_from: lower}"
    line, wheels = ", line: [weight, lower, hook]", ", wheels: {count: 4, mass: 6 g}"
    cart = {"name": "cart", "kind": "cart", "mass": 0.42, "surface": "track", "starts_at": 0.25}
    load = Body(name="load", kind="hanging", mass=0.2, hangs_from="lower")
    found = Apparatus.of(read(tmp_path, more=more, strings=line, cart=wheels), 9.81)
    assert vars(found) == {
        "bodies": {
            "cart": Body(**cart, friction=0.008, wheel_mass=pytest.approx(0.024)),
            "weight": Body(name="weight", kind="hanging", mass=0.08),
            "load": load,
        },
        "pulleys": {"pulley": Pulley(name="pulley"), "lower": Pulley(name="lower", moving=True)},
        "anchors": ("hook",),
        "surfaces": {"track": Surface(name="track", slope=0.1)},
        "strings": {
            "string": String(name="string", path=("cart", "pulley", "weight")),
            "line": String(name="line", path=("weight", "lower", "hook")),
        },
        "run": Run(object="weight", distance=0.6, speed=-0.3),
        "gravity": 9.81,
    }


@pytest.mark.parametrize(("given", "expected"), FROM["rubs"])
def test_friction_and_inertia(given, expected, tmp_path):
    found = Apparatus.of(read(tmp_path, **given), 9.81)
    body, wheel = found.bodies["cart"], found.pulleys["pulley"]
    assert [body.friction, body.static_friction, wheel.inertia] == expected


def test_values_may_be_arrays_of_many_cases(tmp_path):
    given = {"cart": ", friction: 0.1", "track": ", static_friction: 0.15"}
    scenario = read(tmp_path, pulley=", radius: 2 cm, bearing_torque: 1 mN m", **given)
    many = np.array([0.1, 0.2])
    values = {"cart.friction": many, "pulley.bearing_torque": many / 100}
    found = Apparatus.of(with_values(scenario, values), 9.81)
    assert list(found.pulleys["pulley"].bearing_torque) == [0.001, 0.002]
    assert list(found.bodies["cart"].static_friction) == [0.15, 0.2]
