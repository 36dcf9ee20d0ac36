r"""Trees as rows of fragments: their symbols, or the numbers and units put in for them.

Takes trees; gives fragments with as few brackets as the reading needs, in LaTeX or in plain text.
Which rows they make and which sides an equation has is left to ``layout`` and ``latex``.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import IntEnum

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
    letter,
    plain_letter,
    prefixed,
    script,
    text_width,
    unit,
    width,
)
from fallwork.lesson.rounding import MINUS, Printed, as_written, guarded, raised


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


def amount(printed: Printed, unit_text: str) -> Fragment:
    """Digits with their unit; marked ones are underlined."""
    tail = unit(unit_text)
    size = text_width(printed.mantissa) + tail.width
    digits = rf"\underline{{{printed.latex}}}" if printed.marked else printed.latex
    if printed.exponent is not None:
        size += OPERATOR + text_width("10") + text_width(str(printed.exponent), size=SCRIPT)
        if unit_text == "°":
            digits = f"{{{digits}}}"  # or the sign would be a second exponent of the ten
    return Fragment(latex=digits + tail.latex, width=size)


@dataclass(frozen=True)
class Printer:
    """Prints trees: symbols, or with ``figures`` their numbers.

    Fractions and roots wider than ``room`` (em) become brackets, which a row can break within.
    """

    room: float = float("inf")
    figures: int | None = None

    def print(self, tree: Expression, depth: int = 0) -> list[Fragment]:
        """A tree that stands ``depth`` operators deep."""
        match tree:
            case Symbol():
                return [self._leaf(tree)]
            case Number(value=value):
                return [self._digits(str(value))]
            case Sum(terms=terms):
                return self._sum(terms, depth)
            case Negative():
                return self._sum((tree,), depth)
            case Product():
                return self._product(tuple(_factors(tree)), depth)
            case Quotient():
                return self._quotient(tree, depth)
            case Power(base=base, exponent=exponent):
                return self._raised(self._in_place(base, depth, _Bond.SIGN), str(exponent))
            case Root(body=body):
                return self._root(body, depth)
            case Function():
                return self._function(tree, depth)
        raise TypeError(tree)

    def _in_place(self, tree: Expression, depth: int, least: _Bond) -> list[Fragment]:
        """A tree in brackets, unless it holds together as firmly as its place asks."""
        return self._grouped(tree, depth, brackets=self._bond(tree) < least)

    def _grouped(self, tree: Expression, depth: int, *, brackets: bool) -> list[Fragment]:
        if not brackets:
            return self.print(tree, depth)
        return bracketed(self.print(tree, depth + 2), self.room)

    def _bond(self, tree: Expression) -> _Bond:
        match tree:
            case Sum():
                return _Bond.SUM
            case Negative():
                return _Bond.SIGNED
            case Number(value=value):
                return _Bond.SIGNED if value < 0 else _Bond.SIGN
            case Quotient() if self._short(tree):
                return _Bond.SIGN
            case Symbol():
                if self.figures is None:
                    return _Bond.PRODUCT if " " in tree.letter else _Bond.SIGN
                digits = operand(tree, self.figures)
                held = _Bond.PRODUCT if tree.unit else _Bond.SIGN
                held = held if digits.exponent is None else _Bond.SCIENTIFIC
                return _Bond.SIGNED if digits.negative else held
        return _Bond.PRODUCT

    def _leaf(self, symbol: Symbol) -> Fragment:
        if self.figures is None:
            return letter(symbol)
        return amount(operand(symbol, self.figures), symbol.unit)

    def _digits(self, digits: str) -> Fragment:
        return Fragment(latex=digits, width=text_width(digits))

    def _short(self, tree: Quotient) -> str:
        """A whole number over a power of ten as a decimal; "" for other fractions."""
        match tree:
            case Quotient(top=Number(value=whole), bottom=Number(value=power)) if whole >= 0:
                zeros = len(str(power)) - 1
                return f"{whole / power:.{zeros}f}" if zeros and power == 10**zeros else ""
        return ""

    def _sum(self, terms: tuple[Expression, ...], depth: int) -> list[Fragment]:
        parts: list[Fragment] = []
        for term in terms:
            minus = isinstance(term, Negative)
            body = term.body if isinstance(term, Negative) else term
            least = _Bond.SCIENTIFIC if minus or parts else _Bond.SIGNED
            printed = self._in_place(body, depth + 1, least)
            if parts:
                parts += prefixed(printed, self._sign("-" if minus else "+"), OPERATOR, depth)
            elif minus:
                parts += prefixed(printed, self._sign("first -"), text_width("-"))
            else:
                parts += printed
        return parts

    def _product(self, factors: tuple[Expression, ...], depth: int) -> list[Fragment]:
        parts: list[Fragment] = []
        for index, factor in enumerate(factors, start=1):
            printed = self._factor(factor, depth + 1, followed=index < len(factors))
            if not parts:
                parts += printed
            elif self.figures is not None or _starts_with_digit(factor):
                parts += prefixed(printed, self._sign("×"), OPERATOR, depth + 1)
            else:
                parts += prefixed(printed, self._sign(" "), THIN)
        return parts

    def _factor(self, factor: Expression, depth: int, *, followed: bool) -> list[Fragment]:
        if isinstance(factor, Function) and followed and self.figures is None:
            return self._function(factor, depth, brackets=True)
        brackets = self._bond(factor) < _Bond.PRODUCT or (followed and self._has_slash(factor))
        return self._grouped(factor, depth, brackets=brackets)

    def _has_slash(self, tree: Expression) -> bool:
        return isinstance(tree, Quotient) and len(self.print(tree)) > 1

    def _quotient(self, tree: Quotient, depth: int) -> list[Fragment]:
        if short := self._short(tree):
            return [self._digits(short)]
        top, bottom = self.print(tree.top), self.print(tree.bottom)
        wide = max(width(top), width(bottom)) + BAR
        if wide <= self.room:
            code = rf"\frac{{{joined(top)}}}{{{joined(bottom)}}}"
            return [Fragment(latex=code, width=wide, tall=True)]
        last = tree.top.factors[-1] if isinstance(tree.top, Product) else tree.top
        loose = isinstance(last, Function) or self._has_slash(last)
        loose = loose or self._bond(tree.top) < _Bond.SCIENTIFIC
        over = self._grouped(tree.top, depth + 1, brackets=loose)
        under = self._in_place(tree.bottom, depth + 1, _Bond.SIGN)
        return [*over, *prefixed(under, self._sign("/"), SLASH, depth + 1)]

    def _raised(self, base: list[Fragment], exponent: str) -> list[Fragment]:
        *before, last = base
        code = last.latex + script("^", exponent)
        size = last.width + text_width(exponent, size=SCRIPT)
        return [*before, replace(last, latex=code, width=size)]

    def _root(self, body: Expression, depth: int) -> list[Fragment]:
        printed = self.print(body)
        wide = width(printed) + RADICAL
        if wide <= self.room:
            return [Fragment(latex=rf"\sqrt{{{joined(printed)}}}", width=wide, tall=True)]
        return self._raised(self._grouped(body, depth, brackets=True), "1/2")

    def _function(self, tree: Function, depth: int, *, brackets: bool = False) -> list[Fragment]:
        angle = tree.argument
        bare = isinstance(angle, Symbol) and angle.unit == "°"
        least = _Bond.SCIENTIFIC if bare else _Bond.SIGN
        inner = self._grouped(angle, depth, brackets=brackets or self._bond(angle) < least)
        return prefixed(inner, self._name(tree.name), text_width(tree.name) + THIN)

    @staticmethod
    def _sign(sign: str) -> str:
        return {"first -": "- ", "×": r"\times ", " ": r"\, "}.get(sign, f"{sign} ")

    @staticmethod
    def _name(function: str) -> str:
        return f"\\{function} "


class Plain(Printer):
    """Prints trees in Unicode: every fraction with a slash."""

    @staticmethod
    def _sign(sign: str) -> str:
        return {"+": " + ", "-": f" {MINUS} ", "first -": MINUS, "×": " "}.get(sign, sign)

    def _leaf(self, symbol: Symbol) -> Fragment:
        return self._digits(plain_letter(symbol))

    def _digits(self, digits: str) -> Fragment:
        return Fragment(latex=digits.replace("-", MINUS), width=0.0)

    def _short(self, tree: Quotient) -> str:
        one, two = Number(value=1), Number(value=2)
        return "½" if tree == Quotient(top=one, bottom=two) else super()._short(tree)

    def _raised(self, base: list[Fragment], exponent: str) -> list[Fragment]:
        *before, last = base
        return [*before, replace(last, latex=last.latex + raised(int(exponent)))]

    def _root(self, body: Expression, depth: int) -> list[Fragment]:
        return prefixed(self._in_place(body, depth, _Bond.SIGN), "√", 0.0)

    @staticmethod
    def _name(function: str) -> str:
        return f"{function} "


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
