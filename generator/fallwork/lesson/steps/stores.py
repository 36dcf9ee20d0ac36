"""The energies of a system at the start, half way and at the end, as a table and as figures.

All forces are constant in a phase, so each energy changes in proportion to the distance.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, FigureSlot, Paragraph, Table, Text
from fallwork.lesson.expression import Expression, Symbol, as_expression, evaluate
from fallwork.lesson.trees import half, total
from fallwork.lesson.words import say, sentence


@dataclass(frozen=True, kw_only=True)
class Store:
    """A place where energy is or goes. ``change`` is what it gains over the phase.

    ``start`` is what it holds at the start, J: 0, or for what is counted from its lowest value
    everything it will lose.
    """

    head: str
    change: Expression
    start: float | None = None  # None: what it will lose, if it loses, else 0

    @classmethod
    def potential(cls, change: Symbol, whose: str) -> "Store":
        """Potential energy, counted from the object's lowest place."""
        words = sentence("system.energy.head.potential").replace("{hanging}", whose)
        return cls(head=words, change=as_expression(change))

    @classmethod
    def kinetic(cls, gain: Symbol, whose: str, start: float) -> "Store":
        """Kinetic energy of translation."""
        words = sentence("system.energy.head.kinetic").replace("{object}", whose)
        return cls(head=words, change=as_expression(gain), start=start)

    @classmethod
    def rotational(cls, gain: Symbol, whose: str, start: float) -> "Store":
        """Rotational energy."""
        words = sentence("system.energy.head.rotational").replace("{object}", whose)
        return cls(head=words, change=as_expression(gain), start=start)

    @classmethod
    def thermal(cls, gain: Expression) -> "Store":
        """Thermal energy of a pair that rubs inside the system."""
        return cls(head=sentence("system.energy.head.thermal"), change=gain)

    @classmethod
    def drain(cls, work: Symbol) -> "Store":
        """What a negative external work has taken away."""
        return cls(head=sentence("system.energy.head.lost"), change=-as_expression(work))


def on_the_way(context: Context, system: str, stores: Sequence[Store]) -> Iterator[Block]:
    """The table, what it shows, and the figures; nothing where there are no stores."""
    symbols_only = not context.numbers
    if not stores or (symbols_only and not _writable(context, stores)):
        return
    yield _table(context, stores)
    if not context.names.starts_moving:
        yield Paragraph(text=say("system.energy.half", share=f"{100 * 0.5**0.5:.0f}\u00a0%"))
    if context.numbers:
        yield FigureSlot(kind="energy-bars", subject=system)
        yield FigureSlot(kind="energy-position", subject=system)


def _writable(context: Context, stores: Sequence[Store]) -> bool:
    """In symbols the table needs a start from rest, where every store starts or ends empty."""
    return not context.names.starts_moving


def _table(context: Context, stores: Sequence[Store]) -> Table:
    columns = [sentence("system.energy.head.at"), *(store.head for store in stores)]
    columns.append(sentence("system.energy.head.sum"))
    row = _numbers if context.numbers else _symbols
    return Table(
        caption=sentence("system.energy.caption"),
        head=tuple((column,) for column in columns),
        rows=tuple(row(context, stores, label, share) for label, share in SHARES),
    )


def _share(part: float, size: Expression) -> Text:
    texts: dict[float, Text] = {0.0: ("0",), 0.5: (half(size),)}
    return texts.get(part, (size,))


SHARES = (("start", 0.0), ("half", 0.5), ("end", 1.0))


def _numbers(
    context: Context, stores: Sequence[Store], label: str, share: float
) -> tuple[Text, ...]:
    d = evaluate(as_expression(context.names.distance))
    values = []
    for store in stores:
        change = evaluate(store.change)
        start = max(0.0, -change) if store.start is None else store.start
        values.append(start + share * change)
    size = max(abs(value) for value in values)
    values = [0.0 if abs(value) < 1e-12 * size else value for value in values]
    cells = [(context.amount(value, "J"),) for value in (*values, sum(values))]
    return (say(f"system.energy.rows.{label}", d=context.amount(share * d, "m")), *cells)


def _symbols(
    context: Context, stores: Sequence[Store], label: str, share: float
) -> tuple[Text, ...]:
    cells: list[Text] = []
    start: list[Expression] = []
    for store in stores:
        falls = context.falls(store.change)
        size = -store.change if falls else store.change
        part = 1 - share if falls else share
        cells.append(_share(part, size))
        start += [size] if falls else []
    return (say(f"system.energy.rows-symbols.{label}"), *cells, (total(start),))
