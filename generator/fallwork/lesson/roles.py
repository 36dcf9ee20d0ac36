"""Facts about a set-up that decide which mistakes and questions it raises, and roles in formulas.

Takes a context; gives the facts by name, and the symbols for which the letters of formulas
stand: m1 for the mass of the first object on a surface, and so on.
"""

from collections.abc import Mapping

from fallwork.lesson.context import Context
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.trees import ZERO
from fallwork.lesson.words import Part, listing
from fallwork.mechanics.solution import Force, Interaction

Roles = Mapping[str, Expression]


def facts_of(context: Context) -> Mapping[str, object]:
    """Every condition that the files ask for, with what tells whether it holds."""
    setting = context.setting
    moves = setting.moves
    falling = context.driver is not None and moves
    return {
        "numbers": context.numbers,
        "moves": moves,
        "rest": not moves,
        "friction": context.rubs,
        "rolls": context.rubs and all(map(setting.rolls, setting.sliders)),
        "static": not moves and bool(context.motion.frictions),
        "slider": bool(setting.sliders),
        "hanging": bool(setting.hanging),
        "level": _slopes(context) == {False},
        "slope": True in _slopes(context),
        "falling": falling,
        "rising": moves and not falling and bool(setting.hanging),
        "plain": _is_plain(context),
        "pair": moves and context.is_pair,
        "rotor": moves and bool(setting.rotors),
        "parted": any(not context.names.one_tension(string) for string in setting.taut),
        "inertia": any(bool(setting.pulleys[name].inertia) for name in setting.rotors),
        "brake": any(bool(setting.pulleys[name].bearing_torque) for name in setting.rotors),
        "pulley": any(not pulley.moving for pulley in setting.pulleys.values()),
        "ideal": bool(setting.pulleys) and not setting.rotors,
        "heavy": _is_heavy(context),
        "disc": _is_heavy(context)
        and context.motion.names.inertia(setting.rotors[0]).given is False,
        "drag": _is_heavy(context) and bool(setting.pulleys[setting.rotors[0]].bearing_torque),
        "train": _is_train(context),
        "lift": _is_lift(context),
        "wheels": any(setting.wheel_mass(name) for name in setting.sliders),
        "tied": setting.tied and moves,
        "free": moves and not setting.tied,
        "from-rest": moves and not setting.starts_moving and not setting.constant,
        "push": setting.starts_moving,
        "turns": setting.turns and not setting.rests_at_end,
        "back": len(setting.driven) > 1,
        "returns": moves and (len(setting.driven) > 1 or setting.turns_within),
        "distance": moves and setting.ends_by_distance,
        "lands": setting.has_landing,
        "strings": bool(setting.apparatus.strings),
        "two": len(setting.movers) == 2,
        "several-strings": len(setting.apparatus.strings) > 1,
        "measured-pull": _is_plain(context),
    }


def _slopes(context: Context) -> set[bool]:
    setting = context.setting
    return {bool(setting.slope(name)) for name in setting.sliders if not setting.upright(name)}


def _is_plain(context: Context) -> bool:
    return context.setting.moves and context.is_plain and context.moves_freely


def _is_heavy(context: Context) -> bool:
    """A cart and a weight over one pulley that takes a torque to turn."""
    setting = context.setting
    counts = len(setting.sliders), len(setting.hanging), len(setting.pulleys)
    return setting.moves and setting.tied and counts == (1, 1, 1) and len(setting.rotors) == 1


def _is_train(context: Context) -> bool:
    """Two carts, coupled, and a weight that comes down."""
    setting = context.setting
    counts = len(setting.sliders), len(setting.hanging), len(setting.apparatus.strings)
    ideal = not setting.rotors and not any(map(setting.wheel_mass, setting.sliders))
    return setting.moves and context.same_pace and counts == (2, 1, 2) and ideal


