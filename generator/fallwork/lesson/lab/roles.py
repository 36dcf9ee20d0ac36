"""Roles: what the conditions, the words and the letters that files use stand for in a set-up.

Takes a lab; gives them by name: m1 for the mass of the first object on a surface, and so on. What
the set-up hasn't got is missing.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression
from fallwork.lesson.trees import ZERO, total
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Force, Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base

Letters = dict[str, Operand]


def conditions_of(lab: "Base") -> Mapping[str, object]:
    """Every condition that the files ask for, with what tells whether it holds."""
    moves, heavy = lab.moves, is_heavy(lab)
    falling = lab.driver is not None and moves
    slopes = {bool(lab.slope_rad(name)) for name in lab.sliders if not lab.upright(name)}
    plain = moves and lab.is_plain and lab.moves_freely
    rotors = [lab.pulleys[name] for name in lab.rotors]
    return {
        "numbers": lab.numbers,
        "moves": moves,
        "rest": not moves,
        "friction": lab.rubs,
        "rolls": lab.rubs and all(map(lab.rolls, lab.sliders)),
        "static": not moves and lab.frictions,
        "slider": lab.sliders,
        "hanging": lab.hanging,
        "level": slopes == {False},
        "slope": True in slopes,
        "falling": falling,
        "rising": moves and not falling and lab.hanging,
        "plain": plain,
        "pair": moves and lab.is_pair,
        "rotor": moves and rotors,
        "parted": not all(map(lab.one_tension, lab.taut)),
        "inertia": any(bool(pulley.inertia) for pulley in rotors),
        "brake": any(bool(pulley.bearing_torque) for pulley in rotors),
        "pulley": any(not pulley.moving for pulley in lab.pulleys.values()),
        "ideal": lab.pulleys and not rotors,
        "heavy": heavy,
        "disc": heavy and not lab.inertia(lab.rotors[0]).given,
        "drag": heavy and rotors[0].bearing_torque,
        "train": is_train(lab),
        "lift": is_lift(lab),
        "wheels": lab.wheeled,
        "tied": lab.tied and moves,
        "free": moves and not lab.tied,
        "from_rest": moves and not lab.starts_moving and not lab.constant,
        "push": lab.starts_moving,
        "turns": lab.turns and not lab.rests_at_end,
        "back": len(lab.driven) > 1,
        "returns": moves and (len(lab.driven) > 1 or lab.turns_within),
        "distance": moves and lab.ends_by_distance,
        "lands": lab.has_landing,
        "strings": lab.apparatus.strings,
        "two": len(lab.movers) == 2,
        "several_strings": len(lab.apparatus.strings) > 1,
        "measured_pull": plain,
    }


def is_heavy(lab: "Base") -> bool:
    """A cart and a weight over one pulley that takes a torque to turn."""
    counts = len(lab.sliders), len(lab.hanging), len(lab.pulleys)
    alone = counts == (1, 1, 1) and not lab.givers
    return lab.moves and lab.tied and alone and len(lab.rotors) == 1


def is_train(lab: "Base") -> bool:
    """Two carts, coupled, and a weight that comes down."""
    counts = len(lab.sliders), len(lab.hanging), len(lab.apparatus.strings)
    ideal = not lab.rotors and not lab.wheeled and not lab.givers
    return lab.moves and lab.same_pace and counts == (2, 1, 2) and ideal


def is_lift(lab: "Base") -> bool:
    """A cart on a level track and a load on one moving pulley, the string tied to the bench."""
    counts = len(lab.sliders), len(lab.lifts), len(lab.apparatus.strings)
    one = counts == (1, 1, 1) and not (lab.rotors or lab.givers)
    one = one and set(lab.hanging) == set(lab.carried)
    return lab.moves and lab.tied and one and bool(lab.hanging)


def words_of(lab: "Base") -> dict[str, str | Symbol]:
    """Objects with their articles, and two letters."""
    words: dict[str, str | Symbol] = {"g": lab.gravity}
    if lab.moves and lab.tied:
        words["a"] = lab.acceleration
    if lab.sliders:
        words["the_slider"] = lab.the(lab.slider)
        words["slider"] = lab.scenario.nouns.noun(lab.slider)
        words["what_rubs"] = listing([lab.the(name) for name in (*lab.frictions, lab.surface)])
        words["the_surface"] = lab.the(lab.surface)
    if lab.hanging:
        words["the_weight"] = lab.the(lab.driver or lab.weight)
    turning = [*lab.rotors, *lab.lifts]
    if turning:
        words["the_pulley"] = lab.the(turning[0])
    return words


def letters_of(lab: "Base") -> Mapping[str, Expression]:
    """The trees for the letters of formulas."""
    found: Letters = {"g": lab.gravity}
    if lab.tied and lab.moves:
        found |= {"a": lab.acceleration, "d": lab.distance, "t": lab.time, "v": lab.speed}
    if lab.starts_moving:
        found["v0"] = lab.start_speed
    for kind, letters in (
        (lab.hanging and lab.sliders, _pulled),
        (lab.is_pair, _of_pair),
        (is_heavy(lab), _heavy),
        (is_train(lab), _of_train),
        (is_lift(lab), _of_lift),
        (not lab.moves and lab.frictions, _static),
    ):
        found |= letters(lab) if kind else {}
    return {letter: as_expression(tree) for letter, tree in found.items()}


def _pulled(lab: "Base") -> Letters:
    """The first object on a surface, the weight, their friction, works and energies."""
    slider, weight = lab.slider, lab.weight
    found: Letters = {"m1": lab.mass(slider), "m2": lab.mass(weight)}
    found |= {"mu": ZERO, "f": ZERO, "th": ZERO}
    found |= {"K1": lab.kinetic(slider), "U": lab.potential_change(weight)}
    pull = lab.force(Interaction.TENSION, slider)
    if pull and not lab.open_forces:
        found |= {"T": lab.tension(pull.partner, slider), **_work(lab, "W_T", pull)}
    rubbing = lab.force(Interaction.FRICTION, slider)
    if slider in lab.frictions and rubbing:
        found |= {"mu": lab.coefficient(slider), "f": lab.frictions[slider]}
        found |= _work(lab, "W_f", rubbing)
        if lab.has_landing:
            found |= {"s": lab.coasting_distance, "ac": lab.coasting_acceleration}
    if lab.slope_rad(slider):
        found |= {"th": lab.slope(lab.surface), "U1": lab.potential_change(slider)}
    return found


def _work(lab: "Base", letter: str, force: Force) -> Letters:
    return {letter: lab.work(force)} if force.work else {}


def _of_pair(lab: "Base") -> Letters:
    """Two hanging weights: m1 goes up, m2 comes down."""
    up, *more = sorted(lab.hanging, key=lambda name: lab.ways[name])
    if lab.ways[up] > 0 or lab.ways[more[0]] < 0:
        return {}
    found: Letters = {"m1": lab.mass(up), "m2": lab.mass(more[0])}
    found |= {"U1": lab.potential_change(up), "U": lab.potential_change(more[0])}
    return {**found, "T": lab.tension(lab.string, up)}


def _heavy(lab: "Base") -> Letters:
    """A pulley with inertia: T1 on the side of the cart, T2 on that of the weight."""
    pulley = lab.rotors[0]
    found: Letters = dict.fromkeys(("I", "tau"), ZERO)
    found |= {
        "T1": lab.tension(lab.string, lab.slider),
        "T2": lab.tension(lab.string, lab.weight),
        "r": lab.radius(pulley),
    }
    if lab.pulleys[pulley].inertia:
        found |= {"I": lab.inertia(pulley), "al": lab.angular_acceleration(pulley)}
        if not lab.inertia(pulley).given:
            found["mp"] = lab.pulley_mass(pulley)
    if lab.pulleys[pulley].bearing_torque:
        found["tau"] = lab.bearing_torque(pulley)
    return found


def _of_train(lab: "Base") -> Letters:
    """Two coupled carts: m1 the one behind, m3 the one that the weight's string pulls."""
    (string,) = lab.strings_at(lab.weight)
    pulled = [name for name in lab.sliders if string in lab.strings_at(name)]
    behind = [name for name in lab.sliders if name not in pulled]
    if len(pulled) != 1:
        return {}
    (coupling,) = lab.strings_at(behind[0])
    return {
        "m1": lab.mass(behind[0]),
        "m3": lab.mass(pulled[0]),
        "f1": lab.frictions.get(behind[0], ZERO),
        "f3": lab.frictions.get(pulled[0], ZERO),
        "T12": lab.tension(coupling, behind[0]),
        "T": lab.tension(string, pulled[0]),
    }


def _of_lift(lab: "Base") -> Letters:
    """A load on a moving pulley: m2 is all that hangs, ac1 the cart's own acceleration."""
    hanging = [*lab.hanging, *filter(lab.mass_kg, lab.lifts)]
    return {
        "m2": total(map(lab.mass, hanging)),
        "T": lab.tension(lab.string, lab.slider),
        "ac1": lab.acceleration_of(lab.slider),
    }


def _static(lab: "Base") -> Letters:
    """The first object that static friction holds."""
    name = next(iter(lab.frictions))
    static, kinetic = lab.static_coefficient(name), lab.coefficient(name)
    found: Letters = {"fs": lab.frictions[name], "fmax": lab.friction_limit(name), "mus": static}
    return found | ({"muk": kinetic, "N": lab.normal(name)} if static != kinetic else {})
