"""What scripts work from: relations between quantities that a student measures or works out, and
the results of a lesson as formulas of its givens, in their order.

Takes a lesson, and for its results the set-up; gives trees. Relations hold for whatever numbers
somebody has. Other givens may be put into the results while everything that is worked out, and
every condition, keeps its sign.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isclose
from typing import Any

from fallwork.lesson.document import Equation, Lesson, Relation, Step, symbols_of
from fallwork.lesson.expression import Expression, Function, Symbol, evaluate, symbols_in
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.printer import Marks
from fallwork.lesson.trees import ON_THE_WAY, product, rebuilt, signed, total
from fallwork.mechanics.solution import Ending

_PLANE, _RESULTS = 0xF0000, 4096
_MARK = re.compile("[\U000f0000-\U000ffffd]")
_BY_DISTANCE = (Ending.LANDS, Ending.COVERED)
LIMITS = "limits"  # the topic of the step about limiting cases, which aren't the lab's
_RATE = "m/s²"
Related = tuple[Step, Relation]  # two equal sides, and the first step that says so


# ---- relations between quantities that a student measures or works out


def relations(lesson: Lesson) -> tuple[Related, ...]:
    """One for each set of quantities: the first that the lesson says of them.

    Accelerations that are the same are one quantity, and letters that only shorten are written out.
    """
    sides = [*_sides(lesson)]
    same = dict[str, Expression]()
    for _, left, right in sides:
        if isinstance(left, Symbol) and left.id.split("@")[0] in ON_THE_WAY:
            same.setdefault(left.id, rebuilt(right, same))
        elif isinstance(left, Symbol) and isinstance(right, Symbol) and left.unit == _RATE:
            one, other = sorted((rebuilt(each, same) for each in (left, right)), key=_of_all)
            given = any(getattr(each, "given", False) for each in (one, other))
            if isinstance(one, Symbol) and one != other and not given:
                same = {key: rebuilt(tree, {one.id: other}) for key, tree in same.items()}
                same[one.id] = other
    found = dict[frozenset[str], Related]()
    for step, *pair in sides:
        left, right = (rebuilt(side, same) for side in pair)
        each = Relation(sides=(left, right), signs=("=",))
        ids = frozenset(symbol.id for symbol in symbols_of(each))
        if len(ids) > 1 and left != right:
            found.setdefault(ids, (step, each))
    return tuple(found.values())


def _of_all(tree: Expression) -> bool:
    """Whether it is the letter that stands for several."""
    return isinstance(tree, Symbol) and "." not in tree.id


def _sides(lesson: Lesson) -> Iterator[tuple[Step, Expression, Expression]]:
    for step in lesson.steps:
        for equation in step.equations if step.topic != LIMITS else ():
            for right in (equation.right, *equation.forms):
                sides = (equation.left, right)
                if not any(each.aside for side in sides for each in symbols_in(side)):
                    yield step, *sides


def quantities(lesson: Lesson, related: Iterable[Related]) -> tuple[Symbol, ...]:
    """What the relations are about: first what is given, then what is found, in their order."""
    about = symbols_of(tuple(relation for _, relation in related))
    listed = (given.symbol for given in lesson.givens if given.symbol is not None)
    return tuple(dict.fromkeys((*(each for each in listed if each in about), *about)))


# ---- the results as formulas of the givens


@dataclass(frozen=True, kw_only=True)
class Reworking:
    """What a page works out, and what else has to keep its sign."""

    results: tuple[Equation, ...]  # in the order of the steps; the last form of each is taken
    others: Mapping[str, Expression]  # by id, quantities that a page has values of besides
    symbols: tuple[Symbol, ...]  # all of the steps
    conditions: tuple[Expression, ...]

    @property
    def marks(self) -> Marks:
        """Signs of a private plane: of the symbols from its beginning, of results from 4096 on."""
        ends = [(e.left, e.last, rounds) for e in self.results for rounds in (False, True)]
        found: dict[Any, str] = {each.id: chr(_PLANE + at) for at, each in enumerate(self.symbols)}
        return found | {each: chr(_PLANE + _RESULTS + at) for at, each in enumerate(ends)}


def without_marks(text: str) -> str:
    """Formulas for where no script looks for their numbers."""
    return _MARK.sub("", text)


def reworked(lab: Lab, steps: Sequence[Step]) -> Reworking | None:
    """None where a value comes from the solution alone or the run's distance doesn't end it."""
    results = tuple(each for step in steps for each in step.equations if each.numbers)
    known = set[str]()
    for equation in results:
        if any(not each.given and each.id not in known for each in symbols_in(equation.last)):
            return None
        known |= {equation.result.id} if equation.result else set()
    parts = [lab.at(index) for index in lab.driven]
    ends = parts[-1].ending in _BY_DISTANCE if parts else bool(lab.frictions)
    if not ends or any(part.phase.slack for part in parts):
        return None
    trees = tuple(_conditions(lab))
    if any(each.value is None for tree in trees for each in symbols_in(tree)):
        return None
    about = symbols_of(tuple(steps))
    others = dict(_others(lab, steps, about, known))
    return Reworking(results=results, others=others, symbols=about, conditions=trees)


def _others(
    lab: Lab, steps: Sequence[Step], about: Iterable[Symbol], known: set[str]
) -> Iterator[tuple[str, Expression]]:
    """Formulas of what has a value and no equation: from what is said in symbols, and of works."""
    sides = [(e.left, e.right, *e.forms) for step in steps for e in step.equations]
    works = [Acting(lab, force) for force in lab.phase.forces if force.work]
    trees = {each.symbol.id: [each.formula] for each in works if each.formula is not None}
    for symbol in about:
        if symbol.value is None or symbol.given or symbol.id in known:
            continue
        stated = [side for equation in sides if symbol in equation for side in equation]
        for tree in (*stated, *trees.get(symbol.id, ())):
            settled = all(each.given or each.id in known for each in symbols_in(tree))
            if settled and isclose(evaluate(tree), evaluate(symbol)):
                yield symbol.id, tree
                break


def _conditions(lab: Lab) -> Iterator[Expression]:
    """That nothing overhangs, static friction stays the stronger, or the motion starts, and no
    surface ends before.
    """
    for slope in map(lab.slope, lab.sloping_surfaces):
        yield total([2, -slope])  # rad: with the cosine, at most a right angle
        yield Function(name="cos", argument=slope)
    for name in lab.frictions:
        static, kinetic = lab.static_coefficient(name), lab.coefficient(name)
        if static != kinetic:
            yield total([static, -kinetic])
    if not lab.moves:
        for name in lab.frictions:
            for sign in (-1, 1):
                yield total([lab.friction_limit(name), signed(sign, lab.friction(name))])
        return
    first = lab.at(lab.driven[0])
    if first.tied and not first.starts_moving and first.kinetic_frictions:
        drives, holds = first.start_condition.sides
        yield total([drives, -holds])
    runs, gone = lab.apparatus.run.object, list[Expression]()
    if first.turns_within:
        gone.append(first.start_speed_of(runs) ** 2 / product(2, first.acceleration_in(runs)))
    for part in map(lab.at, lab.driven[:-1]):
        gone.append(part.distance_tree(runs))
    for way in gone:  # before it turns round
        yield total([lab.run_distance, -way])
    for name in lab.sliders:
        if lab.given_slider(name).starts_at is not None:
            yield from _rooms(lab, name)


def _rooms(lab: Lab, name: str) -> Iterator[Expression]:
    """How far it is from either end of its surface after each part of the run."""
    surface, gone = lab.surface_under(name), list[Expression]()
    for part in map(lab.at, lab.driven):
        moved = part.phase.displacements[name]
        if not moved:
            continue
        gone.append(signed(1 if moved > 0 else -1, part.distance_tree(name)))
        yield total([lab.start_place(name), *gone])
        if lab.scenario.surfaces[surface].length is not None:
            yield total([lab.length(surface), -lab.start_place(name), *(-each for each in gone)])
