"""The third stretch: the same motion seen with each featured choice of system.

Every sentence follows from the account of the system: which forces are external, which of them
do work, which energies change. No choice of system has text of its own.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
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
    Operand,
    Root,
    Symbol,
    as_expression,
    evaluate,
)
from fallwork.lesson.steps.forces import KINDS, force_symbol
from fallwork.lesson.trees import half, product, signed, total
from fallwork.lesson.words import listing, say, sentence, the
from fallwork.mechanics import account
from fallwork.mechanics.solution import EARTH, Force, Interaction, SystemAccount, ZeroWork
from fallwork.scenario.model import SystemChoice

FORCE_WORDS = {
    Interaction.GRAVITY: "gravity",
    Interaction.NORMAL: "normal force",
    Interaction.FRICTION: "friction",
    Interaction.TENSION: "pull",
    Interaction.CONTACT: "push",
}


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
        """The members that move and have mass."""
        return tuple(n for n in self.context.setting.movers if n in self.choice.members)

    @cached_property
    def falling(self) -> tuple[str, ...]:
        """The members whose potential energy with Earth changes."""
        if not self.whole:
            return ()
        gravity = [self.context.setting.force(Interaction.GRAVITY, name) for name in self.moving]
        return tuple(force.on for force in gravity if force is not None and force.work)

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

    def step(
        self, kind: str, idea: Text, blocks: Sequence[Block], **more: tuple[Block, ...]
    ) -> Step:
        """One of the view's steps."""
        return Step(
            id=f"{self.choice.id}-{kind}",
            topic=f"{kind}.{self.topic}",
            title=sentence(f"system.{kind}.title"),
            idea=idea,
            blocks=tuple(blocks),
            **more,
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
            head=tuple(
                (sentence(f"system.forces.head.{column}"),)
                for column in ("force", "on", "by", "symbol")
            ),
            rows=tuple(_force_row(view, force) for force in view.account.external if _shown(force)),
        ),
    ]
    pairs = _internal_pairs(view)
    if pairs:
        blocks.append(Paragraph(text=say("system.forces.internal", pairs=listing(pairs))))
    if view.whole and context.setting.sliders and context.setting.hanging:
        blocks += [Paragraph(text=text) for text in _whole_remarks(view)]
    else:
        blocks.append(Paragraph(text=say("system.forces.before", the_slider=the(view.moving[0]))))
    return view.step("forces", say("system.forces.idea"), blocks)


def _whole_remarks(view: View) -> tuple[Text, ...]:
    context = view.context
    names = context.names
    tension = names.tension(context.string, context.slider)
    work = product(tension, names.distance)
    parts = {"the_slider": the(context.slider), "the_hanging": the(context.weight)}
    return (
        say("system.forces.both", T=tension, **parts),
        say("system.forces.internal-work", plus=work, minus=-work, **parts),
        say("system.forces.string"),
    )


def _shown(force: Force) -> bool:
    return force.reason is not ZeroWork.NO_FORCE and force.on != EARTH


def _force_row(view: View, force: Force) -> tuple[Text, ...]:
    if force.on in view.context.setting.movers:
        symbol: Text = (force_symbol(view.context, force),)
    else:
        symbol = _push_on_string(view.context, force)
    word = KINDS.get(force.interaction, force.interaction.value)
    return (word,), (the(force.on),), (the(force.partner),), symbol


def _push_on_string(context: Context, force: Force) -> Text:
    """The push of an ideal pulley on the string: its tension in two directions at once."""
    x, y = force.vector or (0.0, 0.0)
    if force.interaction is not Interaction.CONTACT or not math.isclose(abs(x), abs(y)):
        return ("—",)
    end = context.setting.apparatus.strings[force.on].path[0]
    return say(
        "directions.two",
        size=context.names.tension(force.on, end),
        first="forward" if x > 0 else "back",
        second="up" if y > 0 else "down",
    )


def _internal_pairs(view: View) -> list[str]:
    seen: list[str] = []
    for force in view.account.internal:
        if force.on in view.context.setting.movers and _shown(force):
            word = FORCE_WORDS[force.interaction]
            seen.append(f"the {word} of {the(force.partner)} on {the(force.on)}")
    return [text.replace("the gravity", "gravity") for text in seen]


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
}


