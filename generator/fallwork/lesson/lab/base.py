"""What every file of a step may ask: the conditions, letters and words of ``texts/roles.yaml``, as
m1 for the mass of the first object on a surface; which mistakes matter.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache, cached_property
from typing import Any, ClassVar, Self

from jinja2 import Environment, StrictUndefined, Undefined

from fallwork.lesson.document import Equation, Inline
from fallwork.lesson.expression import (
    Expression,
    Operand,
    Symbol,
    ValueMissingError,
    as_expression,
    evaluate,
    symbols_in,
)
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.equations import Equations
from fallwork.lesson.lab.solving import FreeSolution, solve_free
from fallwork.lesson.lab.systems import System
from fallwork.lesson.lab.things import first_of, those
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.trees import Absent, absent, rebuilt, total
from fallwork.lesson.words import LISTS, end_in_words, texts, upper_first
from fallwork.mechanics.solution import Ending, Interaction
from fallwork.scenario.report import listed


class _Language(Environment):
    """The language of step files, in which what is asked of nothing is nothing."""

    def getattr(self, obj: Any, attribute: str) -> Any:
        return None if obj is None else super().getattr(obj, attribute)


_LANGUAGE = _Language(undefined=StrictUndefined)
_LANGUAGE.globals.update(total=total)
_LANGUAGE.filters.update(LISTS)


@cache
def _compiled(source: str) -> Any:
    return _LANGUAGE.compile_expression(source, undefined_to_none=False)


def names_of(kind: str, file: str = "roles") -> frozenset[str]:
    """Every name of a kind, ``words`` or ``letters``, in whatever set-ups."""
    return frozenset(name for group in texts(file)[kind].values() for name in group)


class Base(Equations):
    """A lab with the words of its files."""

    roles: ClassVar[str] = "roles"  # the file of its conditions, words and letters
    slider, weight, string = map(first_of, ("sliders", "hanging", "apparatus.strings"))
    carts = those("sliders", lambda lab, name: lab.bodies[name].kind == "cart")
    light_pulleys = those("lifts", lambda lab, name: not lab.mass_kg(name))  # without mass

    def listing(self, names: Iterable[str], joiner: str = "and") -> str:
        """Objects with their articles in a row."""
        return listed([self.the(name) for name in names], joiner)

    @property
    def surface(self) -> str:
        """The surface of the first slider."""
        return self.surface_under(self.slider)

    def riders(self, surface: str) -> list[str]:
        """What runs on a surface."""
        return [name for name in self.sliders if self.surface_under(name) == surface]

    @cached_property
    def is_plain(self) -> bool:
        """One object on a surface, one that hangs, one string over one ideal pulley."""
        groups = self.sliders, self.hanging, self.apparatus.strings, self.pulleys
        one_each = all(len(group) == 1 for group in groups)
        others = self.rotors or self.wheeled or self.carried or self.givers
        return one_each and not others and bool(self.taut) and self.tied

    @property
    def train(self) -> Mapping[str, str]:
        """Of two coupled carts and a weight: ``front``, ``behind``, ``string``, ``coupling``."""
        counts = len(self.sliders), len(self.hanging), len(self.apparatus.strings)
        if counts != (2, 1, 2) or not self.same_pace or self.rotors or self.wheeled or self.givers:
            return {}
        (string,) = self.strings_at(self.weight)
        behind, front = sorted(self.sliders, key=lambda name: string in self.strings_at(name))
        coupling, *other = self.strings_at(behind)
        if other or string not in self.strings_at(front):
            return {}
        return {"front": front, "behind": behind, "string": string, "coupling": coupling}

    @cached_property
    def driver(self) -> str | None:
        """The first weight that goes down, where there are other movers."""
        falling = [name for name in self.hanging if self.ways[name] > 0]
        return falling[0] if falling and len(self.movers) > 1 else None

    @cached_property
    def same_pace(self) -> bool:
        """Whether all movers have accelerations of equal size."""
        return self.tied and all(self.ratio(name) == 1 for name in self.movers)

    @property
    def climb(self) -> float:
        """Positive where the first slider runs up a slope, zero on the level."""
        return self.slope_rad(self.slider) * self.senses[self.slider]

    @property
    def coasts(self) -> bool:
        """Whether what goes on after a landing is a cart alone, on the level or up a slope."""
        return self.is_plain and not self.upright(self.slider) and self.climb >= 0

    @property
    def end(self) -> str:
        """What ends the phase as a clause of a sentence; "" where nothing does."""
        return end_in_words(self.phase.ends, self.the)

    @cached_property
    def time(self) -> Symbol:
        """How long the phase takes."""
        if self.ending is Ending.TIME and self.index == 0:
            return self.given("time")
        start = "turn" if self.index else "push" if self.starts_moving else "rest"
        end = self.end or texts("symbols")["no-end"]
        return self.symbol(f"time-from-{start}", "", self.phase.duration, end=end)

    def acting(self, sort: str, name: str) -> Acting | None:
        """The first force of one kind on an object; None where there is none."""
        force = self.force(Interaction(sort), name)
        return None if force is None else Acting(self, force)

    @cached_property
    def systems(self) -> tuple[System, ...]:
        """The featured choices of system, in the order of the file."""
        return tuple(System(self, e.members, e.id, e.title) for e in self.scenario.systems)

    @cached_property
    def whole(self) -> System | None:
        """The one with Earth that holds most of what moves."""
        found = [system for system in self.systems if system.with_earth]
        return max(found, key=lambda each: len({*each.moving, *each.turning}), default=None)

    @cached_property
    def solved_together(self) -> FreeSolution:
        """Inner forces and accelerations."""
        return solve_free(self)

    def result(self, left: Operand, right: Operand, unit: str) -> Equation:
        """An equation whose right side gives the value of the left one, where it has one."""
        sides = as_expression(left), as_expression(right)
        known = self.value(sides[1]) is not None
        return Equation(left=sides[0], right=sides[1], unit=unit, numbers=known)

    def amount(self, value: float, unit: str) -> Inline:
        """A value with its unit in a sentence, rounded for the reader."""
        digits = to_figures(value, self.figures)
        return f"{digits}\u00a0{unit}" if unit else digits

    @cached_property
    def public(self) -> Self:
        """The same with values: what is given is public, so it may decide what is said."""
        return replace(self, numbers=True)

    @cached_property
    def known(self) -> frozenset[str]:
        """Every condition, letter and word that a file may use, also of other set-ups."""
        words = names_of("words", self.roles)
        capitals = {f"The{word[3:]}" for word in words if word.startswith("the_")}
        return frozenset(self.vocabulary) | words | capitals

    @cached_property
    def vocabulary(self) -> Mapping[str, Any]:
        """The conditions, letters and words of this set-up."""
        letters = {**dict.fromkeys(names_of("letters", self.roles), Absent()), **self.letters}
        words = self.named("words")
        said = {f"The{w[3:]}": upper_first(str(words[w])) for w in words if w.startswith("the_")}
        functions = {"the": self.the, "The": lambda name: upper_first(self.the(name))}
        return {**self.conditions, **words, **said, **letters, **functions}

    @cached_property
    def conditions(self) -> Mapping[str, bool]:
        """The conditions that files ask for, with whether they hold."""
        found: dict[str, Any] = {"lab": self}
        for name, source in texts(self.roles)["conditions"].items():
            found[name] = bool(_compiled(source)(found))
        del found["lab"]
        return found

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """What the letters of formulas stand for, as far as the set-up has it."""
        return {letter: as_expression(tree) for letter, tree in self.named("letters").items()}

    def named(self, kind: str) -> dict[str, Any]:
        """The ``words`` or ``letters`` of this set-up: objects with their articles, or trees."""
        context, found = {"lab": self, **self.conditions}, dict[str, Any]()
        for when, group in texts(self.roles)[kind].items():
            if _compiled(when)(context):
                found |= {name: _compiled(source)(context) for name, source in group.items()}
        return {n: v for n, v in found.items() if v is not None and not isinstance(v, Undefined)}

    def wrong(self, of: Expression, formula: Expression) -> tuple[Expression, float | None] | None:
        """The formula without zeros, and its value in numbers; None if it is right or absent."""
        formula = formula if absent(formula) else rebuilt(formula, {})
        if not isinstance(of, Symbol) or absent(formula) or formula == of:
            return None
        try:
            value, wanted = (evaluate(rebuilt(tree, self._values)) for tree in (formula, of))
        except (ValueMissingError, ArithmeticError, ValueError):
            return None
        if math.isclose(value, wanted, rel_tol=1e-9, abs_tol=1e-12):
            return None
        return formula, value if self.numbers else None

    @cached_property
    def _values(self) -> Mapping[str, Expression]:
        trees = self.public.letters.values()
        return {each.id: each for tree in trees for each in symbols_in(tree)}
