"""Symbols by their row in the table of letters, ``texts/symbols.yaml``: values only where the
lesson has numbers; subscripts by rule, each with one meaning. Then those of what a file gives.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cached_property, reduce
from math import degrees
from operator import attrgetter
from typing import Any, cast

from fallwork.lesson.expression import Expression, Sum, Symbol, ValueMissingError, evaluate
from fallwork.lesson.lab.things import Things, those
from fallwork.lesson.rounding import MINUS
from fallwork.lesson.words import texts, without_echo
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario import Quantity, Slider
from fallwork.scenario.nouns import Nouns
from fallwork.scenario.quantity import Given, in_si
from fallwork.scenario.report import listed

ANY = "any"  # in the table: the same in every part of a run
Value = float | Expression | None


def positive(symbol: Symbol) -> Symbol:
    """The same symbol with the size of its value: its direction is said in words."""
    value = None if symbol.value is None else abs(symbol.value)
    return replace(symbol, value=value, written=symbol.written.lstrip("-"))


def sum_as_written(tree: Sum) -> str:
    """The digits of a sum of givens to its least precise place; "" if that loses any."""
    terms = [term.written for term in tree.terms if isinstance(term, Symbol)]
    if len(terms) < len(tree.terms) or not all(map(str.strip, terms)):
        return ""
    numbers = [Decimal(term.replace(MINUS, "-")) for term in terms]
    place = max(int(number.as_tuple().exponent) for number in numbers)
    found = sum(numbers, Decimal(0))
    return f"{rounded:f}" if (rounded := round(found, -place)) == found and place <= 0 else ""


def interaction_row(force: Force) -> Mapping[str, str]:
    """What the table of letters says of a kind of force."""
    row: Mapping[str, str] = texts("symbols")["interactions"][force.interaction.key]
    return row


def fixed_marks() -> Mapping[str, str]:
    """Every mark that isn't an object's, with its meaning."""
    forces = texts("symbols")["interactions"].values()
    return {**texts("marks")["marks"], **{row["mark"]: row["kind"] for row in forces}}


def marks_of(
    nouns: Nouns, fixed: Iterable[str], groups: Sequence[Sequence[str]]
) -> Mapping[str, str]:
    """A mark for each name; earlier groups have the first choice.

    The first letter of the noun if it is free and nobody else in the group begins with it, else
    those of its words, else more and more of its first word, else all of it; of the same kind for
    what has the same last word, as rear cart and front cart have.
    """
    found: dict[str, str] = {}
    for group in groups:
        choices = {name: tuple(_choices(nouns.noun(name))) for name in group}
        wanted = Counter(choice for each in choices.values() for choice in dict.fromkeys(each))
        taken = {*fixed, *found.values(), *(c for c, times in wanted.items() if times > 1)}
        alike: dict[str, list[str]] = {}
        for name in group:
            alike.setdefault(nouns.noun(name).split(" ")[-1], []).append(name)
        for names in alike.values():
            rows = zip(*(choices[name] for name in names), strict=False)
            row = next((row for row in rows if not taken & {*row}), map(nouns.noun, names))
            found.update(zip(names, row, strict=True))
    return found


def _choices(noun: str) -> Iterator[str]:
    """Marks for a noun, the best first; ``cart 2`` and ``block A`` end in what tells them apart."""
    *before, last = noun.split(" ")
    label = last if before and (last.isdigit() or len(last) == 1) else ""
    words = before if label else [*before, last]
    if label and not label.isdigit():
        yield label
    yield words[0][0] + label
    if len(words) > 1:
        yield "".join(word[0] for word in words) + label
    for length in range(2, len(words[0]) + 1):
        yield words[0][:length] + label


def _of(kind: str) -> Callable[["Symbols", str], Symbol]:
    """A method that gives a row of what the scenario says, for an object or surface."""
    return lambda lab, name: lab.given(kind, name)


class Symbols(Things):
    """Each quantity of a set-up as one symbol, wherever it is asked for."""

    # By name: carts whose wheels have mass, surfaces that aren't level, the first of each that rubs
    # with a coefficient of its own.
    wheeled = those("sliders", lambda lab, name: lab.wheels_kg(name) > 0)
    sloping_surfaces = those(
        "apparatus.surfaces", lambda lab, name: bool(lab.apparatus.surfaces[name].slope)
    )
    rub_differently = those("sliders", lambda lab, name: lab.rub_alike(name)[0] == name)

    def symbol(self, kind: str, name: str = "", value: Value = None, **words: str) -> Symbol:
        """A quantity, of an object where it has one, with its value in the unit of the table, or
        with that of a tree, a sum of givens with all their digits. A ``key`` or ``mark`` among the
        words stands in place of the table's id or subscript. Later parts of a run have symbols with
        the part's number.
        """
        known = self.value(value) if isinstance(value, Expression) else value
        found: dict[str, Any] = {"value": known} if self.numbers else {}
        if isinstance(value, Sum) and self.numbers:
            found["written"] = sum_as_written(value)
        symbol = self._from_table("quantities", kind, name, words, found)
        if not self.index or texts("symbols")["quantities"][kind].get("part") == ANY:
            return symbol
        if self.landed:
            return self.marked(symbol, "after", "after", "@after")
        return self.marked(symbol, "later", self.part_mark, f"@{self.part}")

    def _from_table(
        self, table: str, kind: str, name: str, words: Mapping[str, str], found: Mapping[str, Any]
    ) -> Symbol:
        """A symbol by its row of the table, with what was ``found`` besides."""
        row = texts("symbols")[table][kind]
        own = name and len(attrgetter(row["among"])(self)) > 1 if "among" in row else name
        marks = (row.get("mark", ""), self.marks[name] if own else "")
        known = {"the": self.the(name), **words} if name else words
        if name in self.sliders:
            known = {"surface": self.the(self.surface_under(name)), **known}
        key = row.get("id", kind)
        return Symbol(
            id=words.get("key", f"{key}.{name}" if name else key),
            letter=row["letter"],
            subscript=words.get("mark") or ",".join(filter(None, marks)),
            meaning=without_echo(row["meaning"].format_map(known)),
            force=row.get("force", ""),
            **{"unit": row.get("unit", ""), **found},
        )

    @staticmethod
    def marked(symbol: Symbol, case: str, mark: str, tail: str) -> Symbol:
        """A symbol in a case or part that the table names, with its mark and the tail of its id."""
        pattern: str = texts("symbols")["meanings"][case]
        return replace(
            symbol,
            id=symbol.id + tail,
            subscript=",".join(filter(None, (symbol.subscript, mark))),
            meaning=pattern.format(
                meaning=symbol.meaning, mark=mark, words=texts("marks")["marks"].get(mark, "")
            ),
        )

    def value(self, tree: Expression) -> float | None:
        """The value of a tree; None in a lesson without numbers and for what is undetermined."""
        try:
            return evaluate(tree) if self.numbers else None
        except ValueMissingError:
            return None

    def given(self, kind: str, name: str = "", quantity: Given = None, **words: str) -> Symbol:
        """A value of the scenario file, with its author's digits, in SI units."""
        if quantity is None:
            first, *path = texts("symbols")["given"][kind]["value"].split(".")
            things: Any = getattr(self.scenario, first)
            thing = things[name] if isinstance(things, Mapping) else things
            quantity = reduce(lambda of, key: getattr(of, key, None), path, thing)
        digits, unit = in_si(quantity)
        unit = {"deg": "°"}.get(unit, unit).replace(" ", "·")
        found: dict[str, Any] = {"unit": unit, "given": True, "source": quantity}
        if self.numbers:
            value = round(degrees(quantity.value), 9) if unit == "°" else quantity.value
            found |= {"value": value, "written": digits}
        return self._from_table("given", kind, name, words, found)

    @cached_property
    def marks(self) -> Mapping[str, str]:
        """What stands for each object and surface in subscripts; movers choose first."""
        first = dict.fromkeys((*self.movers, *self.rotors))
        things = (*self.scenario.objects, *self.scenario.surfaces, *self.scenario.strings)
        others = [name for name in things if name not in first]
        fixed = {*fixed_marks(), *self.scenario.notation.marks}
        return marks_of(self.scenario.nouns, fixed, [tuple(first), others])

    def all_of(self, names: Sequence[str]) -> str:
        """``the cart, of the pulley and of the weight``: what follows on "speed of"."""
        first, *others = map(self.the, names)
        return listed([first, *(texts("symbols")["also"].format(the=each) for each in others)])

    def phrase(self, force: Force) -> str:
        """A force in words with both its partners, e.g. the pull of the string on the cart."""
        kind, row = force.interaction, interaction_row(force)
        fixed = kind is Interaction.AXLE and force.on not in self.movers
        pulled = kind is Interaction.CONTACT and force.on in self.pulleys
        pattern = row["on-pulley" if fixed or pulled else "phrase"]
        return pattern.format(by=self.the(force.partner), on=self.the(force.on))

    def written(self, force: Force) -> Quantity:
        """What the file gives for a force, under the name of its kind."""
        thing: Any = self.scenario.objects[force.partner]
        return cast(Quantity, getattr(thing, force.interaction.name.lower()))

    def given_force(self, force: Force) -> Symbol:
        """Its size; which way it points is said in words."""
        return positive(self.given(force.interaction.key, force.partner, self.written(force)))

    wheel_mass = _of("wheel-mass")  # of one wheel
    start_place = _of("start-place")
    length = _of("length")
    radius = _of("radius")
    bearing_torque = _of("bearing-torque")

    def given_slider(self, name: str) -> Slider:
        """A slider as the scenario has it."""
        thing = self.scenario.objects[name]
        assert isinstance(thing, Slider)
        return thing

    def surface_under(self, name: str) -> str:
        """The surface on which an object runs."""
        return self.given_slider(name).runs_on

    def mass(self, name: str) -> Symbol:
        """The mass of a mover."""
        return self.given("slider-mass" if name in self.sliders else "mass", name)

    @cached_property
    def gravity(self) -> Symbol:
        """The local free-fall acceleration."""
        value, unit = float(self.apparatus.gravity), "m/s²"
        written = Quantity(kind="acceleration", value=value, number=f"{value:.6g}", unit=unit)
        return self.given("gravity", quantity=written)

    def rub_alike(self, name: str) -> tuple[str, ...]:
        """The objects of one kind that have their friction from the same surface."""
        body = self.given_slider(name)
        if body.friction is not None:
            return (name,)
        same = body.kind, body.runs_on, None
        others = map(self.given_slider, self.sliders)
        return tuple(o.name for o in others if (o.kind, o.runs_on, o.friction) == same)

    def slope(self, surface: str) -> Symbol:
        """The slope of a surface, as a size; which end is higher is said in words."""
        return positive(self.given("slope", surface))

    def inertia(self, pulley: str) -> Symbol:
        """The rotational inertia of a pulley: given, or that of a uniform disc."""
        if getattr(self.scenario.objects[pulley], "inertia", None) is not None:
            return self.given("inertia", pulley)
        return self.symbol("disc-inertia", pulley, float(self.pulleys[pulley].inertia))

    def pulley_mass(self, pulley: str) -> Symbol:
        """The mass of a pulley that is a uniform disc."""
        return self.given("mass" if pulley in self.movers else "disc-mass", pulley)
