"""Symbols by their row in the table of letters, ``texts/symbols.yaml``: values only where the
lesson has numbers, subscripts by rule. Then the symbols of what the scenario file gives.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from math import degrees

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.marks import marks_of
from fallwork.lesson.textfiles import texts
from fallwork.lesson.words import listing
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario import Pulley, Quantity, Slider
from fallwork.scenario.quantity import in_si

ANY = "any"  # in the table: the same in every part of a run


def positive(symbol: Symbol) -> Symbol:
    """The same symbol with the size of its value: its direction is said in words."""
    value = None if symbol.value is None else abs(symbol.value)
    return replace(symbol, value=value, written=symbol.written.lstrip("-"))


def interaction_row(force: Force) -> Mapping[str, str]:
    """What the table of letters says of a kind of force."""
    row: Mapping[str, str] = texts("symbols")["interactions"][force.interaction.key]
    return row


class Symbols(Setup):
    """Each quantity of a set-up as one symbol, wherever it is asked for."""

    def symbol(
        self,
        kind: str,
        name: str = "",
        value: float | None = None,
        *,
        key: str = "",
        mark: str = "",
        **words: str,
    ) -> Symbol:
        """A quantity, of an object where it has one, with its value in the unit of the table.

        ``key`` and ``mark`` stand in place of the table's id and subscript. Later parts of a run
        have symbols with the part's number.
        """
        row = texts("symbols")["quantities"][kind]
        symbol = self._from_row(row, kind, name, mark, words)
        symbol = replace(symbol, id=key or symbol.id, value=value if self.numbers else None)
        return symbol if row.get("part") == ANY else self._in_part(symbol)

    def _from_row(
        self, row: Mapping[str, str], kind: str, name: str, mark: str, words: Mapping[str, str]
    ) -> Symbol:
        own = name and len(getattr(self, row["among"])) > 1 if "among" in row else name
        marks = (mark,) if mark else (row.get("mark", ""), self.marks[name] if own else "")
        known = {"the": self.the(name), **words} if name else words
        if name in self.sliders:
            known = {"surface": self.the(self.surface_under(name)), **known}
        key = row.get("id", kind)
        return Symbol(
            id=f"{key}.{name}" if name else key,
            letter=row["letter"],
            subscript=",".join(filter(None, marks)),
            meaning=row["meaning"].format_map(known),
            unit=row.get("unit", ""),
        )

    def _in_part(self, symbol: Symbol) -> Symbol:
        if not self.index:
            return symbol
        id_, mark = ("after", "after") if self.landed else (str(self.part), self.part_mark)
        key = "after" if self.landed else "later"
        return replace(
            symbol,
            id=f"{symbol.id}@{id_}",
            subscript=",".join(filter(None, (symbol.subscript, mark))),
            meaning=self.meaning(key, symbol, mark=mark),
        )

    @staticmethod
    def meaning(key: str, symbol: Symbol, **words: str) -> str:
        """What a symbol means in a case or part, which the table names."""
        pattern: str = texts("symbols")["meanings"][key]
        return pattern.format(meaning=symbol.meaning, **words)

    def given(
        self, kind: str, name: str, quantity: Quantity | None, *, mark: str = "", **words: str
    ) -> Symbol:
        """A value of the scenario file, with the digits of its author in SI units."""
        if quantity is None:
            raise LookupError(f"{kind} {name}")
        digits, unit = in_si(quantity)
        unit = {"deg": "°"}.get(unit, unit).replace(" ", "·")
        value = round(degrees(quantity.value), 9) if unit == "°" else quantity.value
        symbol = self._from_row(texts("symbols")["given"][kind], kind, name, mark, words)
        return replace(
            symbol,
            unit=unit,
            value=value if self.numbers else None,
            written=digits if self.numbers else "",
            given=True,
        )

    @cached_property
    def marks(self) -> Mapping[str, str]:
        """What stands for each object and surface in subscripts; movers choose first."""
        first = dict.fromkeys((*self.movers, *self.rotors))
        things = (*self.scenario.objects, *self.scenario.surfaces, *self.scenario.strings)
        others = [name for name in things if name not in first]
        return marks_of(self.scenario.nouns, [tuple(first), others])

    def subscript(self, name: str) -> str:
        """What stands for an object or surface in subscripts."""
        return self.marks[name]

    def all_of(self, names: Sequence[str]) -> str:
        """``the cart, of the pulley and of the weight``: what follows on "speed of"."""
        first, *others = map(self.the, names)
        return listing([first, *(f"of {other}" for other in others)])

    def phrase(self, force: Force) -> str:
        """A force in words with both its partners, e.g. the pull of the string on the cart."""
        kind, row = force.interaction, interaction_row(force)
        fixed = kind is Interaction.AXLE and force.on not in self.movers
        pulled = kind is Interaction.CONTACT and force.on in self.pulleys
        pattern = row["on-pulley" if fixed or pulled else "phrase"]
        return pattern.format(by=self.the(force.partner), on=self.the(force.on))

    def written(self, force: Force) -> Quantity:
        """What the file gives for a force, under the name of its kind."""
        key = force.interaction.name.lower()
        found: Quantity = getattr(self.scenario.objects[force.partner], key)
        return found

    def given_force(self, force: Force) -> Symbol:
        """Its size; which way it points is said in words."""
        return positive(self.given(force.interaction.key, force.partner, self.written(force)))

    # ---- what is given of objects and surfaces

    def given_slider(self, name: str) -> Slider:
        """A slider as the scenario has it."""
        thing = self.scenario.objects[name]
        assert isinstance(thing, Slider)
        return thing

    def surface_under(self, name: str) -> str:
        """The surface on which an object runs."""
        return self.given_slider(name).runs_on

    def _pulley(self, name: str) -> Pulley:
        thing = self.scenario.objects[name]
        assert isinstance(thing, Pulley)
        return thing

    def mass(self, name: str) -> Symbol:
        """The mass of a mover."""
        written = getattr(self.scenario.objects[name], "mass", None)
        return self.given("slider-mass" if name in self.sliders else "mass", name, written)

    @cached_property
    def wheeled(self) -> tuple[str, ...]:
        """The carts whose wheels have mass."""
        return tuple(name for name in self.sliders if self.wheels_kg(name))

    def wheel_mass(self, name: str) -> Symbol:
        """The mass of one wheel."""
        wheels = self.given_slider(name).wheels
        return self.given("wheel-mass", name, None if wheels is None else wheels.mass)

    def wheel_count(self, name: str) -> int:
        """How many wheels an object has."""
        wheels = self.given_slider(name).wheels
        return wheels.count if wheels is not None else 0

    @cached_property
    def gravity(self) -> Symbol:
        """The local free-fall acceleration."""
        value = self.apparatus.gravity
        symbol = self._from_row(texts("symbols")["given"]["gravity"], "gravity", "", "", {})
        return replace(
            symbol,
            value=float(value) if self.numbers else None,
            written=f"{value:.6g}" if self.numbers else "",
            given=True,
        )

    def coefficient(self, name: str) -> Symbol:
        """The coefficient of kinetic friction of an object on its surface: one symbol for all that
        have it from the surface.
        """
        body, alike = self.given_slider(name), self.rub_alike(name)
        written = body.friction or self.scenario.surfaces[body.runs_on].friction
        sort = "rolling" if body.kind == "cart" else "kinetic"
        return self.given("friction", alike[0], written, sort=sort, all=self.all_of(alike))

    def rub_alike(self, name: str) -> tuple[str, ...]:
        """The objects of one kind that have their friction from the same surface."""
        body = self.given_slider(name)
        if body.friction is not None:
            return (name,)
        others = map(self.given_slider, self.sliders)
        return tuple(
            other.name
            for other in others
            if other.friction is None and (other.kind, other.runs_on) == (body.kind, body.runs_on)
        )

    @property
    def rub_differently(self) -> set[str]:
        """The first object of each coefficient."""
        return {self.rub_alike(name)[0] for name in self.sliders}

    def static_coefficient(self, name: str) -> Symbol:
        """The coefficient of static friction; the kinetic one where no other is given, or where
        that is larger, which the solver takes then.
        """
        body, counts = self.given_slider(name), self.bodies[name].static_friction
        for each in (body.static_friction, self.scenario.surfaces[body.runs_on].static_friction):
            if each is not None and each.value == counts:
                return self.given("static-friction", name, each)
        return self.coefficient(name)

    def slope(self, surface: str) -> Symbol:
        """The slope of a surface, as a size; which end is higher is said in words."""
        return positive(self.given("slope", surface, self.scenario.surfaces[surface].slope))

    @property
    def sloping_surfaces(self) -> list[str]:
        """The surfaces that aren't level."""
        return [name for name, each in self.apparatus.surfaces.items() if bool(each.slope)]

    @property
    def surfaces(self) -> list[str]:
        """What objects can run on."""
        return list(self.scenario.surfaces)

    def start_place(self, name: str) -> Symbol:
        """Where a slider starts on its surface."""
        return self.given("start-place", name, self.given_slider(name).starts_at)

    def length(self, surface: str) -> Symbol:
        """The length of a surface."""
        return self.given("length", surface, self.scenario.surfaces[surface].length)

    # ---- of pulleys

    def inertia(self, pulley: str) -> Symbol:
        """The rotational inertia of a pulley: given, or that of a uniform disc."""
        written = self._pulley(pulley).inertia
        if written is not None:
            return self.given("inertia", pulley, written)
        return self.symbol("disc-inertia", pulley, float(self.pulleys[pulley].inertia))

    def pulley_mass(self, pulley: str) -> Symbol:
        """The mass of a pulley that is a uniform disc."""
        if pulley in self.movers:
            return self.mass(pulley)
        return self.given("disc-mass", pulley, self._pulley(pulley).mass)

    def radius(self, pulley: str) -> Symbol:
        """The radius at which the string runs on a pulley."""
        return self.given("radius", pulley, self._pulley(pulley).radius)

    def bearing_torque(self, pulley: str) -> Symbol:
        """The friction torque in a pulley's bearing."""
        return self.given("bearing-torque", pulley, self._pulley(pulley).bearing_torque)
