"""The relations between quantities that a student measures or works out, from a lesson's equations.

Takes a lesson in symbols; gives each relation with the step that argues for it. They hold for
whatever numbers somebody has, so nothing in them depends on those of the lab.
"""

from collections.abc import Iterable, Iterator

from fallwork.lesson.document import Lesson, Relation, Step, symbols_of
from fallwork.lesson.expression import Expression, Symbol, symbols_in
from fallwork.lesson.trees import rebuilt

LIMITS = "limits"  # the topic of the step about limiting cases, which aren't the lab's
ON_THE_WAY = ("driving-force", "moving-mass", "denominator")  # letters that only shorten a formula
_RATE = "m/s²"
Related = tuple[Step, Relation]  # two equal sides, and the first step that says so


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
            if isinstance(one, Symbol) and one != other and not (one.given or _given(other)):
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


def _given(tree: Expression) -> bool:
    return isinstance(tree, Symbol) and tree.given


def _sides(lesson: Lesson) -> Iterator[tuple[Step, Expression, Expression]]:
    """Each equation of the lab itself with each of its right sides."""
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
