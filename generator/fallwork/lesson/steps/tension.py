"""Tensions and rigid pulls, once the acceleration is known; and what stays open of them."""

from collections.abc import Iterator
from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Items, Paragraph, Relation, Step, Text, Working
from fallwork.lesson.elimination import Solved, inner_forces
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.words import Part, join, say, title
from fallwork.mechanics.solution import Interaction


def tension_step(context: Context) -> Step | None:
    """The inner forces from one object's equation after the other; the rest are checks."""
    if not context.setting.tied or not context.setting.taut:
        return None
    found, checks = inner_forces(context)
    if not found:
        return None
    blocks: list[Block] = []
    for solved in found:
        blocks.append(Paragraph(text=_source(context, "from", solved)))
        blocks.append(Working(equations=(context.result(solved.symbol, solved.tree, "N"),)))
    check: list[Block] = []
    for solved in checks:
        check.append(Paragraph(text=_source(context, "check", solved)))
        check.append(Working(equations=(context.result(solved.symbol, solved.tree, "N"),)))
    check += [Paragraph(text=text) for text in _against_gravity(context)]
    return Step(
        id=context.suffixed("tension"),
        topic="tension" if len(context.names.stretches) == 1 else "tension.several",
        title=title("tension.title" if len(found) == 1 else "tension.title-several"),
        idea=_idea(context, found, checks),
        blocks=tuple(blocks),
        check=tuple(check),
    )


def _idea(context: Context, found: tuple[Solved, ...], checks: tuple[Solved, ...]) -> Text:
    if len(found) > 1:
        return say("tension.idea-several" if checks else "tension.idea-unchecked")
    if checks:
        return say("tension.idea")
    return say("tension.idea-one", the_object=context.the(found[0].source))


def _source(context: Context, key: str, solved: Solved) -> Text:
    """Where an equation comes from: an object, or the turning of a pulley."""
    setting = context.setting
    if solved.source in setting.movers:
        return say(f"tension.{key}", the_object=context.the(solved.source))
    pulley = solved.source.removeprefix("rim of ")
    return say(f"tension.{key}-pulley", the_object=context.the(pulley))


def _against_gravity(context: Context) -> Iterator[Text]:
    """How the pull on each hanging weight compares with gravity on it."""
    said: set[str] = set()
    for name in context.setting.hanging:
        pull = _pull_on(context, name)
        if pull is None or context.setting.rests(name):
            continue
        key, sign = _comparison(context, name)
        again = "-again" if key == "less" and key in said else ""
        said.add(key)
        relation = Relation(sides=(pull, context.motion.gravity_on(name)), signs=(sign,))
        hanging = context.the(name)
        text = say(f"tension.{key}{again}", the_hanging=hanging, relation=relation)
        numbers = () if key == "equal" else _in_numbers(context, name, pull)
        yield join(text, *numbers)


def _pull_on(context: Context, name: str) -> Expression | None:
    """The one pull that holds a weight: of a string, or of the pulley that carries it."""
    inner = context.motion.inner(name)
    if len(inner) != 1 or inner[0].force.interaction is Interaction.CONTACT:
        return None
    return inner[0].size if inner[0].force.size is not None else None


def _comparison(context: Context, name: str) -> tuple[str, str]:
    acceleration = context.setting.phase.accelerations[name]
    if not acceleration:
        return "equal", "="
    key, sign = ("less", "<") if acceleration > 0 else ("more", ">")
    slowing = acceleration * context.setting.ways[name] < 0
    return f"{key}-slowing" if slowing else key, sign


def _in_numbers(context: Context, name: str, pull: Expression) -> Iterator[Text]:
    tension, gravity = context.value(pull), context.value(context.motion.gravity_on(name))
    if tension is not None and gravity is not None and tension != gravity:
        yield say(
            "tension.numbers",
            the_hanging=context.the(name),
            tension=context.amount(tension, "N"),
            gravity=context.amount(gravity, "N"),
        )


def open_step(context: Context) -> Step | None:
    """The forces that the set-up doesn't settle, with their bounds."""
    setting = context.setting
    if not setting.open_forces:
        return None
    items = [
        _range(context, _open_force(context, name), low, high)
        for name, (low, high) in setting.phase.bounds.items()
    ]
    return Step(
        id=context.suffixed("open-forces"),
        topic="open",
        title=title("open.title"),
        idea=say("open.idea"),
        blocks=(Paragraph(text=say("open.intro")), Items(items=tuple(items))),
    )


@dataclass(frozen=True, kw_only=True)
class _Open:
    """An undetermined force: its symbol, its unit, and its name in words."""

    symbol: Symbol
    words: str

    @property
    def named(self) -> Text:
        """The symbol with its name."""
        return (as_expression(self.symbol), f", {self.words}")


def _open_force(context: Context, name: str) -> _Open:
    """What the solver's name of an undetermined quantity stands for."""
    names, setting = context.names, context.setting
    for force in setting.phase.forces:
        if force.name == name and force.interaction is Interaction.FRICTION:
            sense = names.way(force.on, 1)
            words = title("open.direction", force=names.phrase(force), sense=sense)
            return _Open(symbol=names.friction(force.on), words=words)
        if force.name == name and force.interaction is Interaction.BEARING_TORQUE:
            return _Open(symbol=names.holding_torque(force.on), words=names.phrase(force))
    stretch = next(s for s in names.stretches if s.tension is None and s.string in name.split(" "))
    return _Open(symbol=names.tension_of(stretch), words=names.tension_of(stretch).meaning)


def _range(context: Context, force: _Open, low: float | None, high: float | None) -> Text:
    """One undetermined force: in a lesson without numbers only its name.

    Only a tension can have no upper bound, and none is below zero.
    """
    if not context.numbers:
        return force.named
    unit = force.symbol.unit
    parts: dict[str, Part] = {"low": context.amount(low or 0.0, unit)}
    if high is None:
        return (*force.named, *say("open.above", **parts))
    return (*force.named, *say("open.range", high=context.amount(high, unit), **parts))
