r"""Trees as formulas: their symbols, or the numbers and units put in for them.

Takes trees; gives them with as few brackets as the reading needs, in LaTeX or in plain text, and
marks where a row may break. Which sides and rows an equation has is left to ``latex``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import ClassVar

from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Power,
    Product,
    Quotient,
    Root,
    Sum,
    Symbol,
    ValueMissingError,
)
from fallwork.lesson.rounding import MINUS, Printed, as_written, guarded, raised
from fallwork.lesson.signs import (
    MARK,
    bracketed,
    length,
    letter,
    plain_letter,
    script,
    unbroken,
    unit,
)


class _Bond(IntEnum):
    """How firmly what a tree prints holds together: looser than its place asks means brackets."""

    SUM = 0
    SIGNED = 1  # a minus sign stands in front
    SCIENTIFIC = 2  # a number times a power of ten
    PRODUCT = 3
    SIGN = 4  # a single one


def operand(symbol: Symbol, figures: int) -> Printed:
    """The digits that stand for a symbol in a formula."""
    if symbol.written:
        return as_written(symbol.written)
    if symbol.value is None:
        raise ValueMissingError(symbol.id)
    return guarded(symbol.value, symbol.figures or figures)


def amount(printed: Printed, unit_text: str) -> str:
    """Digits with their unit; marked ones are underlined."""
    digits = rf"\underline{{{printed.latex}}}" if printed.marked else printed.latex
    if unit_text == "°" and printed.exponent is not None:
        digits = f"{{{digits}}}"  # or the sign would be a second exponent of the ten
    return digits + unit(unit_text)


@dataclass(frozen=True)
class Printer:
    """Prints trees: symbols, or with ``figures`` their numbers.

    Fractions and roots of more than ``most`` signs become brackets, in which a row can break.
    """

    most: float = float("inf")
    figures: int | None = None
    signs: ClassVar[Mapping[str, str]] = {
        **{sign: f" {MARK}{sign} " for sign in "+-/"},
        "first -": "- ",
        "×": rf" {MARK}\times ",
        " ": r" \, ",
        "function": "\\",
    }

    def print(self, tree: Expression) -> str:
        """A tree."""
        match tree:
            case Symbol():
                return self._leaf(tree)
            case Number(value=value):
                return self._digits(str(value))
            case Sum(terms=terms):
                return self._sum(terms)
            case Negative():
                return self._sum((tree,))
            case Product():
                return self._product(tuple(_factors(tree)))
            case Quotient():
                return self._quotient(tree)
            case Power(base=base, exponent=exponent):
                return self._raised(self._in_place(base, _Bond.SIGN), str(exponent))
            case Root(body=body):
                return self._root(body)
            case Function():
                return self._function(tree)
        raise TypeError(tree)

    def _in_place(self, tree: Expression, least: _Bond) -> str:
        """A tree in brackets, unless it holds together as firmly as its place asks."""
        return self._grouped(tree, brackets=self._bond(tree) < least)

    def _grouped(self, tree: Expression, *, brackets: bool) -> str:
        code = self.print(tree)
        return bracketed(code, self.most) if brackets else code

    def _bond(self, tree: Expression) -> _Bond:
        match tree:
            case Sum():
                return _Bond.SUM
            case Negative():
                return _Bond.SIGNED
            case Number(value=value):
                return _Bond.SIGNED if value < 0 else _Bond.SIGN
            case Quotient() if self._decimal(tree):
                return _Bond.SIGN
            case Symbol():
                if self.figures is None:
                    return _Bond.PRODUCT if " " in tree.letter else _Bond.SIGN
                digits = operand(tree, self.figures)
                held = _Bond.PRODUCT if tree.unit else _Bond.SIGN
                held = held if digits.exponent is None else _Bond.SCIENTIFIC
                return _Bond.SIGNED if digits.negative else held
        return _Bond.PRODUCT

    def _leaf(self, symbol: Symbol) -> str:
        if self.figures is None:
            return letter(symbol)
        return amount(operand(symbol, self.figures), symbol.unit)

    def _digits(self, digits: str) -> str:
        return digits

    def _decimal(self, tree: Quotient) -> str:
        """A whole number over a power of ten as a decimal; "" for other fractions."""
        match tree:
            case Quotient(top=Number(value=whole), bottom=Number(value=power)) if whole >= 0:
                zeros = len(str(power)) - 1
                return f"{whole / power:.{zeros}f}" if zeros and power == 10**zeros else ""
        return ""

    def _sum(self, terms: tuple[Expression, ...]) -> str:
        code = ""
        for term in terms:
            minus = isinstance(term, Negative)
            body = term.body if isinstance(term, Negative) else term
            sign = ("-" if minus else "+") if code else "first -" if minus else ""
            least = _Bond.SCIENTIFIC if sign else _Bond.SIGNED
            code += self.signs.get(sign, "") + self._in_place(body, least)
        return code

    def _product(self, factors: tuple[Expression, ...]) -> str:
        code = ""
        for index, factor in enumerate(factors, start=1):
            if code:
                times = self.figures is not None or _starts_with_digit(factor)
                code += self.signs["×" if times else " "]
            code += self._factor(factor, followed=index < len(factors))
        return code

    def _factor(self, factor: Expression, *, followed: bool) -> str:
        if isinstance(factor, Function) and followed and self.figures is None:
            return self._function(factor, brackets=True)
        brackets = self._bond(factor) < _Bond.PRODUCT or (followed and self._has_slash(factor))
        return self._grouped(factor, brackets=brackets)

    def _has_slash(self, tree: Expression) -> bool:
        return isinstance(tree, Quotient) and not self._decimal(tree) and not self._is_short(tree)

    def _is_short(self, tree: Expression) -> bool:
        """Whether a tree can do without a break; a fraction, as a stacked one."""
        parts = (tree.top, tree.bottom) if isinstance(tree, Quotient) else (tree,)
        return all(length(self.print(part)) <= self.most for part in parts)

    def _quotient(self, tree: Quotient) -> str:
        if decimal := self._decimal(tree):
            return self._digits(decimal)
        if self._is_short(tree):
            top, bottom = (unbroken(self.print(part)) for part in (tree.top, tree.bottom))
            return rf"\frac{{{top}}}{{{bottom}}}"
        last = tree.top.factors[-1] if isinstance(tree.top, Product) else tree.top
        loose = isinstance(last, Function) or self._has_slash(last)
        loose = loose or self._bond(tree.top) < _Bond.SCIENTIFIC
        over = self._grouped(tree.top, brackets=loose)
        return over + self.signs["/"] + self._in_place(tree.bottom, _Bond.SIGN)

    def _raised(self, base: str, exponent: str) -> str:
        return base + script("^", exponent)

    def _root(self, body: Expression) -> str:
        if self._is_short(body):
            return rf"\sqrt{{{unbroken(self.print(body))}}}"
        return self._raised(self._grouped(body, brackets=True), "1/2")

    def _function(self, tree: Function, *, brackets: bool = False) -> str:
        angle = tree.argument
        bare = isinstance(angle, Symbol) and angle.unit == "°"
        least = _Bond.SCIENTIFIC if bare else _Bond.SIGN
        inner = self._grouped(angle, brackets=brackets or self._bond(angle) < least)
        return f"{self.signs['function']}{tree.name} {inner}"


class Plain(Printer):
    """Prints trees in Unicode: every fraction with a slash."""

    signs: ClassVar[Mapping[str, str]] = {
        "+": " + ",
        "-": f" {MINUS} ",
        "first -": MINUS,
        "/": "/",
        "×": " ",
        " ": " ",
        "function": "",
    }

    def _leaf(self, symbol: Symbol) -> str:
        return plain_letter(symbol)

    def _digits(self, digits: str) -> str:
        return digits.replace("-", MINUS)

    def _decimal(self, tree: Quotient) -> str:
        one, two = Number(value=1), Number(value=2)
        return "½" if tree == Quotient(top=one, bottom=two) else super()._decimal(tree)

    def _is_short(self, tree: Expression) -> bool:
        return False

    def _raised(self, base: str, exponent: str) -> str:
        return base + raised(int(exponent))

    def _root(self, body: Expression) -> str:
        return "√" + self._in_place(body, _Bond.SIGN)


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