def _reason(view: View, force: Force) -> Text:
    assert force.reason is not None
    key = _REASONS[force.reason]
    if force.interaction is Interaction.GRAVITY and key == "perpendicular":
        key = "perpendicular-gravity"
    return say(
        f"system.no-work.{key}",
        force=FORCE_WORDS[force.interaction],
        the_partner=the(force.partner),
        the_object=the(force.on),
        the_pulley=the(force.partner),
    )


def _work(view: View) -> Step:
    if not view.working:
        return view.step(
            "work", say("system.work.idea-none"), [Paragraph(text=say("system.work.none"))]
        )
    blocks: list[Block] = []
    for force in view.working:
        against = "-against" if (force.work or 0.0) < 0 else ""
        key = (
            "friction"
            if force.interaction is Interaction.FRICTION
            else (f"{force.interaction.value}{against}")
        )
        blocks += [
            Paragraph(text=say(f"system.work.{key}", the_object=the(force.on))),
            Working(equations=(_work_equation(view.context, force),)),
        ]
    pulled = any(force.interaction is Interaction.TENSION for force in view.working)
    if pulled and view.context.numbers:
        blocks.append(FigureSlot(kind="tension-work"))
    return view.step("work", say("system.work.idea-some"), blocks)


def _work_equation(context: Context, force: Force) -> Equation:
    """The work of one force as its component along the motion times the distance."""
    size = force_symbol(context, force)
    sign = -1 if (force.work or 0.0) < 0 else 1
    return _result(
        context, context.names.work(force), signed(sign, product(size, context.names.distance)), "J"
    )


def _potential(view: View) -> Step:
    context = view.context
    names, weight = context.names, view.falling[0]
    still = [name for name in view.moving if name not in view.falling]
    change = names.potential_change(weight)
    parts = {"the_hanging": the(weight), "the_slider": the(still[0]) if still else ""}
    return view.step(
        "potential",
        say("system.potential.idea"),
        [
            Paragraph(text=say("system.potential.belongs", **parts)),
            Paragraph(
                text=say(
                    "system.potential.zero" if still else "system.potential.zero-hanging",
                    d=names.distance,
                    **parts,
                )
            ),
            Paragraph(text=say("system.potential.change", d=names.distance, **parts)),
            Working(equations=(_result(context, change, potential_tree(context, weight), "J"),)),
        ],
    )


def potential_tree(context: Context, weight: str) -> Expression:
    """The change of potential energy of a hanging object and Earth, −m g d on the way down."""
    sign = -context.setting.senses[weight]
    return signed(sign, product(context.motion.gravity_on(weight), context.names.distance))


def _energy(view: View) -> Step:
    context = view.context
    several = len(view.moving) > 1
    both = listing([the(name) for name in view.moving])
    parts = {"both": both, "the_object": the(view.moving[0])}
    case = "all" if several else "one"
    energy = kinetic_symbol(view)
    mass = total(context.names.mass(name) for name in view.moving)
    half_mass = half(mass, as_expression(context.names.speed) ** 2)
    kinetic = Relation(sides=(as_expression(energy), half_mass), signs=("=",))
    speed = Root(body=product(2, energy) / mass)
    blocks: list[Block] = [
        Paragraph(text=say("system.energy.balance")),
        Working(equations=(balance(view),)),
        Paragraph(text=say(f"system.energy.gain-{case}", **parts)),
        Working(equations=(_result(context, energy, gain_tree(view), "J"),)),
        Paragraph(text=say(f"system.energy.speed-{case}", kinetic=kinetic, **parts)),
        Working(equations=(_result(context, context.names.speed, speed, "m/s"),)),
        Paragraph(text=say("system.energy.in-full")),
        Working(
            equations=(
                Equation(
                    left=as_expression(context.names.speed), right=speed_tree(view), unit="m/s"
                ),
            )
        ),
        Paragraph(text=say(f"system.energy.same{'' if view.first else '-again'}")),
    ]
    if several:
        blocks += _shares(view)
    if view.falling:
        blocks += _on_the_way(view)
    return view.step("energy", say("system.energy.idea"), blocks)


def kinetic_symbol(view: View) -> Symbol:
    """The kinetic energy of the system at the end."""
    if len(view.moving) == 1:
        return view.context.names.kinetic(view.moving[0])
    return view.context.names.kinetic_of_all(view.moving)


def gain_tree(view: View) -> Expression:
    """What the works and the potential energy leave for the kinetic energy."""
    names = view.context.names
    terms = [as_expression(names.work(force)) for force in view.working]
    return total([*terms, *(-as_expression(names.potential_change(n)) for n in view.falling)])


