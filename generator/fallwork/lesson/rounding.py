"""The one rounding rule: how a value is written with a given number of significant figures.

Takes floats, and digits as somebody wrote them; gives digits for plain text and for LaTeX.
Computation never rounds: this is the last thing that happens to a value before it is read.

A float stands for its first 13 significant digits, and these are rounded, a tie away from zero
as students learn it: 2.665 gives 2.67, whatever its binary form, and so does a sum of floats that
should be 2.665.
"""

from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Context, Decimal

GUARD_FIGURES = 2  # more than the result has, on what is put into a further formula
MINUS = "−"  # U+2212
RAISED = "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"
DIGITS = str.maketrans(RAISED, "-0123456789")  # raised ones as plain ones
_TO_RAISED = str.maketrans("-0123456789", RAISED)
_SMALLEST_PLAIN = -3  # 0.00123 is written plainly, 0.000123 as 1.23 × 10⁻⁴
_LARGEST_PLAIN = 4  # 12345 is written plainly
_DIGITS = 13  # of a float that are looked at: the last two or three may be noise of sums
_NOISE = 1e-12  # relative; what sums of floats leave behind, far below any printed digit
_EXACT = Context(prec=1000, rounding=ROUND_HALF_UP)  # room for every digit of a float


@dataclass(frozen=True, kw_only=True)
class Printed:
    """The digits of a value: ``mantissa`` alone, or times a power of ten."""

    mantissa: str  # "-1.23": digits, at most one point, and an ASCII minus where negative
    exponent: int | None = None  # of ten; None: written plainly
    marked: bool = False  # carries guard digits, so that it is cut short and has to be marked
    u: str = ""  # its standard uncertainty, to the same place and times the same power of ten

    @property
    def text(self) -> str:
        """For plain text, e.g. ``−0.0197`` or ``1.23 × 10⁻⁵``."""
        digits = self.mantissa.replace("-", MINUS)
        return digits if self.exponent is None else f"{digits} × 10{raised(self.exponent)}"

    @property
    def latex(self) -> str:
        r"""For a formula, e.g. ``-0.0197`` or ``1.23 \times 10^{-5}``."""
        power = "" if self.exponent is None else rf" \times 10^{{{self.exponent}}}"
        return self.mantissa + power

    @property
    def decimal(self) -> Decimal:
        """What the digits say, exactly."""
        return Decimal(self.mantissa).scaleb(self.exponent or 0)

    def plus_minus(self, unit: str = "") -> str:
        """E.g. ``0.4200 kg ± 0.0001 kg``, or ``(1.23 ± 0.12) × 10⁻⁵ N``."""
        value, tail = self.mantissa.replace("-", MINUS), f" {unit}" if unit else ""
        if self.exponent is None:
            return f"{value}{tail} ± {self.u}{tail}"
        return f"({value} ± {self.u}) × 10{raised(self.exponent)}{tail}"


def raised(exponent: int) -> str:
    """A raised whole number in plain text."""
    return str(exponent).translate(_TO_RAISED)


def rounded(value: float, figures: int) -> Printed:
    """A value with so many significant figures, every one of them printed.

    Written plainly from 0.001 up to 99999, where no zeros have to be filled in before the
    decimal point; otherwise with a power of ten. Zero, also a negative one, is ``0``.
    """
    return _laid_out(_to_significant(_exact(value), figures))


def to_figures(value: float, figures: int) -> str:
    """``rounded`` as plain text."""
    return rounded(value, figures).text


def to_places(value: float, places: int) -> str:
    """So many digits after the decimal point, for plain text."""
    return f"{_to_place(value, -places):f}".replace("-", MINUS)


def guarded(value: float, figures: int) -> Printed:
    """The digits put into a formula, marked where cut short; no more than say it completely."""
    result, more = rounded(value, figures), GUARD_FIGURES
    if abs(value - float(result.decimal)) <= _NOISE * abs(value):
        return result
    while rounded(float((found := rounded(value, figures + more)).decimal), figures) != result:
        more += 1  # 0.001496 isn't shown as 0.00150, which would be rounded to 0.002
    return replace(found, marked=True)


def as_written(digits: str) -> Printed:
    """The digits of a given, none added and none lost, e.g. ``0.4200`` or ``1.20e-5``."""
    number = Decimal(digits.replace(MINUS, "-"))
    if not number.is_finite():
        raise ValueError(f"{digits!r} is no finite number")
    return _laid_out(number) if "e" in digits.lower() else Printed(mantissa=f"{number:f}")


def claims_too_much(value: float, u: float, figures: int) -> bool:
    """Whether a result of so many figures claims more than is known of it.

    The last figure of a result may be uncertain, the one before it not: ``u``, its standard
    uncertainty, is then less than ten units of the last one (common practice).
    """
    number = _to_significant(_exact(value), figures)
    return bool(number) and u * (1 + _NOISE) >= 10 * 10.0 ** _place(number)


def with_uncertainty(value: float, u: float) -> Printed:
    """A value with its standard uncertainty: u with two figures, the value to the same place.

    JCGM 100:2008 (GUM) 7.2.6 allows at most two figures; one is enough where it says all
    (0.0001). Rounded to the nearest, also the uncertainty.
    """
    if u <= 0:
        raise ValueError(f"a standard uncertainty is positive, not {u}")
    spread = _to_significant(_exact(u), 2)
    if spread.as_tuple().digits[-1] == 0 and spread == _exact(u):
        spread = _to_significant(spread, 1)
    place = _place(spread)
    centre = _to_place(value, place)
    top = max(centre.adjusted() if centre else place, spread.adjusted())
    if place <= 0 and (top >= _SMALLEST_PLAIN or (not centre and place >= -_LARGEST_PLAIN)):
        return Printed(mantissa=f"{centre:f}", u=f"{spread:f}")
    mantissa, digits = (f"{number.scaleb(-top):f}" for number in (centre, spread))
    return Printed(mantissa=mantissa, u=digits, exponent=top)


def _exact(value: float) -> Decimal:
    """The decimal that a float stands for, without the noise of sums; zero has no sign."""
    number = Decimal(f"{value:.{_DIGITS}g}")
    if not number.is_finite():
        raise ValueError(f"{value} can't be printed")
    return _EXACT.plus(number)


def _to_significant(number: Decimal, figures: int) -> Decimal:
    """Rounded, a tie away from zero, with trailing zeros up to the number of figures."""
    short = Context(prec=figures, rounding=ROUND_HALF_UP).plus(number)
    return Decimal(f"{short:.{figures - 1}e}") if number else Decimal(0)


def _to_place(value: float, place: int) -> Decimal:
    return _EXACT.plus(_exact(value).quantize(Decimal(1).scaleb(place), context=_EXACT))


def _laid_out(number: Decimal) -> Printed:
    """Plain where every digit of the number, and no other, can be printed so."""
    if not number:
        return Printed(mantissa="0" if _place(number) >= 0 else f"{abs(number):f}")
    size = number.adjusted()
    if _SMALLEST_PLAIN <= size <= _LARGEST_PLAIN and _place(number) <= 0:
        return Printed(mantissa=f"{number:f}")
    return Printed(mantissa=f"{number.scaleb(-size):f}", exponent=size)


def _place(number: Decimal) -> int:
    return int(number.as_tuple().exponent)  # finite by now
