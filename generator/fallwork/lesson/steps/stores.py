"""The energies of a system at the start, half way and at the end, as a table and as figures.

All forces are constant in a phase, so each energy changes in proportion to the distance.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, FigureSlot, Paragraph, Table, Text
from fallwork.lesson.expression import Expression, Operand, as_expression, evaluate
from fallwork.lesson.steps.view import View
from fallwork.lesson.trees import half, total
from fallwork.lesson.words import say, sentence, title
from fallwork.mechanics.solution import Force, Interaction

_DRAINS = {Interaction.FRICTION: "friction", Interaction.BEARING_TORQUE: "bearing"}
_COLUMNS = ("energy", "start", "half", "end")
_SHARES = (0.0, 0.5, 1.0)


@dataclass(frozen=True, kw_only=True)
class Store:
    """A place where energy is or goes. ``change`` is what it gains over the phase.

    ``start`` is what it holds at the start, J: None for what is counted from its lowest value.
    """

    head: str
    change: Expression
    start: float | None = 0.0


def on_the_way(view: View) -> Iterator[Block]:
    """The table, what it shows, and the figures; nothing where other works feed the system."""
    context, setting = view.context, view.context.setting
    stores = list(_stores(view))
    if not stores or setting.phase.ends is None:
        return
    if context.numbers:
        if any(context.value(store.change) is None for store in stores):
            return
        yield _number_table(context, stores)
    elif setting.starts_moving:
        return
    else:
        yield _symbol_table(context, stores)
    share = f"{100 * 0.5**0.5:.0f}\u00a0%"
    key = "half-push" if setting.starts_moving else "half"
    yield Paragraph(text=say(f"system.energy.{key}", share=share))
    if context.numbers:
        yield FigureSlot(kind="energy-bars", subject=view.choice.id)
        yield FigureSlot(kind="energy-position", subject=view.choice.id)


def _stores(view: View) -> Iterator[Store]:
    """Where the energy of the system is and goes; none where other works feed it."""
    fed = any(force.interaction not in _DRAINS or force.work is None for force in view.working)
    if fed or not view.falling:
        return
    context, names = view.context, view.context.names
    for name in view.falling:
        change = names.potential_change(name)
        yield _store(context, "potential", name, change, None)
    for name in view.massive:
        yield _store(context, "kinetic", name, names.kinetic(name), _kinetic_start(context, name))
    for name in view.turning:
        kind = "wheels" if name in context.setting.bodies else "rotational"
        yield _store(context, kind, name, names.rotational(name), _spin_start(context, name))
    for name, tree in zip(view.rubbed, view.thermal, strict=True):
        surface = context.the(names.surface(name))
        words = title("system.energy.stores.thermal", object=context.the(name), surface=surface)
        yield Store(head=words, change=tree)
    yield from (_drain(context, force) for force in view.working)


def _store(context: Context, kind: str, name: str, change: Operand, start: float | None) -> Store:
    words = title(f"system.energy.stores.{kind}", object=context.the(name))
    return Store(head=words, change=as_expression(change), start=start)


def _drain(context: Context, force: Force) -> Store:
    """What a negative external work has taken away."""
    key = f"system.energy.stores.{_DRAINS[force.interaction]}"
    words = title(key, object=context.the(force.on))
    return Store(head=words, change=-as_expression(context.names.work(force)))


def _kinetic_start(context: Context, name: str) -> float:
    return context.setting.mass(name) * context.setting.first_speed(name) ** 2 / 2


def _spin_start(context: Context, name: str) -> float:
    """The rotational energy of a cart's wheels or of a pulley at the start of the phase, J."""
    setting = context.setting
    if name in setting.bodies:
        return setting.wheel_mass(name) * setting.first_speed(name) ** 2 / 4
    spin = setting.phase.start_angular_velocities.get(name, 0.0)
    return float(setting.pulleys[name].inertia) * spin**2 / 2


def _number_table(context: Context, stores: Sequence[Store]) -> Table:
    d = context.value(context.names.distance) or 0.0
    distances = {"start": 0.0, "half": d / 2, "end": d, "energy": 0.0}
    values = [_course(store) for store in stores]
    size = max(abs(value) for row in values for value in row)
    rows = [_tidied(row, size) for row in values]
    sums = [sum(column) for column in zip(*rows, strict=True)]
    heads = [*(store.head for store in stores), sentence("system.energy.stores.sum")]
    return Table(
        caption=sentence("system.energy.caption"),
        head=tuple(
            say(f"system.energy.head.{key}", d=context.amount(distances[key], "m"))
            for key in _COLUMNS
        ),
        rows=tuple(
            ((words,), *((context.amount(value, "J"),) for value in row))
            for words, row in zip(heads, [*rows, sums], strict=True)
        ),
    )


def _course(store: Store) -> list[float]:
    """What a store holds at the start, half way and at the end, J."""
    change = evaluate(store.change)
    start = max(0.0, -change) if store.start is None else store.start
    return [start + share * change for share in _SHARES]


def _tidied(row: list[float], size: float) -> list[float]:
    return [0.0 if abs(value) < 1e-12 * size else value for value in row]


def _symbol_table(context: Context, stores: Sequence[Store]) -> Table:
    """From rest, where every store starts or ends empty."""
    rows = [(_words(store), *_symbol_row(context, store)) for store in stores]
    falling = [-store.change for store in stores if context.falls(store.change)]
    sums: Text = (total(falling),)
    rows.append(((sentence("system.energy.stores.sum"),), sums, sums, sums))
    return Table(
        caption=sentence("system.energy.caption"),
        head=tuple((sentence(f"system.energy.head-symbols.{key}"),) for key in _COLUMNS),
        rows=tuple(rows),
    )


def _words(store: Store) -> Text:
    return (store.head,)


def _symbol_row(context: Context, store: Store) -> tuple[Text, ...]:
    falls = context.falls(store.change)
    size = -store.change if falls else store.change
    shares = reversed(_SHARES) if falls else _SHARES
    texts: dict[float, Text] = {0.0: ("0",), 0.5: (half(size),), 1.0: (size,)}
    return tuple(texts[share] for share in shares)
