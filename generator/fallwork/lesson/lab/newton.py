"""What the steps about Newton's second law ask: the equation of each object, and what follows."""

from collections.abc import Iterator, Mapping
from functools import cached_property

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved, inner_forces
from fallwork.lesson.trees import ZERO, product, scaled, signed, total
from fallwork.mechanics.solution import Interaction, Undetermined


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

    def pull_on(self, name: str) -> Expression | None:
        """The one pull that holds a weight: of a string, or of the pulley that carries it."""
        inner = self.inner(name)
        if len(inner) != 1 or inner[0].force.interaction is Interaction.CONTACT:
            return None
        return inner[0].size if inner[0].force.size is not None else None

    # ---- what stays at rest, and forces that stay open

    @property
    def pulls_at_rest(self) -> list[Solved]:
        """The tensions and rigid pulls, from the balance of forces."""
        static = {self.friction(name) for name in self.frictions}
        return [solved for solved in inner_forces(self)[0] if solved.symbol not in static]

    @property
    def has_range(self) -> bool:
        """Whether the weights that static friction can hold are to be told."""
        rests = not self.moves and bool(self.frictions)
        return rests and self.is_plain and not self.open_forces

    @property
    def limiting_masses(self) -> Mapping[str, Solved]:
        """The ``most`` and the ``least`` mass of a weight that static friction can hold, on a slope
        also the one for which it is ``free`` of friction; what there isn't is missing.
        """
        return {
            mark: Solved(self.symbol(f"{mark}-mass", "", tree), tree, source=self.slider)
            for mark, tree in self._limiting_masses(self.slider)
        }

    def _limiting_masses(self, slider: str) -> Iterator[tuple[str, Expression]]:
        mass, coefficient = self.mass(slider), self.static_coefficient(slider)
        sine, cosine = self.sine(slider), self.cosine(slider)
        grip = product(coefficient, cosine) if cosine is not None else as_expression(coefficient)
        pull = self.force(Interaction.TENSION, slider)
        along = 0.0 if pull is None else self.along(pull) or 0.0
        if sine is None:
            yield "most", product(grip, mass)
        elif along * self.slope_rad(slider) <= 0:  # the string pulls down the slope
            yield "most", product(mass, total([grip, -sine]))
        else:
            yield "most", product(mass, total([sine, grip]))
            if not self.clings(slider):
                yield "least", product(mass, total([sine, -grip]))
            yield "free", product(mass, sine)

    def holding_torque_needed(self, pulley: str) -> Expression | None:
        """The torque that a bearing must give so that a pulley stays at rest; None if open."""
        if self.unpulled(pulley):
            return None
        pulls = list(self.rim_pulls(pulley))
        tensions = {self.tension_of(s).id: s.tension for s in self.stretches}
        sizes = [tensions[pull.id] for _, pull in pulls]
        if None in sizes:
            return None
        force = sum(sign * (size or 0.0) for (sign, _), size in zip(pulls, sizes, strict=True))
        way = 1 if force >= 0 else -1
        difference = total(signed(way * sign, pull) for sign, pull in pulls)
        return product(difference, self.radius(pulley))

    def open_symbol(self, each: Undetermined) -> Symbol:
        """The symbol of a force that the set-up doesn't settle."""
        if each.interaction is Interaction.FRICTION:
            return self.friction(each.on or "")
        if each.interaction is Interaction.BEARING_TORQUE:
            return self.holding_torque(each.on or "")
        open_ = (s for s in self.stretches if s.tension is None and s.string == each.partner)
        return self.tension_of(next(open_))