def _shares(view: View) -> list[Block]:
    context = view.context
    names = context.names
    square = as_expression(names.speed) ** 2
    return [
        Paragraph(text=say("system.energy.shares")),
        Working(
            equations=tuple(
                _result(context, names.kinetic(name), half(names.mass(name), square), "J")
                for name in view.moving
            )
        ),
    ]


def balance(view: View) -> Equation:
    """External work on the left, change of energy on the right."""
    names = view.context.names
    works = [as_expression(names.work(force)) for force in view.working]
    energies: list[Operand] = [names.potential_change(name) for name in view.falling]
    energies += [names.kinetic(name) for name in view.moving]
    return Equation(left=total(works), right=total(energies), unit="J", name="work–energy theorem")


def speed_tree(view: View) -> Expression:
    """The final speed from the account: twice the net gain over the moving mass."""
    context = view.context
    gains: list[Expression] = [
        signed(-1 if (force.work or 0.0) < 0 else 1, force_symbol(context, force))
        for force in view.working
    ]
    gains += [
        signed(context.setting.senses[name], context.motion.gravity_on(name))
        for name in view.falling
    ]
    mass = total(context.names.mass(name) for name in view.moving)
    return Root(body=product(2, total(gains), context.names.distance) / mass)


def _on_the_way(view: View) -> list[Block]:
    """The table of energies at the start, half way and at the end, and their bars."""
    context = view.context
    blocks: list[Block] = [_energy_table(view)]
    blocks.append(Paragraph(text=say("system.energy.half", share=f"{100 * 0.5**0.5:.0f}\u00a0%")))
    if context.numbers:
        blocks += [
            FigureSlot(kind="energy-bars", subject=view.choice.id),
            FigureSlot(kind="energy-position", subject=view.choice.id),
        ]
    return blocks


def _energy_table(view: View) -> Table:
    context = view.context
    names = context.names
    losses = [f for f in view.working if f.interaction is Interaction.FRICTION]
    head = [sentence("system.energy.head.at")]
    columns: list[tuple[Symbol, bool]] = []
    for name in view.falling:
        head.append(sentence("system.energy.head.potential").replace("{hanging}", the(name)))
        columns.append((names.potential_change(name), True))
    for name in view.moving:
        head.append(sentence("system.energy.head.kinetic").replace("{object}", the(name)))
        columns.append((names.kinetic(name), False))
    for force in losses:
        head.append(sentence("system.energy.head.lost"))
        columns.append((names.work(force), False))
    head.append(sentence("system.energy.head.sum"))
    return Table(
        caption=sentence("system.energy.caption"),
        head=tuple((column,) for column in head),
        rows=tuple(_energy_row(context, columns, label, share) for label, share in _SHARES),
    )


_SHARES = (("start", 0.0), ("half", 0.5), ("end", 1.0))


def _energy_row(
    context: Context, columns: Sequence[tuple[Symbol, bool]], label: str, share: float
) -> tuple[Text, ...]:
    """One row; a column that starts full (potential energy) empties, the others fill."""
    if not context.numbers:
        return (say(f"system.energy.rows-symbols.{label}"), *_symbol_cells(columns, share))
    d = evaluate(as_expression(context.names.distance))
    values = []
    for symbol, empties in columns:
        size = abs(symbol.value or 0.0)
        values.append(size * (1 - share) if empties else size * share)
    cells = [(context.amount(value, "J"),) for value in (*values, sum(values))]
    return (say(f"system.energy.rows.{label}", d=context.amount(share * d, "m")), *cells)


def _symbol_cells(columns: Sequence[tuple[Symbol, bool]], share: float) -> list[Text]:
    cells: list[Text] = []
    start: Expression = total(-as_expression(symbol) for symbol, empties in columns if empties)
    for symbol, empties in columns:
        tree = as_expression(symbol)
        if empties or symbol.letter == "W":
            tree = -tree
        left = 1 - share if empties else share
        cells.append({0.0: ("0",), 0.5: (half(tree),), 1.0: (tree,)}[left])
    return [*cells, (start,)]


def _result(context: Context, left: Operand, right: Expression, unit: str) -> Equation:
    return Equation(left=as_expression(left), right=right, unit=unit, numbers=context.numbers)


def view_of(context: Context, *, whole: bool) -> View | None:
    """The first featured system with Earth, or the first one without."""
    for choice in context.setting.scenario.systems:
        if (EARTH in choice.members) == whole:
            return View(context, choice)
    return None
