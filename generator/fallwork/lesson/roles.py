"""Facts about a set-up that decide which mistakes and questions it raises, and roles in formulas.

Takes a context; gives the facts by name, and the symbols for which the letters of formulas
stand: m1 for the mass of the first object on a surface, and so on.
"""

from collections.abc import Mapping

from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.equations import Equations
from fallwork.lesson.trees import ZERO
from fallwork.lesson.words import Part, listing
from fallwork.mechanics.solution import Force, Interaction

Roles = Mapping[str, Expression]


def facts_of(lab: Equations) -> Mapping[str, object]:
    """Every condition that the files ask for, with what tells whether it holds."""
    moves = lab.moves
    falling = lab.driver is not None and moves
    return {
        "numbers": lab.numbers,
        "moves": moves,
        "rest": not moves,
        "friction": lab.rubs,
        "rolls": lab.rubs and all(map(lab.rolls, lab.sliders)),
        "static": not moves and bool(lab.frictions),
        "slider": bool(lab.sliders),
        "hanging": bool(lab.hanging),
        "level": _slopes(lab) == {False},
        "slope": True in _slopes(lab),
        "falling": falling,
        "rising": moves and not falling and bool(lab.hanging),
        "plain": _is_plain(lab),
        "pair": moves and lab.is_pair,
        "rotor": moves and bool(lab.rotors),
        "parted": any(not lab.one_tension(string) for string in lab.taut),
        "inertia": any(bool(lab.pulleys[name].inertia) for name in lab.rotors),
        "brake": any(bool(lab.pulleys[name].bearing_torque) for name in lab.rotors),
        "pulley": any(not pulley.moving for pulley in lab.pulleys.values()),
        "ideal": bool(lab.pulleys) and not lab.rotors,
        "heavy": _is_heavy(lab),
        "disc": _is_heavy(lab) and lab.inertia(lab.rotors[0]).given is False,
        "drag": _is_heavy(lab) and bool(lab.pulleys[lab.rotors[0]].bearing_torque),
        "train": _is_train(lab),
        "lift": _is_lift(lab),
        "wheels": any(lab.wheels_kg(name) for name in lab.sliders),
        "tied": lab.tied and moves,
        "free": moves and not lab.tied,
        "from-rest": moves and not lab.starts_moving and not lab.constant,
        "push": lab.starts_moving,
        "turns": lab.turns and not lab.rests_at_end,
        "back": len(lab.driven) > 1,
        "returns": moves and (len(lab.driven) > 1 or lab.turns_within),
        "distance": moves and lab.ends_by_distance,
        "lands": lab.has_landing,
        "strings": bool(lab.apparatus.strings),
        "two": len(lab.movers) == 2,
        "several-strings": len(lab.apparatus.strings) > 1,
        "measured-pull": _is_plain(lab),
    }


def _slopes(lab: Equations) -> set[bool]:
    return {bool(lab.slope_rad(name)) for name in lab.sliders if not lab.upright(name)}


def _is_plain(lab: Equations) -> bool:
    return lab.moves and lab.is_plain and lab.moves_freely


def _is_heavy(lab: Equations) -> bool:
    """A cart and a weight over one pulley that takes a torque to turn."""
    counts = len(lab.sliders), len(lab.hanging), len(lab.pulleys)
    return lab.moves and lab.tied and counts == (1, 1, 1) and len(lab.rotors) == 1


def _is_train(lab: Equations) -> bool:
    """Two carts, coupled, and a weight that comes down."""
    counts = len(lab.sliders), len(lab.hanging), len(lab.apparatus.strings)
    ideal = not lab.rotors and not any(map(lab.wheels_kg, lab.sliders))
    return lab.moves and lab.same_pace and counts == (2, 1, 2) and ideal


def _is_lift(lab: Equations) -> bool:
    """A cart on a level track and a load on one moving pulley, the string tied to the bench."""
    counts = len(lab.sliders), len(lab.lifts), len(lab.apparatus.strings)
    one = counts == (1, 1, 1) and not lab.rotors and set(lab.hanging) == set(lab.carried)
    return lab.moves and lab.tied and one and bool(lab.hanging)


def words_of(lab: Equations) -> dict[str, Part]:
    """What the fields of slips and questions stand for; what the set-up hasn't got is missing."""
    words: dict[str, Part] = {"g": lab.gravity}
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


def roles_of(lab: Equations) -> Roles:
    """The trees for the letters of the slips file, as far as the set-up has them."""
    roles: dict[str, Expression] = {"g": as_expression(lab.gravity)}
    roles |= _motion_roles(lab)
    for kind, give in (
        (lab.hanging and lab.sliders, _pulled_roles),
        (lab.is_pair, _pair_roles),
        (_is_heavy(lab), _heavy_roles),
        (_is_train(lab), _train_roles),
        (_is_lift(lab), _lift_roles),
        (not lab.moves and lab.frictions, _static_roles),
    ):
        if kind:
            roles |= give(lab)
    return roles


def _ref(symbol: Symbol) -> Expression:
    return as_expression(symbol)


def _motion_roles(lab: Equations) -> dict[str, Expression]:
    """Acceleration, distance, time and speed of the reference mover."""
    roles: dict[str, Expression] = {}
    if lab.tied and lab.moves:
        roles |= {"a": _ref(lab.acceleration), "d": _ref(lab.distance)}
        roles |= {"t": _ref(lab.time), "v": _ref(lab.speed)}
    if lab.starts_moving:
        roles["v0"] = _ref(lab.start_speed)
    return roles


