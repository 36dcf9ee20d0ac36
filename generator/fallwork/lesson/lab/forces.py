"""What the steps about the forces on each object ask."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import cycle

from fallwork.lesson.context import Context
from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.elimination import Solved, inner_forces
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.labels import segments_at
from fallwork.lesson.steps.directions import direction, short_direction
from fallwork.lesson.steps.pieces import kind_of
from fallwork.lesson.trees import ZERO, product, scaled, signed, total
from fallwork.lesson.words import sentence
from fallwork.mechanics.layout import Element
from fallwork.mechanics.solution import Force, Interaction


@dataclass(frozen=True)
class Acting:
    """A force on an object as the pages tell of it."""

    context: Context
    force: Force
    part: Symbol | None = None  # the one tension, where a string pulls on two sides
    side: str = ""

    @property
    def sort(self) -> str:
        """The kind of interaction: ``normal``, ``friction``, ``contact`` and so on."""
        return self.force.interaction.value

    @property
    def kind(self) -> str:
        """The trade's word for it."""
        return sentence(f"kinds.side.{self.side}") if self.side else kind_of(self.force)

    @property
    def on(self) -> str:
        """What it acts on."""
        return self.force.on

    @property
    def by(self) -> str:
        """What exerts it."""
        return self.force.partner

    @property
    def size(self) -> Expression:
        """How strong it is."""
        return as_expression(self.part) if self.part else self.context.motion.size(self.force)

    @property
    def acts(self) -> bool:
        """Whether it is there at all."""
        return self.context.setting.acts(self.force)

    @property
    def along(self) -> float:
        """Its component along the positive sense of the object's path, N."""
        return self.context.setting.along(self.force) or 0.0

    @property
    def direction(self) -> str:
        """Its direction in a table, e.g. ``forward along the surface``."""
        return sentence(f"directions.{direction(self.context, self.force)}")

    @property
    def way(self) -> str:
        """The same in a word or two, for the middle of a sentence."""
        return short_direction(self.context, self.force)

    @property
    def from_below(self) -> bool:
        """Whether the string that exerts it runs round the pulley from below."""
        layout = self.context.setting.layout.strings[self.by]
        return layout.bight(layout.path.index(self.on)) > 0


@dataclass(frozen=True, kw_only=True)
class Far:
    """Something heavy that acts on an object only by way of a string."""

    string: str
    other: str
    direct: bool  # it stands on a string that ends on the object


@dataclass(frozen=True, kw_only=True)
class Held:
    """What hangs and moves: the pull on it beside gravity on it."""

    name: str
    pull: Expression
    gravity: Expression
    sign: str  # between pull and gravity: "<", "=" or ">"
    slowing: bool
    apart: bool  # the lesson shows values, and the two differ

    @property
    def relation(self) -> Relation:
        """T < m g."""
        return Relation(sides=(self.pull, self.gravity), signs=(self.sign,))


