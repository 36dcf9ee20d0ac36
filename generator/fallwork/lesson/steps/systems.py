"""The third stretch: the same motion seen with each featured choice of system.

Every sentence follows from the account of the system: which forces are external, which of them
do work, which energies change. No choice of system has text of its own.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import (
    Block,
    Equation,
    FigureSlot,
    Items,
    Paragraph,
    Relation,
    Step,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Number,
    Operand,
    Root,
    Symbol,
    as_expression,
)
from fallwork.lesson.names import force_phrase
from fallwork.lesson.steps.forces import head, kind_of
from fallwork.lesson.steps.stores import Store, on_the_way
from fallwork.lesson.steps.works import work_tree
from fallwork.lesson.trees import half, product, rebuilt, scaled, total
from fallwork.lesson.words import Part, join, listing, say, sentence, the
from fallwork.mechanics import account
from fallwork.mechanics.solution import EARTH, Force, Interaction, SystemAccount, ZeroWork
from fallwork.scenario.model import SystemChoice


@dataclass(frozen=True)
class View:
    """One choice of system, and what its account says of the first phase."""

    context: Context
    choice: SystemChoice

    @cached_property
    def account(self) -> SystemAccount:
        """External works and energy changes."""
        setting = self.context.setting
        return account(setting.apparatus, setting.phase, self.choice.members)

    @property
    def whole(self) -> bool:
        """Whether Earth belongs to the system, so that potential energy does."""
        return EARTH in self.choice.members

    @property
    def first(self) -> bool:
        """Whether no other featured system comes before it."""
        return self.choice == self.context.setting.scenario.systems[0]

    @property
    def topic(self) -> str:
        """``whole`` or ``part``: the ending of its steps' topics."""
        return "whole" if self.whole else "part"

    @cached_property
    def moving(self) -> tuple[str, ...]:
        """The members that move along a path."""
        return tuple(n for n in self.context.setting.movers if n in self.choice.members)

    @cached_property
    def falling(self) -> tuple[str, ...]:
        """The members whose potential energy with Earth changes."""
        if not self.whole:
            return ()
        gravity = [self.context.setting.force(Interaction.GRAVITY, name) for name in self.moving]
        return tuple(force.on for force in gravity if force is not None and force.work)

    @cached_property
    def turning(self) -> tuple[str, ...]:
        """The members with rotational energy: pulleys, and carts whose wheels count."""
        setting = self.context.setting
        carts = tuple(name for name in self.moving if setting.wheel_mass(name))
        pulleys = tuple(
            name
            for name in setting.rotors
            if name in self.choice.members and setting.pulleys[name].inertia
        )
        return (*carts, *pulleys)

    @property
    def massive(self) -> tuple[str, ...]:
        """The members that move and have mass."""
        return tuple(name for name in self.moving if self.context.setting.mass(name))

    @cached_property
    def rubbed(self) -> tuple[str, ...]:
        """The members whose friction on a surface is inside, so that it gives thermal energy."""
        setting = self.context.setting
        return tuple(
            name
            for name in self.context.motion.frictions
            if name in self.choice.members
            and setting.apparatus.bodies[name].surface in self.choice.members
            and setting.slides(name)
        )

    @cached_property
    def working(self) -> tuple[Force, ...]:
        """The external forces that do work."""
        return tuple(force for force in self.account.external if force.work)

    @cached_property
    def idle(self) -> tuple[Force, ...]:
        """The external forces that do none, those on moving or flexible members first."""
        return tuple(
            force
            for force in self.account.external
            if not force.work and force.on != EARTH and force.reason is not None
        )

    def step(self, kind: str, idea: Text, blocks: Sequence[Block]) -> Step:
        """One of the view's steps."""
        return Step(
            id=f"{self.choice.id}-{kind}",
            topic=f"{kind}.{self.topic}",
            title=sentence(f"system.{kind}.title"),
            idea=idea,
            blocks=tuple(blocks),
        )


def system_steps(context: Context, choice: SystemChoice) -> tuple[Step, ...]:
    """Forces, those without work, the work, the potential energy and the account."""
    view = View(context, choice)
    steps = [_forces(view), _no_work(view), _work(view)]
    if view.falling:
        steps.append(_potential(view))
    steps.append(_energy(view))
    return tuple(steps)


