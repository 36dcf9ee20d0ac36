r"""The signs of formulas in LaTeX and in plain text, and the places where a row may break.

Takes symbols and units as the lesson has them (``Delta K``, ``m/s²``). Where a row may break stands
``\allowbreak``; which of these places are taken is left to the page. Knows nothing of trees.
"""

import re

from fallwork.lesson.expression import Symbol
from fallwork.lesson.rounding import RAISED

MARK = r"\allowbreak "
DIGITS = str.maketrans(RAISED, "-0123456789")

_GREEK = (
    ("alpha beta gamma delta epsilon eta theta kappa ell lambda mu", "αβγδϵηθκℓλμ"),
    ("nu rho sigma tau phi psi omega", "νρστϕψω"),
    ("Gamma Delta Theta Lambda Sigma Phi Omega", "ΓΔΘΛΣΦΩ"),
)
_NAMED = {w: sign for words, signs in _GREEK for w, sign in zip(words.split(), signs, strict=True)}
# Of forces, in words of LaTeX; for each of them the site has a colour on light and dark pages.
_COLOURS = {"tension": "blue", "gravity": "green", "normal": "violet", "friction": "brown"}
_UNSEEN = re.compile(r"\\textcolor\{\w+\}|\\[a-zA-Z]+|[{}_^\s]")


def length(code: str) -> int:
    """How many signs a formula shows, an operator with the space around it for three."""
    return len(_UNSEEN.sub("", code)) + 2 * code.count(MARK)


def unbroken(code: str) -> str:
    """A formula in which no row breaks."""
    return code.replace(MARK, "")


def letter(symbol: Symbol) -> str:
    r"""A symbol with its upright subscript, e.g. ``\Delta K_\mathrm{c}``."""
    words = symbol.letter.split()
    code = " ".join(
        f"\\{word}" if word in _NAMED else rf"\mathrm{{{word}}}" if word[1:] else word
        for word in words
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
    code = re.sub(f"[{RAISED}]+", lambda match: script("^", match[0].translate(DIGITS)), text)
    code = code.replace("·", r"{\cdot}").replace(" ", r"\,")
    return rf"\,\mathrm{{{code}}}"


def script(sign: str, text: str) -> str:
    """An exponent in LaTeX, in braces where it has several signs."""
    return sign + (text if len(text) == 1 else f"{{{text}}}")


def plain_unit(text: str) -> str:
    """A unit with the space before it in plain text; none before the sign of degrees."""
    return text if text in ("", "°") else f" {text}"


def bracketed(code: str, most: float) -> str:
    """A formula in round brackets: as tall as it is, unless it is longer than ``most`` signs."""
    if (r"\frac" in code or r"\sqrt" in code) and length(code) <= most:
        return rf"\left({unbroken(code)}\right)"
    return f"({code})"
