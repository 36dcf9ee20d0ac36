r"""Trees as rows of LaTeX fragments: their symbols, or the numbers and units put in for them.

Takes trees; gives fragments with as few brackets as the reading needs. Which rows they make and
which sides an equation has is left to ``layout`` and ``latex``.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fallwork.lesson import letters
from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Power,
    Product,
    Quotient,
    Ref,
    Root,
    Sum,
    Symbol,
    ValueMissingError,
)
from fallwork.lesson.layout import (
    BAR,
    OPERATOR,
    RADICAL,
    SCRIPT,
    SLASH,
    THIN,
    Fragment,
    bracketed,
    joined,
    prefixed,
    text_width,
    width,
)
from fallwork.lesson.rounding import Printed, as_written, guarded


def operand(symbol: Symbol, figures: int) -> tuple[Printed, bool]:
    """The digits that stand for a symbol in a formula, and whether they carry guard digits."""
    if symbol.written:
        return as_written(symbol.written), False
    if symbol.value is None:
        raise ValueMissingError(symbol.id)
    return guarded(symbol.value, symbol.figures or figures)


def leaf(symbol: Symbol, figures: int) -> Fragment:
    """The number and unit that stand for a symbol."""
    printed, marked = operand(symbol, figures)
    return amount(printed, symbol.unit, marked=marked)


def amount(printed: Printed, unit: str, *, marked: bool = False) -> Fragment:
    """Digits with their unit; marked ones are underlined."""
    tail = letters.unit(unit)
    size = text_width(printed.mantissa) + tail.width
    if printed.exponent is not None:
        size += OPERATOR + text_width("10") + text_width(str(printed.exponent), size=SCRIPT)
    digits = rf"\underline{{{printed.latex}}}" if marked else printed.latex
    if printed.exponent is not None and unit == "°":
        digits = f"{{{digits}}}"  # or the sign of degrees would be a second exponent of the ten
    return Fragment(latex=digits + tail.latex, width=size)


@dataclass(frozen=True, kw_only=True)
class Printer:
    """Prints trees: symbols, or with ``figures`` their numbers.

    Fractions and roots wider than ``room`` (em) become brackets, which a row can break within.
    """

    room: float
    figures: int | None = None

    def print(self, tree: Expression, depth: int = 0) -> list[Fragment]:
        """A tree that stands ``depth`` operators deep."""
        return _PRINT[type(tree)](self, tree, depth)

    def _grouped(self, tree: Expression, depth: int, *, brackets: bool) -> list[Fragment]:
        """A tree that may have to stand in brackets."""
        if not brackets:
            return self.print(tree, depth)
        return bracketed(self.print(tree, depth + 2), self.room)

    def _ref(self, tree: Ref, depth: int) -> list[Fragment]:
        if self.figures is not None:
            return [leaf(tree.symbol, self.figures)]
        return [letters.letter(tree.symbol)]

    def _number(self, tree: Number, depth: int) -> list[Fragment]:
        return [Fragment(latex=str(tree.value), width=text_width(str(tree.value)))]

    def _sum(self, tree: Sum, depth: int) -> list[Fragment]:
        parts: list[Fragment] = []
        for term in tree.terms:
            minus = isinstance(term, Negative)
            body = term.body if isinstance(term, Negative) else term
            brackets = _is_sum(body) or ((minus or bool(parts)) and self._signed(body))
            printed = self._grouped(body, depth + 1, brackets=brackets)
            if parts:
                parts += prefixed(printed, "-" if minus else "+", OPERATOR, depth)
            else:
                parts += prefixed(printed, "-", text_width("-"), None) if minus else printed
        return parts

    def _negative(self, tree: Negative, depth: int) -> list[Fragment]:
        return self._sum(Sum(terms=(tree,)), depth)

    def _product(self, tree: Product, depth: int) -> list[Fragment]:
        parts: list[Fragment] = []
        factors = tuple(_factors(tree))
        for index, factor in enumerate(factors, start=1):
            printed = self._factor(factor, depth + 1, followed=index < len(factors))
            if not parts:
                parts += printed
            elif self.figures is not None or _starts_with_digit(factor):
                parts += prefixed(printed, r"\times", OPERATOR, depth + 1)
            else:
                parts += prefixed(printed, r"\,", THIN, None)
        return parts

    def _factor(self, factor: Expression, depth: int, *, followed: bool) -> list[Fragment]:
        if isinstance(factor, Function) and followed and self.figures is None:
            return self._function(factor, depth, brackets=True)
        if isinstance(factor, Quotient) and followed and len(self.print(factor)) > 1:
            return self._grouped(factor, depth, brackets=True)
        brackets = _is_sum(factor) or self._signed(factor) or self._scientific(factor)
        return self._grouped(factor, depth, brackets=brackets)

    def _quotient(self, tree: Quotient, depth: int) -> list[Fragment]:
        decimal = _decimal(tree)
        if decimal is not None:
            return [Fragment(latex=decimal, width=text_width(decimal))]
        top, bottom = self.print(tree.top), self.print(tree.bottom)
        wide = max(width(top), width(bottom)) + BAR
        if wide <= self.room:
            code = rf"\frac{{{joined(top)}}}{{{joined(bottom)}}}"
            return [Fragment(latex=code, width=wide, tall=True)]
        over = self._grouped(tree.top, depth + 1, brackets=self._top_needs_brackets(tree.top))
        under = self._grouped(tree.bottom, depth + 1, brackets=self._compound(tree.bottom))
        return [*over, *prefixed(under, "/", SLASH, depth + 1)]

    def _power(self, tree: Power, depth: int) -> list[Fragment]:
        base = self._grouped(tree.base, depth, brackets=self._compound(tree.base))
        return _raised(base, str(tree.exponent))

    def _root(self, tree: Root, depth: int) -> list[Fragment]:
        body = self.print(tree.body)
        wide = width(body) + RADICAL
        if wide <= self.room:
            return [Fragment(latex=rf"\sqrt{{{joined(body)}}}", width=wide, tall=True)]
        return _raised(self._grouped(tree.body, depth, brackets=True), "1/2")

    def _function(self, tree: Function, depth: int, *, brackets: bool = False) -> list[Fragment]:
        angle = tree.argument
        bare = not self._compound(angle) or (
            isinstance(angle, Ref) and angle.symbol.unit == "°" and not self._signed(angle)
        )
        inner = self._grouped(angle, depth, brackets=brackets or not bare)
        return prefixed(inner, f"\\{tree.name}", text_width(tree.name) + THIN, None)

    def _signed(self, tree: Expression) -> bool:
        """Whether the tree prints with a minus sign in front."""
        match tree:
            case Negative():
                return True
            case Number(value=value):
                return value < 0
            case Ref(symbol=symbol):
                return self.figures is not None and operand(symbol, self.figures)[0].negative
        return False

    def _scientific(self, tree: Expression) -> bool:
        """Whether the tree prints as a number times a power of ten."""
        if self.figures is None or not isinstance(tree, Ref):
            return False
        return operand(tree.symbol, self.figures)[0].exponent is not None

    def _compound(self, tree: Expression) -> bool:
        """Whether the tree needs brackets where only one sign can stand, as in a power."""
        match tree:
            case Number(value=value):
                return value < 0
            case Quotient() if _decimal(tree) is not None:
                return False
            case Ref(symbol=symbol) if self.figures is None:
                return letters.is_compound(symbol)
            case Ref(symbol=symbol):
                return bool(symbol.unit) or self._signed(tree) or self._scientific(tree)
        return True

    def _top_needs_brackets(self, tree: Expression) -> bool:
        """Whether the tree needs brackets before a slash."""
        last = tree.factors[-1] if isinstance(tree, Product) else tree
        return _is_sum(tree) or self._signed(tree) or isinstance(last, Function)


def _raised(base: list[Fragment], exponent: str) -> list[Fragment]:
    script = exponent if len(exponent) == 1 else f"{{{exponent}}}"
    last = base[-1]
    raised = Fragment(
        latex=f"{last.latex}^{script}",
        width=last.width + text_width(exponent, size=SCRIPT),
        depth=last.depth,
        tall=last.tall,
    )
    return [*base[:-1], raised]


def _is_sum(tree: Expression) -> bool:
    return isinstance(tree, Sum)


def _decimal(tree: Quotient) -> str | None:
    """A whole number over a power of ten, as a decimal; None for other fractions."""
    match tree:
        case Quotient(top=Number(value=whole), bottom=Number(value=power)) if whole >= 0:
            digits = str(power)
            if power > 1 and digits.strip("0") == "1":
                return f"{whole / power:.{len(digits) - 1}f}"
    return None


def _factors(tree: Expression) -> Iterator[Expression]:
    """The factors of a product, those of products inside it included."""
    if isinstance(tree, Product):
        for factor in tree.factors:
            yield from _factors(factor)
    else:
        yield tree


def _starts_with_digit(tree: Expression) -> bool:
    """Whether a factor would run into a number before it."""
    match tree:
        case Number():
            return True
        case Power(base=base):
            return _starts_with_digit(base)
        case Quotient(top=top):
            return _starts_with_digit(next(_factors(top)))
    return False


_PRINT: Mapping[type[Expression], Callable[[Printer, Any, int], list[Fragment]]] = {
    Ref: Printer._ref,
    Number: Printer._number,
    Sum: Printer._sum,
    Negative: Printer._negative,
    Product: Printer._product,
    Quotient: Printer._quotient,
    Power: Printer._power,
    Root: Printer._root,
    Function: Printer._function,
}