def _forces(view: View) -> Step:
    context = view.context
    members = listing([the(name) for name in view.choice.members])
    key = "members" if len(view.choice.members) > 1 else "members-one"
    blocks: list[Block] = [
        Paragraph(text=say(f"system.forces.{key}", members=members)),
        Table(
            caption=sentence("system.forces.caption").replace("{title}", view.choice.title),
            head=head("system.forces", "force", "on", "by", "symbol"),
            rows=tuple(_force_row(view, force) for force in view.account.external if _shown(force)),
        ),
    ]
    pairs = _internal_pairs(view)
    if pairs:
        blocks.append(Paragraph(text=say("system.forces.internal", pairs=listing(pairs))))
    blocks += [Paragraph(text=text) for text in _remarks(view)]
    if view.first and view.moving:
        key = "before-push" if context.names.starts_moving else "before"
        text = say(f"system.forces.{key}", the_slider=the(view.moving[0]))
        blocks.append(Paragraph(text=text))
    return view.step("forces", say("system.forces.idea"), blocks)


def _remarks(view: View) -> tuple[Text, ...]:
    """What changes when a string is inside with the objects at both its ends."""
    context = view.context
    setting = context.setting
    for string in setting.taut:
        path = setting.apparatus.strings[string].path
        inside = (
            string in view.choice.members and path[0] in view.moving and path[-1] in view.moving
        )
        if not inside or not context.names.one_tension(string):
            continue
        tension = context.names.tension(string, path[0])
        first, last = path[0], path[-1]
        pulls = [(name, _pull_work(context, string, name)) for name in (first, last)]
        pulls.sort(key=lambda pull: isinstance(pull[1], Negative))
        parts = {"the_slider": the(pulls[0][0]), "the_hanging": the(pulls[1][0])}
        remarks = [
            say("system.forces.both", T=tension, the_slider=the(first)),
            say("system.forces.internal-work", plus=pulls[0][1], minus=pulls[1][1], **parts),
        ]
        if view.falling:
            remarks.append(say("system.forces.internal-gravity"))
        return (*remarks, say("system.forces.string", the_string=the(string)))
    return ()


def _pull_work(context: Context, string: str, name: str) -> Expression:
    """The work of a string's pull on the object at one of its ends."""
    for force in context.setting.forces_on(name):
        if force.interaction is Interaction.TENSION and force.partner == string:
            return work_tree(context, force) or as_expression(0)
    raise KeyError(string)


def _shown(force: Force) -> bool:
    return force.reason is not ZeroWork.NO_FORCE and force.on != EARTH


def _force_row(view: View, force: Force) -> tuple[Text, ...]:
    if force.on in view.context.setting.movers:
        symbol: Text = (view.context.motion.size(force),)
    else:
        symbol = _push_on_string(view.context, force)
    word = kind_of(force) if force.on in view.context.setting.movers else _word(force)
    return (word,), (the(force.on),), (the(force.partner),), symbol


def _word(force: Force) -> str:
    """The kind of a force on something that isn't a mover."""
    if force.interaction in (Interaction.CONTACT, Interaction.AXLE):
        return str(force.interaction.value)
    return kind_of(force)


def _push_on_string(context: Context, force: Force) -> Text:
    """The push of an ideal pulley on the string: its tension in two directions at once."""
    x, y = force.vector or (0.0, 0.0)
    if force.interaction is not Interaction.CONTACT or not math.isclose(abs(x), abs(y)):
        return ("—",)
    if force.on not in context.setting.apparatus.strings or not context.names.one_tension(force.on):
        return ("—",)
    end = context.setting.apparatus.strings[force.on].path[0]
    size = context.names.tension(force.on, end)
    if not math.isclose(abs(x), context.setting.phase.tensions[force.on][end] or 0.0, rel_tol=1e-9):
        return ("—",)
    return say(
        "directions.two",
        size=size,
        first="forward" if x > 0 else "back",
        second="up" if y > 0 else "down",
    )


def _internal_pairs(view: View) -> list[str]:
    movers = view.context.setting.movers
    return list(
        dict.fromkeys(
            force_phrase(force)
            for force in view.account.internal
            if force.on in movers and _shown(force)
        )
    )


