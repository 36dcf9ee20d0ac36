r"""Formulas: LaTeX in, MathML out, at build time.

Takes one formula without its dollars; gives a ``<math>`` element or, of a formula that stands by
itself, rows of them: browsers break no row of MathML, but between elements they break where
``\allowbreak`` lets them. Knows no pages.
"""

import html
import re
from collections.abc import Mapping
from functools import lru_cache
from xml.etree import ElementTree as ET

from math_core import LatexError, LatexToMathML

from fallwork.errors import FallworkError

# Blue, green, violet and brown as the converter writes them: those of forces, for which a style
# sheet has the colours of their arrows on light and dark pages.
_FORCES: Mapping[str, str] = {
    "#0000FF": "tension",
    "#03FF00": "gravity",
    "#800080": "normal",
    "#BF803F": "friction",
}
_COLOURED = re.compile(
    rf'<mrow style="color:({"|".join(_FORCES)});">'
    "(?:<(mi)([^>]*>.</mi>)|<(msub)(>(?:(?!</?msub).)*</msub>))</mrow>"
)
BREAK = r"\allowbreak "
_ROWS = re.compile(r"\\begin\{aligned\}((?:(?!\\begin).)*)\\end\{aligned\}", re.DOTALL)
_RELATION = re.compile(r"=|<|>|\\(?:approx|lt|gt|leq?|geq?|ll|gg|to)\b")
_TOKEN = re.compile(r"\\[a-zA-Z]+|\\.|.", re.DOTALL)
_JOINING = re.compile(rf"[-+/_^,]|\\(?:times|cdot|pm)|{_RELATION.pattern}")
_BRACKETS = dict.fromkeys(("(", "[", "{", r"\left"), 1) | dict.fromkeys(
    (")", "]", "}", r"\right"), -1
)
_OPERATOR = re.compile(r"[-+/]|\\times\b")
_BEGIN = re.compile("(?<=>)<mrow(?:></mrow| /)><mo[^>]*")
_SPACED = '<mo form="infix" lspace="0" rspace="0.2222em"'  # behind it alone
_EMPTY = re.compile("<mspace ?/>")  # what the converter puts before upright letters
_SINGLE = re.compile("<mrow>(<m[in][^>]*>[^<]*</m[in]>)</mrow>")
_LOW_LINE = "\u0332"
_NAMED = re.compile(r"&(?!(?:amp|lt|gt|quot|apos);)\w+;")  # signs by names that HTML alone knows
# Digits with the mark behind them by which a script finds them.
_MARKED = re.compile(
    "<mrow>((?:<mo[^>]*>−</mo>)?<mn>[^<]*</mn>(?:<mo[^>]*>×</mo><msup><mn>10</mn>"
    "(?:<mn>[^<]*</mn>|<mrow>(?:(?!</mrow>).)*</mrow>)</msup>)?)"
    "<mi>([\U000f0000-\U000ffffd])</mi></mrow>"
)
_CONVERTER = LatexToMathML(fancy_error=False)


class FormulaError(FallworkError):
    """A formula that the converter doesn't know how to set."""


