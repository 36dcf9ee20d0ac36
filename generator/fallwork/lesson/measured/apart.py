"""What can't be, and what the trials can and can't tell apart.

Takes the account of the discrepancy; gives steps.
"""

from collections.abc import Iterator, Mapping, Sequence

from fallwork.lesson.document import Block, Items, Step, Text
from fallwork.lesson.measured.comparing import ENDINGS
from fallwork.lesson.measured.context import Measuring, table
from fallwork.lesson.measured.difference import discrepancy_of, sign_of
from fallwork.lesson.measured.words import (
    amount,
    breakable,
    entries,
    head,
    sentence,
    size,
    text_list,
)
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Verdict
from fallwork.measurement.discrepancy import Discrepancy, ImpossibleValue
from fallwork.measurement.model import Estimate
from fallwork.measurement.separation import Separation, Unknown
from fallwork.measurement.statistics import limit_of

EITHER_SIGN = (Unknown.FORCE_ZERO,)


# ---- impossible values


def impossible_steps(measuring: Measuring) -> Iterator[Step]:
    """Values that nothing can give, if there are any."""
    found = discrepancy_of(measuring).impossible
    if found:
        kind = "" if any(value.verdict is Verdict.DIFFER for value in found) else "-maybe"
        blocks = [block for value in found for block in _impossible(measuring, value)]
        yield measuring.step("impossible", blocks, idea=f"idea{kind}", heading=f"title{kind}")


def _impossible(measuring: Measuring, found: ImpossibleValue) -> Iterator[Block]:
    unit = sentence(f"impossible.units.{found.kind.value}")
    value = amount(found.value, unit, measuring.figures)
    yield measuring.paragraph(f"impossible.kinds.{found.kind.value}", value=value)
    limit = size(limit_of(found.value), unit)
    yield measuring.paragraph(f"impossible.{ENDINGS[found.verdict]}", limit=limit)
    if found.verdict is Verdict.DIFFER:
        checks = [measuring.title(f"impossible.checks.{each.value}") for each in found.checks]
        yield measuring.paragraph("impossible.check", list=text_list(checks))


# ---- what can be told apart


def told_apart_steps(measuring: Measuring) -> Iterator[Step]:
    """What the trials can and can't tell apart."""
    found = discrepancy_of(measuring)
    if found.separation is not None:
        yield measuring.step("told-apart", _separation(measuring, found, found.separation))


def _separation(
    measuring: Measuring, found: Discrepancy, separation: Separation
) -> Iterator[Block]:
    if separation.settled:
        yield from _settled(measuring, found, separation)
    else:
        yield measuring.paragraph("told-apart.none-settled")
    if len(separation.entangled) > 1:
        together = _names(measuring, separation.entangled)
        yield measuring.paragraph("told-apart.entangled", list=together)
        yield measuring.paragraph("told-apart.sums")
        yield _sums(measuring, separation)
    if separation.unseen:
        unseen = _names(measuring, separation.unseen)
        yield measuring.paragraph("told-apart.unseen", list=unseen)
    yield from _wishes(measuring, separation)
    if measuring.unscattered:
        yield measuring.paragraph("told-apart.unscattered", list=measuring.unscattered)
    if not separation.consistent:
        yield measuring.paragraph("told-apart.inconsistent")


def _settled(measuring: Measuring, found: Discrepancy, separation: Separation) -> Iterator[Block]:
    plain = found.plain if Unknown.INERTIA in separation.settled else None
    clues = text_list([_clue(each.clue.value) for each in separation.sums])
    yield measuring.paragraph("told-apart.settled", clues=clues)
    yield _table(measuring, separation, plain)
    yield measuring.paragraph("told-apart.unlike")
    if plain is not None:
        yield from _without_inertia(measuring, found)
    elif Unknown.INERTIA in separation.settled and separation.consistent:
        yield measuring.paragraph("told-apart.not-plain")
    yield from _signs(measuring, separation, plain)


