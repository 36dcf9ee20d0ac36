"""Symbols of forces, as sizes, and of works and energies; what turns pulleys."""

from collections.abc import Callable, Iterator, Sequence

from fallwork.lesson.expression import Expression, Function, Symbol
from fallwork.lesson.lab.setup import Setup, Stretch
from fallwork.lesson.lab.symbols import Symbols, interaction_row
from fallwork.lesson.trees import product, signed
from fallwork.lesson.words import texts
from fallwork.mechanics import account
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario.report import listed


def _size(kind: str, interaction: Interaction) -> Callable[["Strengths", str], Symbol]:
    """A method that gives the strength of such a force, or torque, on an object."""
    return lambda lab, name: lab.symbol(kind, name, lab.size_of(interaction, name))


def _of_slope(function: str) -> Callable[["Strengths", str], Expression | None]:
    """A method that gives a function of the slope below an object."""

    def of(lab: "Strengths", name: str) -> Expression | None:
        if not lab.slope_rad(name) or lab.upright(name):
            return None
        return Function(name=function, argument=lab.slope(lab.surface_under(name)))

    return of


class Strengths(Symbols, Setup):
    """Forces, works and energies in one phase."""

    def coefficient(self, name: str) -> Symbol:
        """The coefficient of kinetic friction: one symbol for all that have it from the surface."""
        body, alike = self.given_slider(name), self.rub_alike(name)
        written = body.friction or self.scenario.surfaces[body.runs_on].friction
        kind = "rolling-friction" if body.kind == "cart" else "kinetic-friction"
        return self.given(kind, alike[0], written, all=self.all_of(alike))

    def static_coefficient(self, name: str) -> Symbol:
        """The coefficient of static friction; the kinetic one where none is given or it is more."""
        body, counts = self.given_slider(name), self.bodies[name].static_friction
        for each in (body.static_friction, self.scenario.surfaces[body.runs_on].static_friction):
            if each is not None and each.value == counts:
                return self.given("static-friction", name, each)
        return self.coefficient(name)

    normal = _size("normal", Interaction.NORMAL)  # of the surface on an object
    rolling = _size("rolling", Interaction.ROLLING)  # of the surface on the rims of the wheels
    holding_torque = _size("holding-torque", Interaction.BEARING_TORQUE)  # on a pulley at rest

    def size_of(self, interaction: Interaction, name: str) -> float | None:
        """How strong the first force of a kind on an object is, N; 0 where there is none."""
        force = self.force(interaction, name)
        return 0.0 if force is None else force.size

    def friction(self, name: str) -> Symbol:
        """The friction force on an object, as a magnitude; static friction has one of its own."""
        kind = "friction-force" if self.sliding(name) else "static-friction-force"
        return self.symbol(kind, name, self.size_of(Interaction.FRICTION, name))

    def friction_limit(self, name: str) -> Symbol:
        """The most that static friction can reach."""
        normal = self.size_of(Interaction.NORMAL, name) or 0.0
        return self.symbol("friction-limit", name, self.grip(name) * normal)

    def support(self, name: str) -> Symbol:
        """The pull of a moving pulley on what hangs rigidly from it."""
        size, pulley = self.size_of(Interaction.AXLE, name), self.the(self.carried[name])
        return self.symbol("support", name, size, pulley=pulley)

    def tension(self, string: str, name: str, *, after: bool = False) -> Symbol:
        """The tension of a string where it meets an object; ``after`` it, for a pulley."""
        return self.tension_of(self.stretch(string, name, after=after))

    def tension_at(self, string: str, segment: int) -> Symbol:
        """The tension of a straight piece of string, counted along its path."""
        own = (stretch for stretch in self.stretches if stretch.string == string)
        return self.tension_of(next(stretch for stretch in own if segment <= stretch.last))

    def tension_of(self, stretch: Stretch) -> Symbol:
        """The tension of a stretch of string."""
        parts = self.rigging.strings[stretch.string].spans
        kind = "tension" if len(parts) == 1 else "tension-between"
        movers, at = (*self.bodies, *self.lifts), self.stretches.index(stretch)
        pulled = [next((n for n in movers if n in s.objects), "") for s in self.stretches]
        # marked by the object that it pulls where each stretch has one of its own, else by a number
        alone = len(self.apparatus.strings) == 1 and len(set(pulled)) == len(pulled) and pulled[at]
        mark = self.marks[pulled[at]] if alone else str(at + 1)
        ends = {"first": self.the(stretch.objects[0]), "last": self.the(stretch.objects[-1])}
        words = {"mark": mark if len(pulled) > 1 else "", "the": self.the(stretch.string), **ends}
        return self.symbol(kind, "", stretch.tension, key=stretch.key, **words)

    def stretch(self, string: str, name: str, *, after: bool = False) -> Stretch:
        """The stretch of a string that meets an object."""
        found = [s for s in self.stretches if s.string == string and name in s.objects]
        return found[-1] if after else found[0]

    def gravity_on(self, name: str) -> Expression:
        """The size of gravity on an object, m g."""
        return product(self.mass(name), self.gravity)

    sine = _of_slope("sin")  # of the slope below an object; None on the level and for what hangs
    cosine = _of_slope("cos")

    def normal_in_full(self, name: str) -> Expression:
        """The normal force from the givens: m g, on a slope m g cos θ, beside an upright one 0."""
        return product(0 if self.upright(name) else self.gravity_on(name), self.cosine(name) or 1)

    def friction_in_full(self, name: str) -> Expression:
        """The kinetic friction force from the givens, μ m g or μ m g cos θ."""
        return product(self.coefficient(name), self.normal_in_full(name))

    def rotor_inertia(self, pulley: str) -> Expression | None:
        """I/r² of a pulley."""
        heavy = self.pulleys[pulley].inertia
        return self.inertia(pulley) / self.radius(pulley) ** 2 if heavy else None

    def rotor_drag(self, pulley: str) -> Expression | None:
        """τ/r of a pulley."""
        braked = self.pulleys[pulley].bearing_torque
        return self.bearing_torque(pulley) / self.radius(pulley) if braked else None

    def rim_pulls(self, pulley: str) -> Iterator[tuple[int, Symbol]]:
        """The pulls of taut strings at the rim; one that turns the pulley its way is positive. A
        string that ends at a moving pulley holds its hook and not its rim.
        """
        way, hooked = self.spins[pulley], self.pulleys[pulley].moving
        for string in self.apparatus.strings.values():
            ends = string.path[0], string.path[-1]
            if pulley not in string.path or (hooked and pulley in ends):
                continue
            for sign, end, after in ((way, ends[1], True), (-way, ends[0], False)):
                if pulley != end and self.stretch(string.name, pulley, after=after).tension != 0:
                    yield sign, self.tension(string.name, pulley, after=after)

    def torques(self, pulley: str) -> list[Expression]:
        """The torques of the strings and of the bearing, positive the way the pulley turns."""
        pulls, radius = self.rim_pulls(pulley), self.radius(pulley)
        found = [signed(sign, product(pull, radius)) for sign, pull in pulls]
        if self.pulleys[pulley].bearing_torque:
            found.append(signed(-self.onward, self.bearing_torque(pulley)))
        return found

    def rim_forces(self, pulley: str) -> list[Expression]:
        """The same divided by the radius."""
        found: list[Expression] = [signed(sign, pull) for sign, pull in self.rim_pulls(pulley)]
        drag = self.rotor_drag(pulley)
        return found if drag is None else [*found, signed(-self.onward, drag)]

    def work(self, force: Force) -> Symbol:
        """The work of a force over the phase."""
        mark, key = interaction_row(force)["mark"], f"work.{force.name}"
        forces = (f for f in self.phase.forces if f.interaction is force.interaction and f.work)
        if len({self._work_owner(other) for other in forces} - {""}) > 1:
            mark += f",{self._work_owner(force) or self.marks[force.on]}"
        return self.symbol("work", "", force.work, key=key, mark=mark, force=self.phrase(force))

    def _work_owner(self, force: Force) -> str:
        """What tells the works of one kind of force apart: the object on which it acts."""
        if force.on not in self.movers and force.on not in self.pulleys:
            return ""
        mark = self.marks[force.on]
        if force.interaction is Interaction.TENSION and len(self.strings_at(force.on)) > 1:
            return f"{self.tension(force.partner, force.on).subscript.split(',')[0]},{mark}"
        if force.interaction is Interaction.AXLE and len(self.loads_of([force.on])) > 1:
            return f"{mark},{self.marks[force.partner]}"
        return mark

    def kinetic(self, name: str) -> Symbol:
        """The kinetic energy of a mover at the end, or its change where it moves at the start."""
        return self._energy("kinetic", "kinetic", (name,), self.marks[name])

    def rotational(self, name: str) -> Symbol:
        """The rotational energy of a pulley or of a cart's wheels, likewise."""
        kind = "rotational" if name in self.pulleys else "wheels"
        return self._energy("rotational", kind, (name,), f"rot,{self.marks[name]}")

    def kinetic_of_all(self, members: Sequence[str]) -> Symbol:
        """The same of several, rotation included; without a mark that of all that can have any."""
        whole = set(members) == {*filter(self.mass_kg, self.movers), *self.heavy}
        kind, first = ("together", "") if len(members) > 1 else ("with-rotation", "tot,")
        mark = "" if whole else first + "+".join(self.marks[name] for name in members)
        return self._energy("total", kind, members, mark)

    def _energy(self, key: str, kind: str, members: Sequence[str], mark: str) -> Symbol:
        pattern: str = texts("symbols")["energies"][kind]
        energy = pattern.format(all=listed([self.the(name) for name in members]))
        changes = account(self.apparatus, self.phase, members).energy_changes
        sorts = ("kinetic", "rotational") if key == "total" else (key,)
        known = [gain for sort in sorts if (gain := changes.get(sort, 0.0)) is not None]
        gain, key = sum(known) if len(known) == len(sorts) else None, f"{key}.{'+'.join(members)}"
        row = "change-of-energy" if self.starts_moving else "energy"
        return self.symbol(row, "", gain, key=key, mark=mark, energy=energy)

    def potential_change(self, name: str) -> Symbol:
        """The change of the potential energy of a mover and Earth."""
        force = self.force(Interaction.GRAVITY, name)
        work = force.work if force else 0.0
        return self.symbol("potential", name, None if work is None else -work + 0.0)
