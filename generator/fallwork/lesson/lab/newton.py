"""What the steps about Newton's second law ask: what follows from the equation of each object."""

from collections.abc import Iterator, Mapping
from functools import cached_property

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Sum, Symbol
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved, inner_forces
from fallwork.lesson.trees import product, scaled, signed, total
from fallwork.mechanics.solution import Interaction, Undetermined


class Newton(Base):
    """The equations of motion and what they give."""

    def wheels(self, name: str) -> Equation | None:
        """What makes the wheels of a cart turn; None where nothing has to."""
        extra, rolling = self.rolling_mass(name), self.acting("rolling", name)
        if extra is None or rolling is None or not rolling.force.size:
            return None
        needed = product(extra, self.own_acceleration(name))
        right = signed(1 if rolling.along * self.senses[name] < 0 else -1, needed)
        return Equation(left=rolling.size, right=right, unit="N")

    @cached_property
    def inner_forces(self) -> tuple[list[Solved], tuple[Solved, ...]]:
        """Tensions and rigid pulls in the order in which they can be found, and the checks."""
        if self.moves and not (self.tied and self.taut):
            return [], ()
        found, checks = inner_forces(self)
        static = {self.friction(name) for name in self.frictions if not self.moves}
        return [each for each in found if each.symbol not in static], checks if self.moves else ()

    def pull_on(self, name: str) -> Expression | None:
        """The one pull that holds a weight: of a string, or of the pulley that carries it."""
        inner = self.inner(name)
        if len(inner) != 1 or inner[0].force.interaction is Interaction.CONTACT:
            return None
        return inner[0].size if inner[0].force.size is not None else None

    @property
    def friction_alone(self) -> Equation | None:
        """The difference of the accelerations out and back, in which only friction is left."""
        first = self.at(self.driven[0])
        if not self.later or self.part != 2 or self.common_inertia != first.common_inertia:
            return None
        rubbing = [
            scaled(self.ratio(name), self.friction_in_full(name)) for name in self.kinetic_frictions
        ]
        braking = total([*rubbing, *(-drag for drag in self.drags())])
        twice = product(2, braking) if isinstance(braking, Sum) else scaled(2, braking)
        difference = first.acceleration - self.acceleration
        return self.result(difference, twice / self.common_inertia, "m/s²")

    @property
    def checked_constraints(self) -> Iterator[tuple[Expression, Expression]]:
        """The two sides of what each string imposes on what moves."""
        for tie in map(self.constraint, self.taut):
            if set(tie) <= set(self.senses) and len(set(tie) & set(self.moving)) > 1:
                yield self.sides(tie)

    # ---- what stays at rest, and forces that stay open

    @property
    def limiting_masses(self) -> Mapping[str, Solved]:
        """The ``most`` and the ``least`` mass of a weight that static friction can hold, on a slope
        also the one for which it is ``free`` of friction; what there isn't is missing.
        """
        slider, pull = self.slider, self.acting("tension", self.slider)
        mass, sine = self.mass(slider), self.sine(slider)
        grip = product(self.static_coefficient(slider), self.cosine(slider) or 1)
        trees = {"most": product(mass, total([grip, -sine])) if sine else product(grip, mass)}
        if sine and pull and pull.along * self.slope_rad(slider) > 0:
            trees = {"most": product(mass, total([sine, grip]))}
            if not self.clings(slider):
                trees["least"] = product(mass, total([sine, -grip]))
            trees["free"] = product(mass, sine)
        return {
            mark: Solved(self.symbol(f"{mark}-mass", "", tree), tree, source=slider)
            for mark, tree in trees.items()
        }

    def holding_torque_needed(self, pulley: str) -> Expression | None:
        """The torque that a bearing must give so that a pulley stays at rest; None if open."""
        known = self.public
        drive = known.value(total(signed(sign, pull) for sign, pull in known.rim_pulls(pulley)))
        if drive is None or self.unpulled(pulley):
            return None
        way = 1 if drive >= 0 else -1
        difference = total(signed(way * sign, pull) for sign, pull in self.rim_pulls(pulley))
        return product(difference, self.radius(pulley))

    def open_symbol(self, each: Undetermined) -> Symbol:
        """The symbol of a force that the set-up doesn't settle."""
        if each.interaction is Interaction.FRICTION:
            return self.friction(each.on or "")
        if each.interaction is Interaction.BEARING_TORQUE:
            return self.holding_torque(each.on or "")
        open_ = (s for s in self.stretches if s.tension is None and s.string == each.partner)
        return self.tension_of(next(open_))