def _is_lift(context: Context) -> bool:
    """A cart on a level track and a load on one moving pulley, the string tied to the bench."""
    setting = context.setting
    counts = len(setting.sliders), len(setting.lifts), len(setting.apparatus.strings)
    one = (
        counts == (1, 1, 1) and not setting.rotors and set(setting.hanging) == set(setting.carried)
    )
    return setting.moves and setting.tied and one and bool(setting.hanging)


def words_of(context: Context) -> dict[str, Part]:
    """What the fields of slips and questions stand for; what the set-up hasn't got is missing."""
    setting, names = context.setting, context.names
    words: dict[str, Part] = {"g": names.gravity}
    if setting.moves and setting.tied:
        words["a"] = names.acceleration
    if setting.sliders:
        words["the_slider"] = context.the(context.slider)
        words["slider"] = setting.scenario.nouns.noun(context.slider)
        words["what_rubs"] = listing(
            [context.the(name) for name in (*context.motion.frictions, context.surface)]
        )
        words["the_surface"] = context.the(context.surface)
    if setting.hanging:
        words["the_weight"] = context.the(context.driver or context.weight)
    turning = [*setting.rotors, *setting.lifts]
    if turning:
        words["the_pulley"] = context.the(turning[0])
    return words


def roles_of(context: Context) -> Roles:
    """The trees for the letters of the slips file, as far as the set-up has them."""
    roles: dict[str, Expression] = {"g": as_expression(context.names.gravity)}
    roles |= _motion_roles(context)
    for kind, give in (
        (context.setting.hanging and context.setting.sliders, _pulled_roles),
        (context.is_pair, _pair_roles),
        (_is_heavy(context), _heavy_roles),
        (_is_train(context), _train_roles),
        (_is_lift(context), _lift_roles),
        (not context.setting.moves and context.motion.frictions, _static_roles),
    ):
        if kind:
            roles |= give(context)
    return roles


def _ref(symbol: Symbol) -> Expression:
    return as_expression(symbol)


def _motion_roles(context: Context) -> dict[str, Expression]:
    """Acceleration, distance, time and speed of the reference mover."""
    setting, names = context.setting, context.names
    roles: dict[str, Expression] = {}
    if setting.tied and setting.moves:
        roles |= {"a": _ref(names.acceleration), "d": _ref(names.distance)}
        roles |= {"t": _ref(names.time), "v": _ref(names.speed)}
    if setting.starts_moving:
        roles["v0"] = _ref(names.start_speed)
    return roles


def _pulled_roles(context: Context) -> dict[str, Expression]:
    """The first object on a surface, the weight, their friction, works and energies."""
    setting, names = context.setting, context.names
    slider, weight = context.slider, context.weight
    roles: dict[str, Expression] = {
        "m1": _ref(names.mass(slider)),
        "m2": _ref(names.mass(weight)),
        "mu": ZERO,
        "f": ZERO,
        "th": ZERO,
        "K1": _ref(names.kinetic(slider)),
        "U": _ref(names.potential_change(weight)),
    }
    if not context.setting.open_forces:
        pulls = [f for f in setting.forces_on(slider) if f.interaction is Interaction.TENSION]
        for pull in pulls[:1]:
            roles["T"] = _ref(names.tension(pull.partner, slider))
            roles |= _work_role(context, "W_T", pull)
    rubbing = setting.force(Interaction.FRICTION, slider)
    if slider in context.motion.frictions and rubbing is not None:
        roles["mu"] = _ref(names.coefficient(slider))
        roles["f"] = context.motion.frictions[slider]
        roles |= _work_role(context, "W_f", rubbing)
    if setting.slope(slider):
        roles["th"] = _ref(names.slope(names.surface(slider)))
        roles["U1"] = _ref(names.potential_change(slider))
    if roles["f"] != ZERO and setting.has_landing:
        roles |= {"s": _ref(names.coasting_distance), "ac": _ref(names.coasting_acceleration)}
    return roles


