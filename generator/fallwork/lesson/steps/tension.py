"""The forces that the set-up leaves open."""

from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.document import Items, Paragraph, Step, Text
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.words import Part, say, title
from fallwork.mechanics.solution import Interaction


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