def _no_work(view: View) -> Step:
    items = [_reason(view, force) for force in view.idle]
    blocks: list[Block] = []
    if items:
        blocks.append(Items(items=tuple(items)))
        if view.first and any(f.interaction is Interaction.NORMAL for f in view.idle):
            blocks.append(Paragraph(text=say("system.no-work.not-cancel")))
    else:
        blocks.append(Paragraph(text=say("system.no-work.all-work")))
    return view.step("no-work", say("system.no-work.idea"), blocks)


_REASONS = {
    ZeroWork.PERPENDICULAR: "perpendicular",
    ZeroWork.POINT_AT_REST: "at-rest",
    ZeroWork.IDEAL_PULLEY: "ideal-pulley",
    ZeroWork.NO_FORCE: "no-force",
    ZeroWork.NO_TURNING: "no-turning",
    ZeroWork.STEADY_PULLEY: "steady-pulley",
    ZeroWork.NO_MOTION: "no-motion",
}


def _reason(view: View, force: Force) -> Text:
    assert force.reason is not None
    key = _REASONS[force.reason]
    if force.interaction is Interaction.GRAVITY and key == "perpendicular":
        key = "perpendicular-gravity"
    if force.interaction is Interaction.ROLLING:
        key = "rolling"
    return say(
        f"system.no-work.{key}",
        force=force_phrase(force),
        the_object=the(force.on),
        the_pulley=the(force.partner),
        the_string=the(force.on),
    )


def _work(view: View) -> Step:
    if not view.working:
        return view.step(
            "work", say("system.work.idea-none"), [Paragraph(text=say("system.work.none"))]
        )
    context = view.context
    blocks: list[Block] = []
    for force in view.working:
        tree = work_tree(context, force)
        lead = say(
            f"system.work.{_way(force)}", force=force_phrase(force), the_object=the(force.on)
        )
        if tree is None:
            blocks.append(Paragraph(text=join(lead, _only_value(context, force))))
            continue
        blocks.append(Paragraph(text=lead))
        blocks.append(Working(equations=(context.result(context.names.work(force), tree, "J"),)))
    pulled = any(force.interaction is Interaction.TENSION for force in view.working)
    if pulled and context.numbers and _has_slider_pull(view):
        blocks.append(FigureSlot(kind="tension-work"))
    return view.step("work", say("system.work.idea-some"), blocks)


def _has_slider_pull(view: View) -> bool:
    """Whether the chart of the first slider's pull belongs to this view."""
    sliders = view.context.setting.sliders
    return bool(sliders) and any(force.on == sliders[0] for force in view.working)


def _way(force: Force) -> str:
    """The key of the sentence that says how a force stands to the motion."""
    if force.interaction is Interaction.FRICTION and (force.work or 0.0) < 0:
        return "friction"
    if force.interaction is Interaction.BEARING_TORQUE:
        return "bearing"
    if force.interaction is Interaction.CONTACT:
        return "contact"
    return "against" if (force.work or 0.0) < 0 else "with"


def _only_value(context: Context, force: Force) -> Text:
    if not context.numbers:
        return (as_expression(context.names.work(force)), ".")
    return (context.amount(force.work or 0.0, "J"), ".")


def _potential(view: View) -> Step:
    context = view.context
    names = context.names
    still = [name for name in view.massive if name not in view.falling]
    parts: dict[str, Part] = {
        "the_hanging": listing([the(name) for name in view.falling]),
        "d": names.distance,
        "the_slider": listing([the(name) for name in still]),
    }
    several = "-several" if len(view.falling) > 1 else ""
    blocks: list[Block] = [
        Paragraph(text=say(f"system.potential.belongs{several}", **parts)),
        Paragraph(text=say(f"system.potential.zero{several}", **parts)),
    ]
    if still:
        level = "system.potential.level-several" if len(still) > 1 else "system.potential.level"
        blocks.append(Paragraph(text=say(level, **parts)))
    for name in view.falling:
        blocks.append(Paragraph(text=_height(context, name)))
        tree = potential_tree(context, name)
        blocks.append(Working(equations=(context.result(names.potential_change(name), tree, "J"),)))
    return view.step("potential", say("system.potential.idea"), blocks)