def _work_role(context: Context, letter: str, force: Force) -> dict[str, Expression]:
    return {letter: _ref(context.names.work(force))} if force.work else {}


def _pair_roles(context: Context) -> dict[str, Expression]:
    """Two hanging weights: m1 goes up, m2 comes down."""
    setting, names = context.setting, context.names
    down = [name for name in setting.hanging if setting.ways[name] > 0]
    up = [name for name in setting.hanging if setting.ways[name] < 0]
    if len(down) != 1:
        return {}
    return {
        "m1": _ref(names.mass(up[0])),
        "m2": _ref(names.mass(down[0])),
        "T": _ref(names.tension(context.string, up[0])),
        "U1": _ref(names.potential_change(up[0])),
        "U": _ref(names.potential_change(down[0])),
    }


def _heavy_roles(context: Context) -> dict[str, Expression]:
    """A pulley with inertia: T1 on the side of the cart, T2 on that of the weight."""
    setting, names = context.setting, context.names
    pulley = setting.rotors[0]
    roles: dict[str, Expression] = {
        "T1": _ref(names.tension(context.string, context.slider)),
        "T2": _ref(names.tension(context.string, context.weight)),
        "r": _ref(names.radius(pulley)),
        "I": ZERO,
        "tau": ZERO,
    }
    if setting.pulleys[pulley].inertia:
        roles["I"] = _ref(names.inertia(pulley))
        roles["al"] = _ref(names.angular_acceleration(pulley))
        if not names.inertia(pulley).given:
            roles["mp"] = _ref(names.pulley_mass(pulley))
    if setting.pulleys[pulley].bearing_torque:
        roles["tau"] = _ref(names.bearing_torque(pulley))
    return roles


def _train_roles(context: Context) -> dict[str, Expression]:
    """Two coupled carts: m1 the one behind, m3 the one that the weight's string pulls."""
    setting, names = context.setting, context.names
    pulled = [
        n for n in setting.sliders if set(setting.strings_at(n)) & set(_weight_strings(context))
    ]
    behind = [n for n in setting.sliders if n not in pulled]
    if len(pulled) != 1 or len(behind) != 1:
        return {}
    (coupling,) = setting.strings_at(behind[0])
    (string,) = _weight_strings(context)
    frictions = {n: context.motion.frictions.get(n, ZERO) for n in setting.sliders}
    return {
        "m1": _ref(names.mass(behind[0])),
        "m3": _ref(names.mass(pulled[0])),
        "f1": frictions[behind[0]],
        "f3": frictions[pulled[0]],
        "T12": _ref(names.tension(coupling, behind[0])),
        "T": _ref(names.tension(string, pulled[0])),
    }


def _weight_strings(context: Context) -> tuple[str, ...]:
    return context.setting.strings_at(context.weight)


def _lift_roles(context: Context) -> dict[str, Expression]:
    """A load on a moving pulley: m2 is all that hangs, ac1 the cart's own acceleration."""
    setting, names = context.setting, context.names
    hanging = [*setting.hanging, *(n for n in setting.lifts if setting.mass(n))]
    load = _ref(names.mass(hanging[0]))
    for name in hanging[1:]:
        load = load + names.mass(name)
    return {
        "m2": load,
        "T": _ref(names.tension(context.string, context.slider)),
        "ac1": _ref(names.acceleration_of(context.slider)),
    }


def _static_roles(context: Context) -> dict[str, Expression]:
    """The first object that static friction holds."""
    names, motion = context.names, context.motion
    name = next(iter(motion.frictions))
    roles = {"fs": motion.frictions[name], "fmax": _ref(names.friction_limit(name))}
    roles["mus"] = _ref(names.static_coefficient(name))
    if names.static_coefficient(name) != names.coefficient(name):
        roles |= {"muk": _ref(names.coefficient(name)), "N": _ref(names.normal(name))}
    return roles
