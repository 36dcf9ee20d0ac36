"""The first step: objects and interactions, the model, and the positive senses."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import FigureSlot, Paragraph, Step, Table, Text
from fallwork.lesson.steps.directions import short_direction
from fallwork.lesson.steps.pieces import head, kind_of
from fallwork.lesson.words import Part, join, listing, say, sentence, series, title
from fallwork.mechanics.layout import Role
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.nouns import BENCH, EARTH


def objects_step(context: Context) -> Step:
    """Objects and interactions, the model, and the positive senses."""
    return Step(
        id="objects",
        topic="objects",
        title=title("objects.title"),
        idea=say("objects.idea"),
        blocks=(
            FigureSlot(kind="sketch"),
            Table(
                caption=sentence("objects.caption"),
                head=head("objects", "interaction", "between", "what"),
                rows=tuple(_rows(context)),
            ),
            Paragraph(text=_legend(context)),
            Paragraph(text=join(*_model(context))),
            Paragraph(text=_senses(context)),
        ),
    )


def _legend(context: Context) -> Text:
    """What the letters of the givens in the table stand for; each force's own is told there."""
    names, setting = context.names, context.setting
    symbols = [names.mass(name) for name in setting.movers if setting.mass(name)]
    items = [
        say(
            f"objects.{'legend-item' if at else 'legend-first'}",
            symbol=symbol,
            meaning=symbol.meaning.split(",")[0],
        )
        for at, symbol in enumerate((*symbols, names.gravity))
    ]
    return (*join(say("objects.legend"), series(items)), ".")


def _senses(context: Context) -> Text:
    setting = context.setting
    if len(setting.movers) == 1:
        (name,) = setting.movers
        key = "objects.sense-back" if setting.comes_back else "objects.sense"
        return say(key, the_object=context.the(name), sense=context.names.sense(name))
    senses = listing([f"{context.the(n)} {context.names.sense(n)}" for n in setting.movers])
    key = "objects.senses-one" if context.same_pace else "objects.senses"
    if setting.turns_within or setting.comes_back:
        key += "-back"
    return say(key if setting.moves else "objects.senses-rest", list=senses)


def _model(context: Context) -> Iterator[Text]:
    """What the model takes for granted and leaves out."""
    setting, the = context.setting, context.the
    strings = len(setting.apparatus.strings)
    if strings:
        yield say("objects.model-strings" if strings > 1 else "objects.model-string")
    yield from _ideal_pulleys(context)
    for name in setting.rotors:
        yield say(f"objects.model-rotor{_lacks(context, name)}", the_pulley=the(name))
    carts = [n for n in context.motion.frictions if setting.bodies[n].kind == "cart"]
    if carts:
        wheels = any(setting.wheel_mass(name) for name in carts)
        yield say("objects.cart-wheels" if wheels else "objects.cart")
    yield say("objects.model-air")
    fixed = [the(name) for name in setting.apparatus.surfaces]
    yield say("objects.model-frame", at_rest=listing(["Earth", *fixed, the(BENCH)]))


def _lacks(context: Context, pulley: str) -> str:
    """The ending of the key of a pulley that is hard to turn, by what it hasn't got."""
    parts = context.setting.pulleys[pulley]
    if not parts.bearing_torque:
        return "-smooth"
    return "" if parts.inertia else "-light"


def _ideal_pulleys(context: Context) -> Iterator[Text]:
    setting = context.setting
    ideal = [name for name in setting.pulleys if name not in setting.rotors]
    if len(ideal) > 1:
        yield say("objects.model-pulleys", pulleys=listing([context.the(n) for n in ideal]))
    elif ideal:
        key = "lift" if setting.mass(ideal[0]) else "pulley"
        yield say(f"objects.model-{key}", the_pulley=context.the(ideal[0]))


# The table of interactions.

_KEYS = {
    Interaction.GRAVITY: "gravity",
    Interaction.NORMAL: "normal",
    Interaction.FRICTION: "friction",
    Interaction.ROLLING: "rolling",
    Interaction.TENSION: "tension",
    Interaction.CONTACT: "carries",
    Interaction.AXLE: "support",
}


def _rows(context: Context) -> Iterator[tuple[Text, ...]]:
    """One row for each pair of objects that act on each other."""
    setting = context.setting
    for interaction in _KEYS:
        for name in setting.movers:
            for force in setting.forces_on(name):
                if force.interaction is interaction and force.partner not in setting.carried:
                    yield _row(context, force)
    for string in setting.apparatus.strings.values():
        for pulley in (name for name in string.path if name in setting.pulleys):
            if pulley not in setting.movers:
                yield from _pulley_rows(context, pulley, string.name)


def _row(context: Context, force: Force) -> tuple[Text, ...]:
    kind = kind_of(force)
    if force.interaction is Interaction.CONTACT:
        kind = sentence("kinds.push")
    between = f"{context.the(force.partner)} and {context.the(force.on)}"
    return (kind,), (between,), _what(context, force)


def _what(context: Context, force: Force) -> Text:
    the = context.the
    parts: dict[str, Part] = {"the_object": the(force.on)}
    for role in ("the_partner", "the_surface", "the_string"):
        parts[role] = the(force.partner)
    key = _key(context, force)
    if key == "tension":
        parts["sense"] = short_direction(context, force)
    return say(f"objects.{key}", force=context.motion.size(force), **parts)


def _key(context: Context, force: Force) -> str:
    setting, kind = context.setting, force.interaction
    nothing = not setting.acts(force)
    if kind is Interaction.FRICTION:
        if nothing:
            return "friction-none"
        return f"friction-{setting.bodies[force.on].kind if setting.slides(force.on) else 'static'}"
    if nothing:
        return "tension-none" if kind is Interaction.TENSION else "no-force"
    if kind is Interaction.CONTACT and not _holds_up(context, force):
        return "carried-by"
    return _KEYS[kind]


def _holds_up(context: Context, force: Force) -> bool:
    """Whether a string runs round a moving pulley from below."""
    layout = context.setting.layout.strings[force.partner]
    return layout.bight(layout.path.index(force.on)) > 0


def _pulley_rows(context: Context, pulley: str, string: str) -> Iterator[tuple[Text, ...]]:
    layout = context.setting.layout.strings[string]
    wound = layout.roles[layout.path.index(pulley)] is Role.DRUM
    rotor = "-rotor" if pulley in context.setting.rotors else ""
    what = "objects.wound" if wound else f"objects.contact{rotor}"
    parts = {"the_pulley": context.the(pulley), "the_string": context.the(string)}
    between = f"{context.the(pulley)} and {context.the(string)}"
    if rotor and any(_pulls_down(f) for f in context.setting.phase.forces if f.on == pulley):
        earth = f"{context.the(EARTH)} and {context.the(pulley)}"
        yield (sentence("kinds.gravity"),), (earth,), say("objects.gravity-borne", **parts)
    kind = "kinds.tension" if wound else "kinds.push"
    yield (sentence(kind),), (between,), say(what, **parts)
    bench = f"{context.the(BENCH)} and {context.the(pulley)}"
    if context.setting.pulleys[pulley].bearing_torque:
        tau = context.names.bearing_torque(pulley)
        braked = say("objects.bearing", tau=tau, **parts)
        yield (sentence("kinds.bearing-torque"),), (bench,), braked
    yield (sentence("kinds.fixed-axle"),), (bench,), say(f"objects.axle{rotor}", **parts)


def _pulls_down(force: Force) -> bool:
    return force.interaction is Interaction.GRAVITY and bool(force.size)
