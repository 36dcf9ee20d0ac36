r"""Trees as formulas: their symbols, or the numbers and units put in for them.

Takes trees; gives LaTeX or plain text with as few brackets as the reading needs. Where a row may
break stands ``\allowbreak``; which of these places are taken is left to the page.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any, ClassVar

from fallwork.lesson.expression import (
    DEGREES,
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
from fallwork.lesson.rounding import DIGITS, MINUS, RAISED, Printed, as_written, guarded, raised

MARK = r"\allowbreak "
_GREEK = """alpha beta gamma delta epsilon eta theta kappa ell lambda mu nu rho sigma tau phi psi
omega Gamma Delta Theta Lambda Sigma Phi Omega"""
_NAMED = dict(zip(_GREEK.split(), "αβγδϵηθκℓλμνρστϕψωΓΔΘΛΣΦΩ", strict=True))
# Of forces, in words of LaTeX; for each of them the site has a colour on light and dark pages.
_COLOURS = {"tension": "blue", "gravity": "green", "normal": "violet", "friction": "brown"}
_UNSEEN = re.compile(r"\\textcolor\{\w+\}|\\[a-zA-Z]+|[{}_^\s\U000f0000-\U000ffffd]")
# Signs of a private plane behind digits, by which a script finds them: of symbols by their ids, of
# an equation's results by left side, last form and whether they are rounded.
Marks = Mapping[Any, str]
UNMARKED: Marks = {}


class _Bond(IntEnum):
    """How firmly what a tree prints holds together: looser than its place asks means brackets."""

    SUM = 0
    SIGNED = 1  # a minus sign stands in front
    SCIENTIFIC = 2  # a number times a power of ten
    PRODUCT = 3
    SIGN = 4  # a single one


def length(code: str) -> int:
    """How many signs a formula shows, an operator with the space around it for three."""
    return len(_UNSEEN.sub("", code)) + 2 * code.count(MARK)


def unbroken(code: str) -> str:
    """A formula in which no row breaks."""
    return code.replace(MARK, "")


def letter(symbol: Symbol) -> str:
    r"""A symbol with its upright subscript, e.g. ``\Delta K_\mathrm{c}``."""
    code = " ".join(
        f"\\{word}" if word in _NAMED else rf"\mathrm{{{word}}}" if word[1:] else word
        for word in symbol.letter.split()
    )
    if symbol.subscript:
        code += rf"_\mathrm{{{symbol.subscript.replace(' ', '~')}}}"
    return rf"\textcolor{{{_COLOURS[symbol.force]}}}{{{code}}}" if symbol.force else code


def plain_letter(symbol: Symbol) -> str:
    """A symbol in plain text, e.g. ``ΔK_c``."""
    name = "".join(_NAMED.get(word, word) for word in symbol.letter.split())
    return f"{name}_{symbol.subscript}" if symbol.subscript else name


def unit(text: str) -> str:
    r"""A unit with the space before it: ``\,\mathrm{m/s^2}``, ``^\circ``, or nothing."""
    if text in ("", "°", "%"):
        return {"": "", "°": r"^\circ", "%": r"\,\%"}[text]
    code = re.sub(f"[{RAISED}]+", lambda match: _exponent(match[0].translate(DIGITS)), text)
    code = code.replace("·", r"{\cdot}").replace(" ", r"\,")
    return rf"\,\mathrm{{{code}}}"


def plain_unit(text: str) -> str:
    """A unit with the space before it in plain text; none before the sign of degrees."""
    return text if text in ("", "°") else f" {text}"


def _exponent(text: str) -> str:
    return f"^{text}" if len(text) == 1 else f"^{{{text}}}"


def operand(symbol: Symbol, figures: int) -> Printed:
    """The digits that stand for a symbol in a formula."""
    if symbol.written:
        return as_written(symbol.written)
    if symbol.value is None:
        raise ValueMissingError(symbol.id)
    return guarded(symbol.value, symbol.figures or figures)


def amount(printed: Printed, unit_text: str, mark: str = "") -> str:
    """Digits with unit, underlined if cut short; by the mark behind them a script finds them."""
    digits = f"{{{printed.latex}{mark}}}" if mark else printed.latex
    digits = rf"\underline{{{digits}}}" if printed.marked else digits
    if unit_text == "°" and printed.exponent is not None:
        digits = f"{{{digits}}}"  # or the sign would be a second exponent of the ten
    return digits + unit(unit_text)


def _signs(*signs: str) -> Mapping[str, str]:
    return dict(zip(("+", "-", "/", "first -", "×", " ", "function"), signs, strict=True))


@dataclass(frozen=True)
class Printer:
    """Prints trees: symbols, or with ``figures`` their numbers.

    Fractions and roots of more than ``most`` signs become brackets, in which a row can break.
    """

    most: float = float("inf")
    figures: int | None = None
    marks: Marks = field(default_factory=dict)
    signs: ClassVar = _signs(
        *(f" {MARK}{sign} " for sign in "+-/"), "- ", rf" {MARK}\times ", r" \, ", "\\"
    )

    def print(self, tree: Expression) -> str:
        """A tree."""
        match tree:
            case Symbol() if self.figures is not None:
                return amount(operand(tree, self.figures), tree.unit, self.marks.get(tree.id, ""))
            case Symbol():
                return self._letter(tree)
            case Number(value=value):
                return self._digits(str(value))
            case Sum(terms=terms):
                return self._sum(terms)
            case Negative():
                return self._sum((tree,))
            case Product():
                return self._product(_factors(tree))
            case Quotient():
                return self._quotient(tree)
            case Power(base=base, exponent=exponent):
                return self._raised(self._in_place(base, _Bond.SIGN), str(exponent))
            case Root(body=body):
                return self._root(body)
            case Function(name=name, argument=Symbol(written=digits)) if name == DEGREES:
                return self._digits(f"{float(digits):g}")
            case Function():
                return self._function(tree)
        raise TypeError(tree)

    def _in_place(self, tree: Expression, least: _Bond, *, brackets: bool = False) -> str:
        """In brackets unless it is as firm as its place asks; tall ones where no row breaks."""
        code = self.print(tree)
        if not brackets and self._bond(tree) >= least:
            return code
        if (r"\frac" in code or r"\sqrt" in code) and length(code) <= self.most:
            return rf"\left({unbroken(code)}\right)"
        return f"({code})"

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
            case Function(name=name) if name == DEGREES:
                return _Bond.SIGN
            case Symbol() if self.figures is not None:
                digits = operand(tree, self.figures)
                if digits.mantissa.startswith("-"):
                    return _Bond.SIGNED
                held = _Bond.PRODUCT if tree.unit else _Bond.SIGN
                return held if digits.exponent is None else _Bond.SCIENTIFIC
            case Symbol():
                return _Bond.PRODUCT if " " in tree.letter else _Bond.SIGN
        return _Bond.PRODUCT

    def _letter(self, symbol: Symbol) -> str:
        return letter(symbol)

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

    def _product(self, factors: list[Expression]) -> str:
        code = ""
        for index, factor in enumerate(factors, start=1):
            followed = index < len(factors)
            if code:
                times = self.figures is not None or _starts_with_digit(factor)
                code += self.signs["×" if times else " "]
            if isinstance(factor, Function) and followed and self.figures is None:
                code += self._function(factor, brackets=True)
            else:
                brackets = followed and self._has_slash(factor)
                code += self._in_place(factor, _Bond.PRODUCT, brackets=brackets)
        return code

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
        over = self._in_place(tree.top, _Bond.SCIENTIFIC, brackets=loose)
        return over + self.signs["/"] + self._in_place(tree.bottom, _Bond.SIGN)

    def _raised(self, base: str, exponent: str) -> str:
        return base + _exponent(exponent)

    def _root(self, body: Expression) -> str:
        if self._is_short(body):
            return rf"\sqrt{{{unbroken(self.print(body))}}}"
        return self._raised(self._in_place(body, _Bond.SIGN, brackets=True), "1/2")

    def _function(self, tree: Function, *, brackets: bool = False) -> str:
        bare = isinstance(tree.argument, Symbol) and tree.argument.unit == "°"
        least = _Bond.SCIENTIFIC if bare else _Bond.SIGN
        angle = self._in_place(tree.argument, least, brackets=brackets)
        return f"{self.signs['function']}{tree.name} {angle}"


class Plain(Printer):
    """Prints trees in Unicode: every fraction with a slash."""

    signs: ClassVar = _signs(" + ", f" {MINUS} ", "/", MINUS, " ", " ", "")

    def _letter(self, symbol: Symbol) -> str:
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


def _factors(tree: Expression) -> list[Expression]:
    parts = tree.factors if isinstance(tree, Product) else ()
    return [factor for part in parts for factor in _factors(part)] if parts else [tree]


def _starts_with_digit(tree: Expression) -> bool:
    """Whether a factor would run into a number before it."""
    while isinstance(tree, Power | Quotient):
        tree = tree.base if isinstance(tree, Power) else _factors(tree.top)[0]
    return isinstance(tree, Number)