@lru_cache(maxsize=4096)  # the same letters stand on many pages
def to_mathml(latex: str, *, display: bool) -> str:
    r"""The formula as MathML; raises ``FormulaError``.

    ``display`` sets it on a line of its own, with full-size fractions and limits. ``\underline``
    and ``\boxed`` become groups with the classes ``fw-guard`` and ``fw-boxed``: browsers draw the
    MathML for them each in its own way or not at all, a style sheet draws them everywhere alike.
    So do symbols in the colours of forces.
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
    mathml = _SINGLE.sub(r"\1", _EMPTY.sub("", mathml))
    mathml = _MARKED.sub(lambda m: f'<mrow data-fw="{ord(m[2]) - 0xF0000}">{m[1]}</mrow>', mathml)
    return _COLOURED.sub(
        lambda m: f'<{m[2] or m[4]} class="fw-{_FORCES[m[1]]}"{m[3] or m[5]}', mathml
    )


def to_rows(latex: str) -> str:
    r"""A displayed formula as rows of inline MathML, for a grid of two columns.

    A row of ``aligned`` has its left side in the first column (``fw-left``) and what follows in the
    second (``fw-right``); one that begins with no sign and no left side takes both (``fw-row``), as
    does any other formula. Raises ``FormulaError``.
    """
    aligned = _ROWS.fullmatch(latex.strip())
    rows = aligned[1].split("\\\\") if aligned else [latex]
    if "\\begin" in rows[0] or any(row.count("&") > 1 for row in rows):
        return f'<span class="fw-row">{to_mathml(latex, display=True)}</span>'
    return "".join(map(_row, rows))


def _row(code: str) -> str:
    left, _, right = (part.strip() for part in code.rpartition("&"))
    if not left and not _RELATION.match(right):
        return f'<span class="fw-row">{_part(right)}</span>'
    first = f'<span class="fw-left">{_piece(left)}</span>' if left else ""
    return f'{first}<span class="fw-right">{_part(right)}</span>'


def _part(code: str) -> str:
    """A stretch of a row that breaks at its loosest places first: before a relation sign, then a
    plus or minus, then a factor; inside brackets last.
    """
    pieces = [""]
    for piece in code.split(BREAK):
        inside = pieces[-1].count("{") > pieces[-1].count("}")  # of a box
        pieces[-1:] = [f"{pieces[-1]}{BREAK}{piece}"] if inside else [pieces[-1], piece]
    _, first, *rest = pieces
    if not rest:
        sign, _, boxed = code.partition(r"\boxed{")
        if BREAK not in boxed:
            return _piece(code)
        inner = _part(boxed.strip().removesuffix("}"))
        return f'<span class="fw-side">{_piece(sign)} <span class="fw-boxed">{inner}</span></span>'
    depth, places, groups = _depth(first), [], [first]
    for piece in rest:
        kind = 0 if _RELATION.match(piece) else 1 if piece[0] in "+-" else 2
        places.append((depth, kind))
        depth += _depth(piece)
    for piece, place in zip(rest, places, strict=True):
        groups[-1:] = (
            [groups[-1], piece] if place == min(places) else [f"{groups[-1]}{BREAK}{piece}"]
        )
    name = "fw-sides" if min(places) == (0, 0) else "fw-part"
    return f'<span class="{name}">{" ".join(map(_part, groups))}</span>'


def _depth(code: str) -> int:
    """How many more brackets it opens than it closes."""
    return code.count("(") - code.count(")")


def _piece(code: str) -> str:
    """Inline MathML as large as displayed; an operator at its start has its space behind alone."""
    if _OPERATOR.match(code):
        code = f"{{}}{code}"  # or it would count as a sign
    mathml = _BEGIN.sub(_SPACED, to_mathml(code, display=True))
    return mathml.replace('<math display="block"', '<math displaystyle="true"')


def to_pieces(latex: str) -> str:
    """A formula within a sentence as elements between which a line may break: outside all brackets
    before a relation sign, a plus, a minus or a factor in brackets. Raises ``FormulaError``.
    """
    depth, last, pieces = 0, "=", [""]
    for sign in _TOKEN.findall("" if r"\begin" in latex else latex):
        opens = sign == "(" and last in (")", "}", r"\,")
        joins = sign in "+-" or _RELATION.fullmatch(sign)
        if depth == 0 and (opens or (joins and not _JOINING.fullmatch(last))):
            pieces[-1] = pieces[-1].removesuffix(r"\,") if opens else pieces[-1]
            pieces.append("" if opens else "{}")  # or it would count as a sign
        pieces[-1] += sign
        depth += _BRACKETS.get(sign, 0)
        last = last if sign.isspace() else sign
    if not pieces[1:]:
        return to_mathml(latex, display=False)
    return "".join(_BEGIN.sub(_SPACED, to_mathml(each, display=False)) for each in pieces)


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