def _pulled_roles(lab: Equations) -> dict[str, Expression]:
    """The first object on a surface, the weight, their friction, works and energies."""
    slider, weight = lab.slider, lab.weight
    roles: dict[str, Expression] = {
        "m1": _ref(lab.mass(slider)),
        "m2": _ref(lab.mass(weight)),
        "mu": ZERO,
        "f": ZERO,
        "th": ZERO,
        "K1": _ref(lab.kinetic(slider)),
        "U": _ref(lab.potential_change(weight)),
    }
    if not lab.open_forces:
        pulls = [f for f in lab.forces_on(slider) if f.interaction is Interaction.TENSION]
        for pull in pulls[:1]:
            roles["T"] = _ref(lab.tension(pull.partner, slider))
            roles |= _work_role(lab, "W_T", pull)
    rubbing = lab.force(Interaction.FRICTION, slider)
    if slider in lab.frictions and rubbing is not None:
        roles["mu"] = _ref(lab.coefficient(slider))
        roles["f"] = lab.frictions[slider]
        roles |= _work_role(lab, "W_f", rubbing)
    if lab.slope_rad(slider):
        roles["th"] = _ref(lab.slope(lab.surface_under(slider)))
        roles["U1"] = _ref(lab.potential_change(slider))
    if roles["f"] != ZERO and lab.has_landing:
        roles |= {"s": _ref(lab.coasting_distance), "ac": _ref(lab.coasting_acceleration)}
    return roles


def _work_role(lab: Equations, letter: str, force: Force) -> dict[str, Expression]:
    return {letter: _ref(lab.work(force))} if force.work else {}


def _pair_roles(lab: Equations) -> dict[str, Expression]:
    """Two hanging weights: m1 goes up, m2 comes down."""
    down = [name for name in lab.hanging if lab.ways[name] > 0]
    up = [name for name in lab.hanging if lab.ways[name] < 0]
    if len(down) != 1:
        return {}
    return {
        "m1": _ref(lab.mass(up[0])),
        "m2": _ref(lab.mass(down[0])),
        "T": _ref(lab.tension(lab.string, up[0])),
        "U1": _ref(lab.potential_change(up[0])),
        "U": _ref(lab.potential_change(down[0])),
    }


def _heavy_roles(lab: Equations) -> dict[str, Expression]:
    """A pulley with inertia: T1 on the side of the cart, T2 on that of the weight."""
    pulley = lab.rotors[0]
    roles: dict[str, Expression] = {
        "T1": _ref(lab.tension(lab.string, lab.slider)),
        "T2": _ref(lab.tension(lab.string, lab.weight)),
        "r": _ref(lab.radius(pulley)),
        "I": ZERO,
        "tau": ZERO,
    }
    if lab.pulleys[pulley].inertia:
        roles["I"] = _ref(lab.inertia(pulley))
        roles["al"] = _ref(lab.angular_acceleration(pulley))
        if not lab.inertia(pulley).given:
            roles["mp"] = _ref(lab.pulley_mass(pulley))
    if lab.pulleys[pulley].bearing_torque:
        roles["tau"] = _ref(lab.bearing_torque(pulley))
    return roles


def _train_roles(lab: Equations) -> dict[str, Expression]:
    """Two coupled carts: m1 the one behind, m3 the one that the weight's string pulls."""
    pulled = [n for n in lab.sliders if set(lab.strings_at(n)) & set(_weight_strings(lab))]
    behind = [n for n in lab.sliders if n not in pulled]
    if len(pulled) != 1 or len(behind) != 1:
        return {}
    (coupling,) = lab.strings_at(behind[0])
    (string,) = _weight_strings(lab)
    frictions = {n: lab.frictions.get(n, ZERO) for n in lab.sliders}
    return {
        "m1": _ref(lab.mass(behind[0])),
        "m3": _ref(lab.mass(pulled[0])),
        "f1": frictions[behind[0]],
        "f3": frictions[pulled[0]],
        "T12": _ref(lab.tension(coupling, behind[0])),
        "T": _ref(lab.tension(string, pulled[0])),
    }


def _weight_strings(lab: Equations) -> tuple[str, ...]:
    return lab.strings_at(lab.weight)


def _lift_roles(lab: Equations) -> dict[str, Expression]:
    """A load on a moving pulley: m2 is all that hangs, ac1 the cart's own acceleration."""
    hanging = [*lab.hanging, *(n for n in lab.lifts if lab.mass_kg(n))]
    load = _ref(lab.mass(hanging[0]))
    for name in hanging[1:]:
        load = load + lab.mass(name)
    return {
        "m2": load,
        "T": _ref(lab.tension(lab.string, lab.slider)),
        "ac1": _ref(lab.acceleration_of(lab.slider)),
    }


def _static_roles(lab: Equations) -> dict[str, Expression]:
    """The first object that static friction holds."""
    name = next(iter(lab.frictions))
    roles = {"fs": lab.frictions[name], "fmax": _ref(lab.friction_limit(name))}
    roles["mus"] = _ref(lab.static_coefficient(name))
    if lab.static_coefficient(name) != lab.coefficient(name):
        roles |= {"muk": _ref(lab.coefficient(name)), "N": _ref(lab.normal(name))}
    return roles
