"""The forces that the set-up leaves open."""

from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.document import Items, Paragraph, Step, Text
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.words import Part, say, title
from fallwork.mechanics.solution import Interaction, Undetermined


def open_step(context: Context) -> Step | None:
    """The forces that the set-up doesn't settle, with their bounds."""
    setting = context.setting
    if not setting.open_forces:
        return None
    items = [_range(context, each) for each in setting.open_forces]
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


def _open_force(context: Context, each: Undetermined) -> _Open:
    """The symbol and the words of an undetermined force."""
    names = context.names
    force = context.setting.force(each.interaction, each.on) if each.on else None
    if force is not None and each.interaction is Interaction.FRICTION:
        sense = names.way(force.on, 1)
        words = title("open.direction", force=names.phrase(force), sense=sense)
        return _Open(symbol=names.friction(force.on), words=words)
    if force is not None and each.interaction is Interaction.BEARING_TORQUE:
        return _Open(symbol=names.holding_torque(force.on), words=names.phrase(force))
    stretch = next(s for s in names.stretches if s.tension is None and s.string == each.partner)
    return _Open(symbol=names.tension_of(stretch), words=names.tension_of(stretch).meaning)


def _range(context: Context, each: Undetermined) -> Text:
    """One undetermined force: in a lesson without numbers only its name.

    Only a tension can have no upper bound, and none is below zero.
    """
    force = _open_force(context, each)
    if not context.numbers:
        return force.named
    unit = force.symbol.unit
    parts: dict[str, Part] = {"low": context.amount(each.low or 0.0, unit)}
    if each.high is None:
        return (*force.named, *say("open.above", **parts))
    return (*force.named, *say("open.range", high=context.amount(each.high, unit), **parts))
