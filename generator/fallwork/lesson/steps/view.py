"""One choice of system seen in one phase: what is external, what works, which energies change.

Takes a context and a choice; every sentence of the steps about systems follows from it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Step, Text
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression
from fallwork.lesson.steps.works import gathered, potential_tree
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import sentence, title
from fallwork.mechanics import account
from fallwork.mechanics.solution import Force, Interaction, SystemAccount
from fallwork.scenario.model import SystemChoice
from fallwork.scenario.nouns import EARTH


@dataclass(frozen=True)
class View:
    """One choice of system, and what its account says of the phase."""

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
    def again(self) -> str:
        """The mark of sentences for a system that isn't the first one."""
        return "" if self.first else "-again"

    @property
    def topic(self) -> str:
        """``whole`` or ``part``: the ending of its steps' topics."""
        return "whole" if self.whole else "part"

    def topic_of(self, kind: str) -> str:
        """The topic of one of its steps; ``other`` where less than all that moves is inside.

        Potential energy is explained where it first comes up, however narrow the system is.
        """
        if kind == "energy" and self.outside:
            return "energy.outside"
        widest = view_of(self.context, whole=True)
        narrow = self.whole and widest is not None and widest.choice != self.choice
        return f"{kind}.other" if narrow and kind != "potential" else f"{kind}.{self.topic}"

    @cached_property
    def moving(self) -> tuple[str, ...]:
        """The members that move along a path."""
        setting = self.context.setting
        members = self.choice.members
        return tuple(n for n in setting.movers if n in members and not setting.rests(n))

    @cached_property
    def falling(self) -> tuple[str, ...]:
        """The members whose potential energy with Earth changes."""
        if not self.whole:
            return ()
        gravity = [self.context.setting.force(Interaction.GRAVITY, name) for name in self.moving]
        return tuple(force.on for force in gravity if force is not None and force.work)

    @cached_property
    def turning(self) -> tuple[str, ...]:
        """The members with rotational energy: carts whose wheels count, then pulleys."""
        setting = self.context.setting
        carts = tuple(name for name in self.moving if setting.wheel_mass(name))
        pulleys = tuple(
            name
            for name in setting.spinning
            if name in self.choice.members and setting.pulleys[name].inertia
        )
        return (*carts, *pulleys)

    @property
    def outside(self) -> tuple[str, ...]:
        """Pulleys outside that take energy from the strings of a system with Earth."""
        if not self.whole:
            return ()
        partners = {force.partner for force in self.working}
        return tuple(name for name in self.context.setting.rotors if name in partners)

    @property
    def massive(self) -> tuple[str, ...]:
        """The members that move and have mass."""
        return tuple(name for name in self.moving if self.context.setting.mass(name))

    @property
    def carriers(self) -> tuple[str, ...]:
        """The members with kinetic energy, turning pulleys included."""
        return tuple(dict.fromkeys((*self.massive, *self.turning)))

    @cached_property
    def rubbed(self) -> tuple[str, ...]:
        """The members whose friction on a surface is inside, so that it gives thermal energy."""
        setting = self.context.setting
        return tuple(
            name
            for name in self.context.motion.kinetic_frictions
            if name in self.choice.members
            and setting.apparatus.bodies[name].surface in self.choice.members
        )

    @cached_property
    def working(self) -> tuple[Force, ...]:
        """The external forces that do work; an undetermined work counts as one."""
        return tuple(
            force
            for force in self.account.external
            if force.work or (force.work is None and force.reason is None)
        )

    @cached_property
    def idle(self) -> tuple[Force, ...]:
        """The external forces that do none, those on moving or flexible members first."""
        return tuple(
            force
            for force in self.account.external
            if not force.work and force.on != EARTH and force.reason is not None
        )

    # Its energies.

    @property
    def together(self) -> bool:
        """Whether its kinetic energy has several parts."""
        return len(self.carriers) > 1 or bool(self.turning)

    @cached_property
    def kinetic_symbol(self) -> Symbol:
        """The kinetic energy of the system at the end, or its change."""
        names = self.context.names
        return (
            names.kinetic_of_all(self.carriers) if self.together else names.kinetic(self.massive[0])
        )

    @cached_property
    def thermal(self) -> list[Expression]:
        """The thermal energy of each pair that rubs inside the system, f d."""
        motion = self.context.motion
        return [product(motion.frictions[n], motion.distance_tree(n)) for n in self.rubbed]

    @property
    def gain(self) -> Expression:
        """What the works, the potential and the thermal energy leave for the kinetic energy."""
        names = self.context.names
        terms = [as_expression(names.work(force)) for force in self.working]
        terms += [-as_expression(names.potential_change(name)) for name in self.falling]
        return total([*terms, *(-tree for tree in self.thermal)])

    @property
    def gain_in_full(self) -> list[Expression]:
        """The same with each work as force times distance, friction last.

        A work without a formula stands as its symbol.
        """
        context = self.context
        pushes: list[Expression] = []
        rubs = [force.interaction is Interaction.FRICTION for force in self.working]
        for force in self.working:
            tree = gathered(context, force)
            pushes.append(tree if tree is not None else as_expression(context.names.work(force)))
        braking = [push for push, brakes in zip(pushes, rubs, strict=True) if brakes]
        driving = [push for push, brakes in zip(pushes, rubs, strict=True) if not brakes]
        heights = [-potential_tree(context, name) for name in self.falling]
        return [*driving, *heights, *braking, *(-tree for tree in self.thermal)]

    @property
    def balance(self) -> Equation:
        """External work on the left, change of energy on the right."""
        names = self.context.names
        works = [as_expression(names.work(force)) for force in self.working]
        energies: list[Operand] = [names.potential_change(name) for name in self.falling]
        energies += [names.kinetic(name) for name in self.massive]
        energies += [names.rotational(name) for name in self.turning]
        energies += self.thermal
        return Equation(
            left=total(works), right=total(energies), unit="J", name="work–energy theorem"
        )

    def step(self, kind: str, idea: Text, blocks: Sequence[Block]) -> Step:
        """One of the view's steps."""
        return Step(
            id=f"{self.choice.id}-{kind}",
            topic=self.topic_of(kind),
            title=title(f"system.{kind}.title", title=self.choice.title),
            short=sentence(f"system.{kind}.short"),
            idea=idea,
            blocks=tuple(blocks),
        )


def view_of(context: Context, *, whole: bool) -> View | None:
    """The featured system with Earth that holds most of what moves, or the first one without."""
    choices = [one for one in context.setting.scenario.systems if (EARTH in one.members) == whole]
    views = [View(context, choice) for choice in choices]
    if not whole:
        return next(iter(views), None)
    return max(views, key=lambda view: len({*view.moving, *view.turning}), default=None)
