"""What the steps about forces, strings and Newton's second law ask."""

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from fallwork.lesson.document import Equation, segments_at
from fallwork.lesson.expression import Expression, Sum, Symbol
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved, inner_forces, rates
from fallwork.lesson.trees import ZERO, product, scaled, signed, total
from fallwork.mechanics.solution import Interaction, Undetermined


class Newton(Base):
    """The forces on each object, what strings do to motions, the equations and what they give."""

    @property
    def interactions(self) -> Iterable[Acting]:
        """The forces on everything that translates, kind by kind, each pair of objects once."""
        forces = [f for name in self.movers for f in self.forces_on(name)]
        kinds = [kind for kind in Interaction if kind is not Interaction.LANDING]
        told = [f for kind in kinds for f in forces if f.interaction is kind]
        return (Acting(self, force) for force in told if force.partner not in self.carried)

    @property
    def called_strings(self) -> bool:
        """Whether whatever joins the objects is called a string, none a coupling or the like."""
        nouns = (self.scenario.nouns.noun(name) for name in self.apparatus.strings)
        return all("string" in noun.split(" ") for noun in nouns)

    @property
    def gliders(self) -> list[str]:
        """What rides on a cushion of air."""
        return [name for name in self.sliders if self.bodies[name].kind == "glider"]

    @property
    def pushed(self) -> str:
        """What the hand pushes: where it has the speed that is given, what runs on a surface."""
        run = self.apparatus.run.object
        riders = [name for name in self.sliders if name in self.as_far_as(run)]
        return run if run in riders or not riders else riders[0]

    @property
    def runs_down(self) -> list[str]:
        """What static friction alone can't hold on its slope."""
        return [name for name in self.sliders if not self.clings(name)]

    # ---- free-body diagrams

    def drawn(self, name: str) -> Iterator[Acting]:
        """The forces in the diagram of an object; a string round a pulley pulls on two sides."""
        for force in filter(self.acts, self.forces_on(name)):
            if force.interaction is not Interaction.CONTACT:
                yield Acting(self, force)
                continue
            pieces = segments_at(self.path_of(force.partner), name)
            for at, side in zip(pieces, ("one", "other"), strict=False):
                yield Acting(self, force, self.tension_at(force.partner, at), side)

    # ---- strings

    def on(self, string: str) -> Mapping[str, int]:
        """The movers on a string, and by how much it would lengthen per unit of motion of each."""
        return {name: k for name, k in self.constraint(string).items() if name in self.senses}

    def tie(self, string: str) -> str:
        """What a string does to their motions: ``same`` (equal and opposite), ``wound`` (on a
        pulley that turns), ``unequal`` (it passes pulleys that move), ``held``; ``part`` where
        only part of it pulls, "" where it ties nothing.
        """
        spans, movers = set(self.rigging.strings[string].spans), self.on(string)
        everything = len(self.constraint(string))
        if spans & self.taut_spans and not spans <= self.taut_spans:
            return "part"
        if len(movers) == 2 == everything and len(set(map(abs, movers.values()))) == 1:
            return "same"
        if len(movers) == 1 < everything and not set(self.path_of(string)[1:-1]) & set(self.lifts):
            return "wound"
        return "unequal" if len(movers) > 1 else "held" if movers else ""

    def seen_from(self, pulley: str, movers: Mapping[str, int]) -> tuple[Expression, ...]:
        """The accelerations of a string's two ends, if weights, relative to a moving pulley that it
        passes, each in its own sense; none of others.
        """
        ends = sorted((n for n in movers if n != pulley), key=lambda name: self.senses[name])
        if len(ends) != 2 or set(ends) - set(self.hanging) or any(map(self.rests, movers)):
            return ()
        own, drawn = self.acceleration_of, signed(self.senses[pulley], self.acceleration_of(pulley))
        return tuple(
            total([signed(way * self.senses[end], own(end)), signed(-way, drawn)])
            for end, way in zip(ends, (-1, 1), strict=True)
        )

    def kept_lengths(self, string: str) -> list[Expression]:
        """Sums of accelerations that vanish while each taut part of a string keeps its length."""
        conditions = (rates(self, tie) for tie in self.spans(string))
        return [condition for condition in conditions if condition != ZERO]

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