def _height(context: Context, name: str) -> Text:
    """By how much an object gets lower or higher."""
    gravity = context.setting.force(Interaction.GRAVITY, name)
    assert gravity is not None
    distance = context.motion.distance_tree(name)
    sine = context.motion.sine(name)
    height = distance if sine is None else product(distance, sine)
    key = "comes-down" if (gravity.work or 0.0) > 0 else "goes-up"
    slope = "-slope" if sine is not None else ""
    return say(f"system.potential.{key}{slope}", the_hanging=the(name), h=height, s=distance)


def potential_tree(context: Context, name: str) -> Expression:
    """The change of potential energy of an object and Earth: minus the work of gravity."""
    gravity = context.setting.force(Interaction.GRAVITY, name)
    assert gravity is not None
    return -(work_tree(context, gravity) or as_expression(0))


def _energy(view: View) -> Step:
    context = view.context
    blocks: list[Block] = [
        Paragraph(text=say("system.energy.balance")),
        Working(equations=(balance(view),)),
    ]
    if context.setting.tied and view.massive:
        blocks += _gain(view)
        blocks += _speed(view)
        blocks += _shares(view)
    else:
        blocks += _each(view)
    blocks += on_the_way(context, view.choice.id, _stores(view))
    return view.step("energy", say("system.energy.idea"), blocks)


def _stores(view: View) -> list[Store]:
    """Where the energy of the system is and goes; none where other works feed it."""
    drains = (Interaction.FRICTION, Interaction.BEARING_TORQUE)
    fed = any(force.interaction not in drains for force in view.working)
    if fed or not view.falling:
        return []
    context = view.context
    names = context.names
    stores = [Store.potential(names.potential_change(name), the(name)) for name in view.falling]
    stores += [
        Store.kinetic(names.kinetic(name), the(name), context.first_kinetic(name))
        for name in view.massive
    ]
    stores += [
        Store.rotational(names.rotational(name), the(name), context.first_rotational(name))
        for name in view.turning
    ]
    stores += [Store.thermal(tree) for tree in thermal_trees(view)]
    return [*stores, *(Store.drain(names.work(force)) for force in view.working)]


def _gain(view: View) -> list[Block]:
    """The kinetic energy that works and potential energy leave."""
    context = view.context
    energy = kinetic_symbol(view)
    both = listing([the(name) for name in _carriers(view)])
    case = "all" if len(_carriers(view)) > 1 else "one"
    push = "-push" if context.names.starts_moving else ""
    lead = say(f"system.energy.gain-{case}{push}", both=both, the_object=the(view.massive[0]))
    return [
        Paragraph(text=lead),
        Working(equations=(context.result(energy, gain_tree(view), "J"),)),
    ]


def _speed(view: View) -> list[Block]:
    """The final speed from that kinetic energy, with numbers and then in full."""
    context = view.context
    names = context.names
    energy, mass = kinetic_symbol(view), moving_mass(view)
    speed, start = as_expression(names.speed), names.start_speed
    case = "all" if len(_carriers(view)) > 1 else "one"
    parts: dict[str, Part] = {
        "both": listing([the(name) for name in _carriers(view)]),
        "kinetic": Relation(sides=(as_expression(energy), half(mass, speed**2)), signs=("=",)),
    }
    gained = product(2, energy) / mass
    full = speed_square(view)
    if names.starts_moving:
        squares = speed**2 - as_expression(start) ** 2
        parts["kinetic"] = Relation(
            sides=(as_expression(energy), half(mass, squares)), signs=("=",)
        )
        gained = as_expression(start) ** 2 + gained
        full = as_expression(start) ** 2 + full
    if context.turns:
        return [Paragraph(text=say("system.energy.stops", kinetic=parts["kinetic"]))]
    return [
        Paragraph(text=say(f"system.energy.speed-{case}", **parts)),
        Working(equations=(context.result(names.speed, Root(body=gained), "m/s"),)),
        Paragraph(text=say("system.energy.in-full")),
        Working(equations=(Equation(left=speed, right=Root(body=full), unit="m/s"),)),
        Paragraph(text=say(f"system.energy.same{'' if view.first else '-again'}")),
    ]


def _carriers(view: View) -> tuple[str, ...]:
    """The members with kinetic energy, turning pulleys included."""
    return tuple(dict.fromkeys((*view.massive, *view.turning)))