class Forces(Base):
    """The forces on each object."""

    @property
    def interactions(self) -> Iterator[Acting]:
        """The forces on everything that translates, kind by kind, each pair of objects once."""
        setting = self.context.setting
        for kind in Interaction:
            for name in setting.movers if kind is not Interaction.LANDING else ():
                for force in setting.forces_on(name):
                    if force.interaction is kind and force.partner not in setting.carried:
                        yield Acting(self.context, force)

    def acting(self, sort: str, name: str) -> Acting | None:
        """The first force of one kind on an object; None where there is none."""
        force = self.context.setting.force(Interaction(sort), name)
        return None if force is None else Acting(self.context, force)

    @property
    def at_fixed_pulleys(self) -> Iterator[tuple[str, str]]:
        """Each string with each fixed pulley that it passes, or on which it is wound."""
        setting = self.context.setting
        for string in setting.apparatus.strings.values():
            for name in string.path:
                if name in setting.pulleys and name not in setting.movers:
                    yield string.name, name

    def is_wound(self, string: str, pulley: str) -> bool:
        """Whether a string is wound on a pulley."""
        layout = self.context.setting.layout.strings[string]
        return layout.elements[layout.path.index(pulley)] is Element.DRUM

    def is_heavy(self, pulley: str) -> bool:
        """Whether gravity on a pulley that takes a torque to turn is to be told."""
        force = self.context.setting.force(Interaction.GRAVITY, pulley)
        return pulley in self.context.setting.rotors and force is not None and bool(force.size)

    @property
    def masses_and_g(self) -> list[Symbol]:
        """The masses of what translates, and the free-fall acceleration."""
        setting, names = self.context.setting, self.context.names
        masses = [names.mass(name) for name in setting.movers if setting.mass(name)]
        return [*masses, names.gravity]

    @property
    def ideal_pulleys(self) -> list[str]:
        """The pulleys that take no torque to turn."""
        setting = self.context.setting
        return [name for name in setting.pulleys if name not in setting.rotors]

    @property
    def rubbing_carts(self) -> list[str]:
        """The carts on which friction acts."""
        return [name for name in self.context.motion.frictions if self.context.setting.rolls(name)]

    # ---- free-body diagrams

    def drawn(self, name: str) -> Iterator[Acting]:
        """The forces in the diagram of an object; a string round a pulley pulls on two sides."""
        setting = self.context.setting
        for force in filter(setting.acts, setting.forces_on(name)):
            if force.interaction is not Interaction.CONTACT:
                yield Acting(self.context, force)
                continue
            path = setting.apparatus.strings[force.partner].path
            sides = cycle(("one", "other"))  # a pulley that is passed twice has two of each
            for at, side in zip(segments_at(path, name), sides, strict=False):
                yield Acting(
                    self.context, force, self.context.names.tension_at(force.partner, at), side
                )

    def not_drawn(self, name: str) -> Far | None:
        """What is tempting to draw and wrong, once for what slides and once for what hangs."""
        setting = self.context.setting
        alike = [n for n in setting.movers if (n in setting.sliders) == (name in setting.sliders)]
        tempting = {mover: far for mover in alike if (far := self._far(mover))}
        direct = [mover for mover, far in tempting.items() if far.direct]
        return tempting[name] if [name] == (direct or list(tempting))[:1] else None

    def _far(self, name: str) -> Far | None:
        setting = self.context.setting
        touching = {name, *(force.partner for force in setting.forces_on(name))}
        others = (*setting.hanging, *setting.sliders, *setting.lifts)
        hangs = name not in setting.sliders
        far = [
            other
            for other in (setting.movers if hangs else others)
            if other not in touching and setting.mass(other)
        ]
        paths = {
            string: setting.apparatus.strings[string].path for string in setting.strings_at(name)
        }
        if not far or not paths:
            return None
        if hangs:  # first what shares a string with it
            far.sort(key=lambda other: all(other not in path for path in paths.values()))
        leading = [string for string, path in paths.items() if far[0] in path]
        return Far(string=(leading or list(paths))[0], other=far[0], direct=bool(leading))

    @property
    def first_with_acceleration(self) -> str:
        """The first object with a mass times an acceleration; "" where there is none."""
        setting, motion = self.context.setting, self.context.motion
        moving = (n for n in setting.movers if motion.mass_times_acceleration(n) != ZERO)
        return next(moving, "") if setting.moves else ""

    # ---- Newton's second law

    def newton(self, name: str, *, common: bool = False) -> Equation:
        """Sum of the forces along the path = mass times acceleration, its own or the common one."""
        motion = self.context.motion
        return Equation(
            left=motion.resultant(name),
            right=motion.mass_times_acceleration(name, common=common),
            unit="N",
            name=f"Newton's second law for {self.context.the(name)}",
        )

    def gravity_along(self, name: str) -> Expression:
        """The component of gravity along a slope."""
        motion = self.context.motion
        return product(motion.gravity_on(name), motion.sine(name) or 1)

    def wheels(self, name: str) -> Equation | None:
        """What makes the wheels of a cart turn; None where nothing has to."""
        extra = self.context.motion.rolling_mass(name)
        force = self.context.setting.force(Interaction.ROLLING, name)
        if extra is None or force is None or not force.size:
            return None
        setting = self.context.setting
        gains = (setting.along(force) or 0.0) * setting.senses[name] < 0
        needed = product(extra, self.context.motion.own_acceleration(name))
        rolling = as_expression(self.context.names.rolling(name))
        return Equation(left=rolling, right=signed(1 if gains else -1, needed), unit="N")

    def rotation(self, pulley: str) -> Equation:
        """Sum of the torques = rotational inertia times angular acceleration."""
        names, parts = self.context.names, self.context.setting.pulleys[pulley]
        torques = [
            signed(sign, product(tension, names.radius(pulley)))
            for sign, tension in self.context.motion.rim_pulls(pulley)
        ]
        if parts.bearing_torque:
            torques.append(signed(-self.context.setting.onward, names.bearing_torque(pulley)))
        turning: Expression = ZERO
        if parts.inertia:
            turning = product(names.inertia(pulley), names.angular_acceleration(pulley))
        return Equation(left=total(torques), right=turning, unit="N·m")

    def at_the_rim(self, pulley: str) -> Equation:
        """The angular acceleration by the common acceleration."""
        names = self.context.names
        speedup = scaled(self.context.setting.rim(pulley), names.acceleration) / names.radius(
            pulley
        )
        alpha = as_expression(names.angular_acceleration(pulley))
        return Equation(left=alpha, right=speedup, unit="rad/s²")

    def is_disc(self, pulley: str) -> bool:
        """Whether the inertia of a pulley follows from its mass and radius."""
        given = getattr(self.context.setting.scenario.objects[pulley], "inertia", None)
        return given is None and bool(self.context.setting.pulleys[pulley].inertia)

    # ---- what the strings pull with

    @cached_property
    def inner_forces(self) -> tuple[tuple[Solved, ...], tuple[Solved, ...]]:
        """Tensions and rigid pulls in the order in which they can be found, and the checks."""
        if not self.context.setting.tied or not self.context.setting.taut:
            return (), ()
        return inner_forces(self.context)

    @property
    def held(self) -> Iterator[Held]:
        """Each hanging weight that moves and is held by one pull."""
        setting = self.context.setting
        for name in setting.hanging:
            pull = self._pull_on(name)
            if pull is None or setting.rests(name):
                continue
            acceleration = setting.phase.accelerations[name]
            gravity = self.context.motion.gravity_on(name)
            values = self.context.value(pull), self.context.value(gravity)
            yield Held(
                name=name,
                pull=pull,
                gravity=gravity,
                sign="=<>"[(acceleration > 0) - (acceleration < 0)],
                slowing=acceleration * setting.ways[name] < 0,
                apart=bool(acceleration) and None not in values and values[0] != values[1],
            )

    def _pull_on(self, name: str) -> Expression | None:
        """The one pull that holds a weight: of a string, or of the pulley that carries it."""
        inner = self.context.motion.inner(name)
        if len(inner) != 1 or inner[0].force.interaction is Interaction.CONTACT:
            return None
        return inner[0].size if inner[0].force.size is not None else None