def _table(measuring: Measuring, separation: Separation, plain: Separation | None) -> Block:
    rows: list[tuple[Text, ...]] = []
    for unknown, value in separation.settled.items():
        cells = [upper_first(_name(measuring, unknown)), _newtons(measuring, value)]
        if plain is not None:
            other = plain.settled.get(unknown)
            none = sentence("told-apart.taken-as-none")
            cells.append(none if other is None else _newtons(measuring, other))
        rows.append(tuple((cell,) for cell in cells))
    columns = ("what", "value", "plain") if plain is not None else ("what", "value")
    return table(sentence("told-apart.caption"), head("told-apart.head", *columns), rows)


def _newtons(measuring: Measuring, value: Estimate) -> str:
    return breakable(amount(value, "N", measuring.figures))


def _without_inertia(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    friction = found.estimates.friction
    if friction is None:
        yield measuring.paragraph("told-apart.plain")
    else:
        mu = amount(friction, "", measuring.figures)
        yield measuring.paragraph("told-apart.plain-friction", mu=mu)


def _signs(
    measuring: Measuring, separation: Separation, plain: Separation | None
) -> Iterator[Block]:
    """What differs from zero, and what a negative value means, in every column."""
    columns = {"value": separation} | ({} if plain is None else {"plain": plain})
    real = {
        column: [each for each, value in found.settled.items() if sign_of(value) != "none"]
        for column, found in columns.items()
    }
    negative = {
        column: [
            each
            for each, value in found.settled.items()
            if value.value < 0 and each not in EITHER_SIGN
        ]
        for column, found in columns.items()
    }
    sure = {column: [each for each in negative[column] if each in real[column]] for column in real}
    chance = {
        column: [each for each in negative[column] if each not in real[column]] for column in real
    }
    yield from _by_column(measuring, real, "real", "none-real")
    yield from _by_column(measuring, chance, "negative")
    yield from _by_column(measuring, sure, "negative-real")


def _by_column(
    measuring: Measuring, lists: Mapping[str, Sequence[Unknown]], key: str, none: str = ""
) -> Iterator[Block]:
    """One sentence for all columns that say the same."""
    same = all(each == lists["value"] for each in lists.values())
    shared = "only" if len(lists) == 1 else "both"
    for column, unknowns in {shared: lists["value"]}.items() if same else lists.items():
        if unknowns or none:
            where = sentence(f"told-apart.where.{column}")
            names = _names(measuring, unknowns)
            yield measuring.paragraph(
                f"told-apart.{key if unknowns else none}", where=where, list=names
            )


def _sums(measuring: Measuring, separation: Separation) -> Block:
    rows: list[tuple[Text, ...]] = [
        (
            (upper_first(_clue(each.clue.value)),),
            (_names(measuring, each.of),),
            (_newtons(measuring, each.value),),
        )
        for each in separation.sums
    ]
    columns = head("told-apart.sums-head", "from", "of", "value")
    return table(sentence("told-apart.sums-caption"), columns, rows)


def _wishes(measuring: Measuring, separation: Separation) -> Iterator[Block]:
    wishes = [
        measuring.say(
            "told-apart.would-settle",
            unknown=_name(measuring, unknown),
            clue=text_list([_clue(clue.value) for clue in clues], "or"),
        )
        for unknown, clues in separation.would_settle.items()
        if clues
    ]
    if wishes:
        yield Items(items=tuple(wishes))


def _name(measuring: Measuring, unknown: Unknown) -> str:
    return measuring.title(f"told-apart.unknowns.{unknown.value}")


def _names(measuring: Measuring, unknowns: Sequence[Unknown]) -> str:
    return text_list([_name(measuring, each) for each in unknowns])


def _clue(clue: str) -> str:
    """What was measured, or would have to be."""
    return str(entries("told-apart.clues")[clue])