def kinetic_symbol(view: View) -> Symbol:
    """The kinetic energy of the system at the end, or its change."""
    if len(view.massive) == 1 and not view.turning:
        return view.context.names.kinetic(view.massive[0])
    return view.context.names.kinetic_of_all(_carriers(view))


def moving_mass(view: View) -> Expression:
    """What half the squared common speed is multiplied by in the kinetic energy."""
    rotors = tuple(name for name in view.turning if name in view.context.setting.rotors)
    return total(view.context.motion.inertia_of(view.moving, rotors))


def gain_tree(view: View) -> Expression:
    """What the works, the potential and the thermal energy leave for the kinetic energy."""
    names = view.context.names
    terms = [as_expression(names.work(force)) for force in view.working]
    terms += [-as_expression(names.potential_change(name)) for name in view.falling]
    return total([*terms, *(-tree for tree in thermal_trees(view))])


def thermal_trees(view: View) -> list[Expression]:
    """The thermal energy of each pair that rubs inside the system, f d."""
    motion = view.context.motion
    return [product(motion.frictions[n], motion.distance_tree(n)) for n in view.rubbed]


def _shares(view: View) -> list[Block]:
    """The kinetic energy of each member, where there are several."""
    if len(_carriers(view)) < 2 and not view.turning:
        return []
    return [
        Paragraph(text=say("system.energy.shares")),
        Working(equations=tuple(_kinetic_equations(view))),
    ]


def _each(view: View) -> list[Block]:
    """The kinetic energies one by one, where no common speed ties them."""
    if not view.massive:
        return []
    return [
        Paragraph(text=say("system.energy.each")),
        Working(equations=tuple(_kinetic_equations(view))),
        Paragraph(text=say("system.energy.each-agrees")),
    ]


def _kinetic_equations(view: View) -> list[Equation]:
    context = view.context
    names, motion = context.names, context.motion
    equations: list[Equation] = []
    for name in view.massive:
        square = _squares(context, name)
        equations.append(context.result(names.kinetic(name), half(names.mass(name), square), "J"))
        rolling = motion.rolling_mass(name)
        if rolling is not None:
            equations.append(context.result(names.rotational(name), half(rolling, square), "J"))
    for pulley in view.turning:
        inertia = motion.rotor_inertia(pulley) if pulley in context.setting.rotors else None
        if inertia is not None:
            rim = context.setting.rim(pulley)
            square = _rim_squares(context, rim)
            equations.append(context.result(names.rotational(pulley), half(inertia, square), "J"))
    return equations


def _squares(context: Context, name: str) -> Expression:
    """v², or v² − v₀² where the phase starts with a speed."""
    final = context.motion.speed_tree(name) ** 2
    if not context.names.starts_moving:
        return final
    start = scaled(context.setting.ratio(name), context.names.start_speed)
    return final - start**2


def _rim_squares(context: Context, rim: Fraction) -> Expression:
    final = scaled(rim, context.names.speed) ** 2
    if not context.names.starts_moving:
        return final
    return final - scaled(rim, context.names.start_speed) ** 2


def balance(view: View) -> Equation:
    """External work on the left, change of energy on the right."""
    names = view.context.names
    works = [as_expression(names.work(force)) for force in view.working]
    energies: list[Operand] = [names.potential_change(name) for name in view.falling]
    energies += [names.kinetic(name) for name in view.massive]
    energies += [names.rotational(name) for name in view.turning]
    energies += thermal_trees(view)
    return Equation(left=total(works), right=total(energies), unit="J", name="work–energy theorem")


def speed_square(view: View) -> Expression:
    """The gain in squared common speed: twice the net force times distance over the mass."""
    context = view.context
    distance = context.names.distance
    pushes: list[Expression] = []
    for force in view.working:
        tree = work_tree(context, force)
        pushes.append(tree if tree is not None else as_expression(context.names.work(force)))
    pushes += [-potential_tree(context, name) for name in view.falling]
    pushes += [-tree for tree in thermal_trees(view)]
    forces = [rebuilt(tree, {distance.id: Number(value=1)}) for tree in pushes]
    return product(2, total(forces), distance) / moving_mass(view)


def view_of(context: Context, *, whole: bool) -> View | None:
    """The first featured system with Earth, or the first one without."""
    for choice in context.setting.scenario.systems:
        if (EARTH in choice.members) == whole:
            return View(context, choice)
    return None
