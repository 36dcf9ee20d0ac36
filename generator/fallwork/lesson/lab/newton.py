"""What the steps about Newton's second law ask: the equation of each object, and what follows."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved, inner_forces
from fallwork.lesson.trees import ZERO, product, scaled, signed, total
from fallwork.mechanics.solution import Interaction


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


class Newton(Base):
    """The equations of motion."""

    def newton(self, name: str, *, common: bool = False) -> Equation:
        """Sum of the forces along the path = mass times acceleration, its own or the common one."""
        return Equation(
            left=self.resultant(name),
            right=self.mass_times_acceleration(name, common=common),
            unit="N",
            name=f"Newton's second law for {self.the(name)}",
        )

    def gravity_along(self, name: str) -> Expression:
        """The component of gravity along a slope."""
        return product(self.gravity_on(name), self.sine(name) or 1)

    def wheels(self, name: str) -> Equation | None:
        """What makes the wheels of a cart turn; None where nothing has to."""
        extra = self.rolling_mass(name)
        force = self.force(Interaction.ROLLING, name)
        if extra is None or force is None or not force.size:
            return None
        gains = (self.along(force) or 0.0) * self.senses[name] < 0
        needed = product(extra, self.own_acceleration(name))
        rolling = as_expression(self.rolling(name))
        return Equation(left=rolling, right=signed(1 if gains else -1, needed), unit="N")

    def rotation(self, pulley: str) -> Equation:
        """Sum of the torques = rotational inertia times angular acceleration."""
        parts = self.pulleys[pulley]
        torques = [
            signed(sign, product(tension, self.radius(pulley)))
            for sign, tension in self.rim_pulls(pulley)
        ]
        if parts.bearing_torque:
            torques.append(signed(-self.onward, self.bearing_torque(pulley)))
        turning: Expression = ZERO
        if parts.inertia:
            turning = product(self.inertia(pulley), self.angular_acceleration(pulley))
        return Equation(left=total(torques), right=turning, unit="N·m")

    def at_the_rim(self, pulley: str) -> Equation:
        """The angular acceleration by the common acceleration."""
        speedup = scaled(self.rim(pulley), self.acceleration) / self.radius(pulley)
        alpha = as_expression(self.angular_acceleration(pulley))
        return Equation(left=alpha, right=speedup, unit="rad/s²")

    # ---- what the strings pull with

    @cached_property
    def inner_forces(self) -> tuple[tuple[Solved, ...], tuple[Solved, ...]]:
        """Tensions and rigid pulls in the order in which they can be found, and the checks."""
        if not self.tied or not self.taut:
            return (), ()
        return inner_forces(self)

    @property
    def held(self) -> Iterator[Held]:
        """Each hanging weight that moves and is held by one pull."""
        for name in self.hanging:
            pull = self._pull_on(name)
            if pull is None or self.rests(name):
                continue
            acceleration = self.phase.accelerations[name]
            gravity = self.gravity_on(name)
            values = self.value(pull), self.value(gravity)
            yield Held(
                name=name,
                pull=pull,
                gravity=gravity,
                sign="=<>"[(acceleration > 0) - (acceleration < 0)],
                slowing=acceleration * self.ways[name] < 0,
                apart=bool(acceleration) and None not in values and values[0] != values[1],
            )

    def _pull_on(self, name: str) -> Expression | None:
        """The one pull that holds a weight: of a string, or of the pulley that carries it."""
        inner = self.inner(name)
        if len(inner) != 1 or inner[0].force.interaction is Interaction.CONTACT:
            return None
        return inner[0].size if inner[0].force.size is not None else None
