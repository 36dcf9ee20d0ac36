"""What the steps about forces and motions ask: the forces on each object, what strings do to
motions, the equations and what they give; how speeds, paths and angles follow, and what falls
freely after a landing. Signs are in the lesson's sense.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from fallwork.lesson.document import Equation, segments_at
from fallwork.lesson.expression import Expression, Sum
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved, inner_forces, rates
from fallwork.lesson.lab.things import those
from fallwork.lesson.trees import ZERO, half, parted, product, scaled, signed, sized, total
from fallwork.mechanics.solution import Ending, Interaction


class Motion(Base):
    """Forces and motions in one part of the run."""

    # What moves and has other forces on it than gravity alone.
    not_falling_freely = those(
        "moving", lambda lab, name: len(list(filter(lab.acts, lab.forces_on(name)))) > 1
    )

    @property
    def interactions(self) -> Iterable[Acting]:
        """The forces on everything that translates, kind by kind, each pair of objects once."""
        kinds = [kind for kind in Interaction if kind is not Interaction.LANDING]
        forces = [f for name in self.movers for f in self.forces_on(name)]
        told = (f for kind in kinds for f in forces if f.interaction is kind)
        return (Acting(self, force) for force in told if force.partner not in self.carried)

    @property
    def called_strings(self) -> bool:
        """Whether whatever joins the objects is called a string, none a coupling or the like."""
        nouns = (self.scenario.nouns.noun(name) for name in self.apparatus.strings)
        return all("string" in noun.split(" ") for noun in nouns)

    def drawn(self, name: str) -> Iterator[Acting]:
        """The forces in the diagram of an object; a string round a pulley pulls on two sides."""
        for force in filter(self.acts, self.forces_on(name)):
            if force.interaction is not Interaction.CONTACT:
                yield Acting(self, force)
                continue
            pieces = segments_at(self.apparatus.strings[force.partner].path, name)
            for at, side in zip(pieces, ("one", "other"), strict=False):
                yield Acting(self, force, self.tension_at(force.partner, at), side)

    def on(self, string: str) -> Mapping[str, int]:
        """The movers on a string, and by how much it would lengthen per unit of motion of each."""
        return {name: k for name, k in self.constraint(string).items() if name in self.senses}

    def tie(self, string: str) -> str:
        """What a string does to their motions: ``same`` (equal and opposite), ``wound`` (on a
        pulley that turns), ``unequal`` (it passes pulleys that move), ``held``; ``part`` where
        only part of it pulls, "" where it ties nothing.
        """
        line, movers = self.rigging.strings[string], self.on(string)
        spans, everything = set(line.spans), len(self.constraint(string))
        if spans & self.taut_spans and not spans <= self.taut_spans:
            return "part"
        if len(movers) == 2 == everything and len(set(map(abs, movers.values()))) == 1:
            return "same"
        if len(movers) == 1 < everything and not set(line.path[1:-1]) & set(self.lifts):
            return "wound"
        return "unequal" if len(movers) > 1 else "held" if movers else ""

    def seen_from(self, pulley: str, movers: Mapping[str, int]) -> tuple[Expression, ...]:
        """The accelerations of a string's two ends, if weights, relative to a moving pulley."""
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
        return [sum_ for tie in self.spans(string) if (sum_ := rates(self, tie)) != ZERO]

    @property
    def checked_constraints(self) -> Iterator[tuple[Expression, Expression]]:
        """The two sides of what each string imposes on what moves."""
        for tie in map(self.constraint, self.taut):
            if set(tie) <= set(self.senses) and len(set(tie) & set(self.moving)) > 1:
                yield self.sides(tie)

    def sides(self, movers: Mapping[str, int]) -> tuple[Expression, Expression]:
        """The accelerations on a string: those that give string left, the others right."""
        take, give = parted(rates(self, movers))
        return (take, give) if give == ZERO else (give, take)

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
        if not self.index or self.part != 2 or self.common_inertia != first.common_inertia:
            return None
        rubbing = [scaled(self.ratio(n), self.friction_in_full(n)) for n in self.kinetic_frictions]
        braking = total([*rubbing, *(-drag for drag in self.drags())])
        twice = product(2, braking) if isinstance(braking, Sum) else scaled(2, braking)
        difference = first.acceleration - self.acceleration
        return self.result(difference, twice / self.common_inertia, "m/s²")

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
        symbols = {mark: self.symbol(f"{mark}-mass", "", tree) for mark, tree in trees.items()}
        return {mark: Solved(symbols[mark], tree, slider) for mark, tree in trees.items()}

    def holding_torque_needed(self, pulley: str) -> Expression | None:
        """The torque that a bearing must give so that a pulley stays at rest; None if open."""
        known = self.public
        drive = known.value(total(signed(sign, pull) for sign, pull in known.rim_pulls(pulley)))
        if drive is None or self.unpulled(pulley):
            return None
        way = 1 if drive >= 0 else -1
        difference = total(signed(way * sign, pull) for sign, pull in self.rim_pulls(pulley))
        return product(difference, self.radius(pulley))

    @property
    def distance_from(self) -> tuple[str, Expression]:
        """Where the distance of the reference mover comes from, and how it follows: ``given``, from
        that of the ``run``'s object, from the ``room`` on a surface, or its ``value`` alone.
        """
        open_ = "value", self.distance
        if self.distance_is_given:
            return "given", self.distance
        if self.tied and self.ending in (Ending.LANDS, Ending.COVERED):
            run = self.apparatus.run.object
            far = total([*self._ways_before(run), self.run_distance])
            return "run", scaled(1 / self.ratio(run), far)
        room = self.room if self.tied and self.ending is Ending.REACHES else None
        return ("room", scaled(1 / self.ratio(self.ender), room)) if room else open_

    @property
    def room(self) -> Expression | None:
        """How far the object that ends the part could move on its surface, from the givens."""
        name = self.ender
        if name not in self.sliders or self.given_slider(name).starts_at is None:
            return None
        place, surface = self.start_place(name), self.surface_under(name)
        before = self._ways_before(name)
        if (self.phase.displacements[name] or 0.0) < 0:
            return total([place, *before])
        if self.scenario.surfaces[surface].length is None:
            return None
        return total([self.length(surface), -place, *before])

    def _ways_before(self, name: str) -> Iterator[Expression]:
        """The path in each earlier part: to be made good where it led away from this one's end."""
        now = self.phase.displacements[name] or 0.0
        for earlier in (self.at(index) for index in self.driven if index < self.index):
            then = earlier.phase.displacements[name] or 0.0
            yield signed(1 if now * then < 0 else -1, earlier.distance_tree(name))

    def at_start(self, name: str, *, turning: bool = False) -> Expression:
        """Its velocity at the start, minus the speed if that leads back; 0 from rest."""
        if turning:
            first = self.phase.start_angular_velocities.get(name, 0.0) * self.spins[name]
        else:
            first = self.phase.start_velocities[name] * self.senses[name]
        size = self.start_spin if turning else self.start_speed_of
        return signed(1 if first > 0 else -1, size(name)) if first else ZERO

    def speed_after(self, name: str, *, turning: bool = False) -> Expression:
        """v₀ + a t."""
        gain = self.angular_acceleration(name) if turning else self.acceleration_in(name)
        return total([self.at_start(name, turning=turning), product(gain, self.time)])

    def path_after(self, name: str, *, turning: bool = False) -> Expression:
        """v₀ t + ½ a t²."""
        gain = self.angular_acceleration(name) if turning else self.acceleration_in(name)
        start = self.at_start(name, turning=turning)
        sign, size = sized(start)
        moved = signed(sign, product(size, self.time))
        steady = not turning and self.phase.accelerations[name] == 0 and start != ZERO
        return moved if steady else total([moved, half(gain, self.time**2)])

    def let_go(self, sense: int) -> list[str]:
        """The hanging objects in free fall that move down (1) or still up (-1)."""
        free = [name for name in self.moving if name not in self.not_falling_freely]
        return [name for name in free if name in self.hanging and self.senses[name] == sense]
