"""Names of symbols and units, for LaTeX and for plain text.

Takes a symbol or a unit as the lesson has them (``Delta K``, ``m/s²``); gives their signs.
"""

import re

from fallwork.lesson.expression import Symbol
from fallwork.lesson.layout import SCRIPT, Fragment, text_width

_GREEK = (
    ("alpha beta gamma delta epsilon eta theta kappa ell lambda mu", "αβγδϵηθκℓλμ"),
    ("nu rho sigma tau phi psi omega", "νρστϕψω"),
    ("Gamma Delta Theta Lambda Sigma Phi Omega", "ΓΔΘΛΣΦΩ"),
)
_NAMED = {w: sign for words, signs in _GREEK for w, sign in zip(words.split(), signs, strict=True)}
_SUPERSCRIPTS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_TO_SUPERSCRIPTS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_RAISED = re.compile(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+")


def letter(symbol: Symbol) -> Fragment:
    r"""A symbol with its upright subscript, e.g. ``\Delta K_\mathrm{c}``."""
    words = symbol.letter.split()
    code = " ".join(f"\\{word}" if word in _NAMED else word for word in words)
    size = sum(text_width(_NAMED.get(word, word)) for word in words)
    if symbol.subscript:
        code += rf"_\mathrm{{{symbol.subscript.replace(' ', '~')}}}"
        size += text_width(symbol.subscript, size=SCRIPT)
    return Fragment(latex=code, width=size)


def plain_letter(symbol: Symbol) -> str:
    """A symbol in plain text, e.g. ``ΔK_c``."""
    name = "".join(_NAMED.get(word, word) for word in symbol.letter.split())
    return f"{name}_{symbol.subscript}" if symbol.subscript else name


def is_compound(symbol: Symbol) -> bool:
    """Whether the symbol is more than one letter, as ΔK is, and needs brackets in a power."""
    return len(symbol.letter.split()) > 1


def unit(text: str) -> Fragment:
    r"""A unit with the space before it: ``\,\mathrm{m/s^2}``, ``^\circ``, or nothing."""
    if not text:
        return Fragment(latex="", width=0.0)
    if text == "°":
        return Fragment(latex=r"^\circ", width=text_width(text))
    size = 0.17 + text_width(_RAISED.sub("", text))
    size += sum(text_width(match, size=SCRIPT) for match in _RAISED.findall(text))
    if text == "%":
        return Fragment(latex=r"\,\%", width=size)
    code = _RAISED.sub(_exponent, text).replace("·", r"{\cdot}").replace(" ", r"\,")
    return Fragment(latex=rf"\,\mathrm{{{code}}}", width=size)


def plain_unit(text: str) -> str:
    """A unit with the space before it in plain text; none before the sign of degrees."""
    return text if text in ("", "°") else f" {text}"


def superscript(exponent: int) -> str:
    """A raised whole number in plain text."""
    return str(exponent).translate(_TO_SUPERSCRIPTS)


def _exponent(match: re.Match[str]) -> str:
    digits = match[0].translate(_SUPERSCRIPTS)
    return f"^{digits}" if len(digits) == 1 else f"^{{{digits}}}"
