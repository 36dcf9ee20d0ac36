"""Set-ups in YAML with their answers by hand or as published; and what every run promises."""

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

import pytest
import yaml

from cases import cases as tables
from fallwork import mechanics, scenario
from fallwork.lesson.words import end_in_words, notes_of
from mechanics import kit, promises, scenes
from mechanics.kit import level_track, rig, wheel
from mechanics.promises import every_complaint, off_newton, unbalanced

HERE = Path(__file__).parent
FROM = tables(__file__, "from-scenario")
PARTS = ("cart", "pulley", "track")


def cases(file: Path, gravity: float) -> dict[str, tuple[mechanics.Apparatus, dict[str, Any]]]:
    """What a table in YAML says: each case's set-up, an expression in the terms of the kit or what
    ``rig`` takes, and its quantities by words, expressions too. ``terms`` are names of its own.
    """
    terms = {**vars(math), **vars(kit), "ZeroWork": mechanics.ZeroWork, "G": gravity}

    def value(given: Any) -> Any:
        if isinstance(given, dict):
            return {key: value(each) for key, each in given.items()}
        return eval(given, terms) if isinstance(given, str) else given

    def set_up(given: Any) -> mechanics.Apparatus:
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


def missed(
    set_up: mechanics.Apparatus, solution: mechanics.Solution, expected: Mapping[str, Any]
) -> dict[str, Any]:
    """What comes out otherwise: numbers to ``near`` of their size, zeros to ``least``, words."""
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


def found_in(set_up: mechanics.Apparatus, solution: mechanics.Solution, what: str) -> Any:
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
            found = mechanics.account(set_up, phase, keys[1:])
            return dict(found.energy_changes) if keys[0] == "changes" else getattr(found, keys[0])
    value = getattr(phase, name)
    for key in keys:
        value = value[key]
    return sorted(value) if isinstance(value, frozenset) else value


def bounds(phase: mechanics.Phase) -> dict[str, tuple[float | None, float | None]]:
    """What is undetermined -> its least and its greatest value."""
    found = {}
    for each in phase.undetermined:
        name = f"{each.interaction.value} of {each.partner}"
        name += f" on {each.on}" if each.on else ""
        name += " from {} to {}".format(*each.between) if each.between else ""
        found[name] = (each.low, each.high)
    return found


CASES = cases(HERE / "by-hand.yaml", kit.G)
CASES |= cases(HERE.parent / "published/motion.yaml", 9.80)


@pytest.mark.parametrize("case", CASES)
def test_the_answer_by_hand_comes_out(case):
    set_up, expected = CASES[case]
    if "refused" in expected:  # what only the solver finds out
        with pytest.raises(mechanics.ImpossibleApparatus) as refused:
            mechanics.solve(set_up)
        assert [str(refused.value)] == expected["refused"]
        return
    solution = mechanics.solve(set_up)
    assert missed(set_up, solution, expected) == {}
    assert every_complaint(set_up, solution) == []


# ---- from a scenario file
def read(folder: Path, **given: str) -> scenario.Scenario:
    file = folder / "test.yaml"
    file.write_text(FROM["set-up"].format(**{**dict.fromkeys(PARTS, ""), **given}), "utf-8")
    return scenario.load_scenario(file)


@pytest.mark.parametrize(("given", "expected"), FROM["rubs"])
def test_friction_and_inertia(given, expected, tmp_path):
    found = mechanics.Apparatus.of(read(tmp_path, **given), 9.81)
    body, wheel = found.bodies["cart"], found.pulleys["pulley"]
    assert [body.friction, body.static_friction, wheel.inertia] == expected


# ---- what every run promises
SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)
BRAKED = level_track(0.42, 0.08, distance=0.6, pulley=wheel(inertia=2e-5, bearing_torque=0.001))
ROLLING = level_track(0.42, 0.08, distance=0.6, wheel_mass=0.024)


@pytest.mark.parametrize("kind", scenes.KINDS)
def test_all_kinds_balance_and_obey_newton(kind, thorough):
    """5,200 set-ups over 13 kinds, a third of them with static friction of its own."""
    for seed in range(400 if thorough else 20):
        set_up = scenes.random_scene(kind, seed, static=seed % 3 == 0).apparatus
        assert every_complaint(set_up, mechanics.solve(set_up), seed) == [], f"seed {seed}"


@pytest.mark.parametrize("heavy", [0.05, 50.0, 1000.0])
def test_a_speck_between_heavy_carts_costs_no_digit(heavy, monkeypatch):
    """1 mg tied between carts of 50 g to 1 t: their pulls differ by the small force on it."""
    monkeypatch.setattr(promises, "GIVE", 1e-14)
    set_up = rig(
        *(f"cart rear {heavy}", "cart speck 1e-6", f"cart front {heavy}"),
        *("hanging weight 0.02", "fixed pulley", "track track"),
        coupling="rear speck",
        other="speck front",
        string="front pulley weight",
        run="weight distance=0.5",
    )
    solution = mechanics.solve(set_up)
    assert every_complaint(set_up, solution) == []
    pull = 0.02 * 9.80665 / (2 * heavy + 1e-6 + 0.02)  # m/s² of all, by hand
    tensions = solution.phases[0].tensions
    assert tensions["coupling"]["rear"] == pytest.approx(heavy * pull, rel=1e-14)
    assert tensions["other"]["front"] == pytest.approx((heavy + 1e-6) * pull, rel=1e-14)


# ---- planted faults are noticed
TWO_TO_ONE = rig(
    *("cart cart 0.5", "fixed fixed", "moving lower mass=0.02", "track track", "anchor hook"),
    "hanging load 0.3 hangs_from=lower",
    string="cart fixed lower hook",
    run="load distance=0.4",
)


def changed(
    solution: mechanics.Solution, name: str, field: str, factor: float | None
) -> mechanics.Solution:
    """With one force of the first phase changed, or with the work that a particle would have."""
    first, *others = solution.phases
    (force,) = (each for each in first.forces if each.name == name)
    old: Any = getattr(force, field)
    new = tuple(factor * x for x in old) if isinstance(old, tuple) else (factor or 0.0) * old
    if factor is None:
        new = force.vector[0] * first.displacements[force.on]
    assert new != old
    spoilt = replace(force, reason=None if new else force.reason, **{field: new})
    forces = tuple(spoilt if each is force else each for each in first.forces)
    return replace(solution, phases=(replace(first, forces=forces), *others))


@pytest.mark.parametrize(
    ("set_up", "name", "field", "factor", "noticed"),  # by energies, by Newton's laws
    [
        *(
            (SAMPLE, force.name, "work", 1.001, (True, False))
            for force in mechanics.solve(SAMPLE).phases[0].forces
            if force.work
        ),
        (SAMPLE, "normal of track on cart", "vector", 1.001, (False, True)),
        (TWO_TO_ONE, "tension of hook on string", "vector", -1.0, (False, True)),
        (BRAKED, "contact of pulley on string", "work", 0.0, (True, False)),
        (BRAKED, "bearing torque of bench on pulley", "torque", 1.01, (False, True)),
        (ROLLING, "rolling of track on cart", "work", None, (True, False)),
    ],
)
def test_a_wrong_force_torque_or_work_is_noticed(set_up, name, field, factor, noticed):
    solution = mechanics.solve(set_up)
    fault = changed(solution, name, field, factor)
    assert unbalanced(set_up, solution) == off_newton(set_up, solution) == []
    assert (unbalanced(set_up, fault) != [], off_newton(set_up, fault) != []) == noticed
