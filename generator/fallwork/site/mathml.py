"""Formulas: LaTeX in, MathML out, at build time.

Takes one formula without its dollars; gives a ``<math>`` element. Knows no pages.
"""

import html
import re
from collections.abc import Mapping
from xml.etree import ElementTree as ET

from math_core import LatexError, LatexToMathML

from fallwork.errors import FallworkError

# Letters that stand for one kind of force all over the site; a style sheet gives them the colour
# that its arrows have. Units and subscripts are set upright and stay as they are.
_FORCES: Mapping[str, str] = {"T": "tension", "N": "normal", "f": "friction", "g": "gravity"}
_LOW_LINE = "\u0332"
_NAMED = re.compile(r"&(?!(?:amp|lt|gt|quot|apos);)\w+;")  # signs by names that HTML alone knows
_CONVERTER = LatexToMathML(fancy_error=False)


class FormulaError(FallworkError):
    """A formula that the converter doesn't know how to set."""


def to_mathml(latex: str, *, display: bool) -> str:
    r"""The formula as MathML; raises ``FormulaError``.

    ``display`` sets it on a line of its own, with full-size fractions and limits. ``\underline``
    and ``\boxed`` become groups with the classes ``fw-guard`` and ``fw-boxed``: browsers draw the
    MathML for them each in its own way or not at all, a style sheet draws them everywhere alike.
    Letters of forces get a class too.
    """
    try:
        mathml = _CONVERTER.convert_with_local_state(latex, displaystyle=display)
    except LatexError as error:
        reason = str(error).partition(": ")[2].rstrip(".")  # without the place in the formula
        formula, reason = " ".join(latex.split()), reason[:1].lower() + reason[1:]
        raise FormulaError(f"the formula ${formula}$ can't be set: {reason}") from error
    mathml = _NAMED.sub(lambda sign: html.unescape(sign[0]), mathml)
    if "<munder" in mathml or "<menclose" in mathml:
        mathml = _regrouped(mathml)
    for letter, name in _FORCES.items():
        mathml = mathml.replace(f"<mi>{letter}</mi>", f'<mi class="fw-{name}">{letter}</mi>')
    return mathml


def words(mathml: str) -> str:
    """The letters and signs of a formula with blanks between, as a name for it: ``m c``."""
    return " ".join(part.strip() for part in ET.fromstring(mathml).itertext() if part.strip())


def _regrouped(mathml: str) -> str:
    root = ET.fromstring(mathml)
    for element in list(root.iter()):
        name, last = "", element[-1] if len(element) else element
        if element.tag == "menclose" and element.get("notation") == "box":
            name = "fw-boxed"
        elif element.tag == "munder" and (last.tag, last.text) == ("mo", _LOW_LINE):
            element.remove(last)
            name = "fw-guard"
        if name:
            element.tag = "mrow"
            element.attrib.clear()
            element.set("class", name)
    return ET.tostring(root, encoding="unicode")
