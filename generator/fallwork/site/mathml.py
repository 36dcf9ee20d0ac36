"""Formulas: LaTeX in, MathML out, at build time.

Takes one formula without its dollars; gives a ``<math>`` element. Knows no pages.
"""

from collections.abc import Callable, Mapping
from functools import lru_cache
from xml.etree import ElementTree as ET

from math_core import LatexError, LatexToMathML

from fallwork.errors import FallworkError

# Letters that stand for one kind of force all over the site; a style sheet gives them the colour
# that its arrows have. Units and subscripts are set upright and stay as they are.
_FORCES: Mapping[str, str] = {"T": "tension", "N": "normal", "f": "friction", "g": "gravity"}
_LOW_LINE = "\u0332"


class FormulaError(FallworkError):
    """A formula that the converter doesn't know how to set."""

    def __init__(self, *, latex: str, reason: str) -> None:
        super().__init__(latex, reason)
        self.latex = latex
        self.reason = reason

    def __str__(self) -> str:
        reason = self.reason[:1].lower() + self.reason[1:]
        return f"the formula ${' '.join(self.latex.split())}$ can't be set: {reason}"


def to_mathml(latex: str, *, display: bool) -> str:
    r"""The formula as MathML; raises ``FormulaError``.

    ``display`` sets it on a line of its own, with full-size fractions and limits. ``\underline``
    and ``\boxed`` become groups with the classes ``fw-guard`` and ``fw-boxed``: browsers draw the
    MathML for them each in its own way or not at all, a style sheet draws them everywhere alike.
    Letters of forces get a class too.
    """
    try:
        mathml = _converter().convert_with_local_state(latex, displaystyle=display)
    except LatexError as error:
        reason = str(error).partition(": ")[2]  # without the place in the formula
        raise FormulaError(latex=latex, reason=reason.rstrip(".")) from error
    mathml = _regrouped(mathml) if any(f"<{tag}" in mathml for tag in _GROUPS) else mathml
    for letter, name in _FORCES.items():
        mathml = mathml.replace(f"<mi>{letter}</mi>", f'<mi class="fw-{name}">{letter}</mi>')
    return mathml


def words(mathml: str) -> str:
    """The letters and signs of a formula with blanks between, as a name for it: ``m c``."""
    return " ".join(part.strip() for part in ET.fromstring(mathml).itertext() if part.strip())


def _regrouped(mathml: str) -> str:
    root = ET.fromstring(mathml)
    for element in list(root.iter()):
        if element.tag in _GROUPS:
            _GROUPS[element.tag](element)
    return ET.tostring(root, encoding="unicode")


def _guard(element: ET.Element) -> None:
    line = element[-1]
    if line.tag == "mo" and line.text == _LOW_LINE:
        element.remove(line)
        _become_group(element, "fw-guard")


def _boxed(element: ET.Element) -> None:
    if element.get("notation") == "box":
        _become_group(element, "fw-boxed")


def _become_group(element: ET.Element, name: str) -> None:
    element.tag = "mrow"
    element.attrib.clear()
    element.set("class", name)


_GROUPS: Mapping[str, Callable[[ET.Element], None]] = {"munder": _guard, "menclose": _boxed}


@lru_cache(maxsize=1)
def _converter() -> LatexToMathML:
    return LatexToMathML(fancy_error=False)
