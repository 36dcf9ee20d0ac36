"""Whether the numbers put into a formula are those of its symbols, place by place."""

from collections.abc import Iterator, Mapping

from equations.amounts import unit_of
from equations.page import Entry
from equations.tree import Add, Call, Mul, Neg, Node, Num, Pow, Sym, negative, nodes

Entries = Mapping[str, Entry]


def lone_symbol(tree: Node) -> tuple[str, bool] | None:
    """The name of the symbol that is all there is on a side, and whether it is negative."""
    body = tree.body if isinstance(tree, Neg) else tree
    return (body.name, isinstance(tree, Neg)) if isinstance(body, Sym) else None


def mismatches(symbolic: Node, numeric: Node, entries: Entries) -> Iterator[str]:
    """Where a numeric side doesn't say the same as the symbolic one before it."""
    match symbolic, numeric:
        case Sym(name), Num() as number:
            yield from _of_symbol(entries.get(name), number)
        case Num(), Num():
            if symbolic != numeric:
                yield f"{numeric.literal.digits} where {symbolic.literal.digits} should stand"
        case Neg(body), _:
            yield from mismatches(body, negative(numeric), entries)
        case Call(name, argument), Call(other, shown) if name == other:
            yield from mismatches(argument, shown, entries)
        case Pow(base, exponent), Pow(shown, other) if exponent == other:
            yield from mismatches(base, shown, entries)
        case Add(parts), Add(shown) if len(parts) == len(shown):
            yield from _pairwise(parts, shown, entries)
        case Mul(over, under), Mul(up, down) if (len(over), len(under)) == (len(up), len(down)):
            yield from _pairwise(over + under, up + down, entries)
        case _:
            yield "the numbers don't follow the symbols"


def strangers(_: Node, numeric: Node, entries: Entries) -> Iterator[str]:
    """Numbers of a side without symbols before it that are nobody's value."""
    for node in nodes(numeric):
        if not isinstance(node, Num) or (node.literal.whole and not node.unit):
            continue
        if all(_of_symbol(entry, node) for entry in entries.values()):
            yield f"{node.literal.digits} is no symbol's value"


def _pairwise(parts: tuple[Node, ...], shown: tuple[Node, ...], entries: Entries) -> Iterator[str]:
    for part, number in zip(parts, shown, strict=True):
        yield from mismatches(part, number, entries)


def _of_symbol(entry: Entry | None, number: Num) -> list[str]:
    if entry is None or entry.literal is None:
        return [f"{number.literal.digits} stands for a symbol without value"]
    if entry.literal != number.literal:
        return [f"{number.literal.digits} where {entry.name} = {entry.literal.digits} should stand"]
    if unit_of(entry.unit) != unit_of(number.unit):
        return [f"{number.literal.digits} has another unit than {entry.name}"]
    return []
