"""From MathML to trees: one ``<math>`` element, or a block of rows, in; its relations out. A
formula is first written on one line, with [m_c] for a symbol, {kg} for a unit and ‹1.5032› for what
is underlined; Python's own parser then tells what belongs together.
"""

import ast
import html
import re
from fractions import Fraction
from functools import lru_cache
from xml.etree import ElementTree

from equations import tree

RELATIONS = "=≈<>≤≥≪≫→"
GUARD = "fw-guard"  # the class of what a page underlines as carrying guard digits
FUNCTIONS = ("sin", "cos", "tan")
_SIGNS = {"−": "-", "⋅": "×", "·": "×", "∗": "×", "∘": "°", "\u2061": "", "\u2062": ""}

_UNIT = r"\{[^}]*\}(?:\^\([^()]*\))?"
_OPERAND = re.compile(
    r"\^\((?P<raised>[^()]*)\)|\[(?P<symbol>[^\]]*)\]"
    r"|(?P<mark>‹)?(?P<digits>-?\d+(?:\.\d+)?)(?:e(?P<e>-?\d+))?›?"
    rf"(?:\s*×\s*10\s*\^\((?P<power>[^()]*)\))?(?:\s*(?P<unit>°|{_UNIT}(?:\s*[×/]?\s*{_UNIT})*))?"
)


@lru_cache(maxsize=100_000)
def rows_of(math: str) -> tuple[str, ...]:
    """The rows of a formula, each on one line, with what stands at its left."""
    known = re.sub(r"&(?!(?:amp|lt|gt|quot|apos|#\w+);)\w+;", lambda m: html.unescape(m[0]), math)
    try:
        root = ElementTree.fromstring(known)
    except ElementTree.ParseError as error:
        raise tree.UnreadableError(f"no well-formed MathML: {error}") from error
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    lines, left = [], ""
    for cell in root if root.tag == "div" else [root]:
        if cell.get("class") == "fw-left":
            left = _line(cell)
        else:
            lines.append(left + _line(cell))
            left = ""
    return tuple(re.sub(r"Δ *\[", "[Δ", line) for line in lines)


@lru_cache(maxsize=100_000)
def relations_of(math: str) -> tuple[tree.Relation, ...]:
    """The relations that a formula states; rows that start with a sign go on with the row above."""
    lines: list[str] = []
    for row in rows_of(math):
        if lines and row.lstrip(" ")[:1] in [*RELATIONS]:
            lines[-1] += row
        else:
            lines.append(row)
    return tuple(_relation(line) for line in lines if set(line) & set(RELATIONS))


@lru_cache(maxsize=100_000)
def expression_of(math: str) -> tree.Node:
    (row,) = rows_of(math)
    relation = _relation(row)
    if relation.signs:
        raise tree.UnreadableError(
            f"{relation.text}: a relation where a single formula should stand"
        )
    return relation.sides[0]


def states_relation(math: str) -> bool:
    return any(set(row) & set(RELATIONS) for row in rows_of(math))


def is_unit(math: str) -> bool:
    """Whether a formula is the sign of a unit and nothing else."""
    return re.fullmatch(rf"(?:{_UNIT}|[ ×/])+", "".join(rows_of(math))) is not None


def names_in(math: str) -> list[str]:
    """Every symbol in a formula, readable as a whole or not."""
    return re.findall(r"\[([^\]]*)\]", "".join(rows_of(math)))


def _line(element: ElementTree.Element) -> str:
    text, children = (element.text or "").strip(), list(element)
    match element.tag, children:
        case "mi", _:
            return _identifier(text, upright=element.get("mathvariant") == "normal")
        case "mn", _ if re.fullmatch(r"\d+(\.\d+)?", text):
            return f" {text}"
        case "mo", _:
            sign = _SIGNS.get(text, text)
            return sign if sign in ("", "(", ")", "°") else f" {sign} "
        case ("mspace", _) | ("mtext", _) if not text:
            return ""
        case "msub", (base, low):
            return _subscript(base, low)
        case "msup", (base, high):
            return _raised(_line(base), _line(high))
        case "msubsup", (base, low, high):
            return _raised(_subscript(base, low), _line(high))
        case "mfrac", (top, bottom):
            return f"(({_line(top)})/({_line(bottom)}))"
        case "msqrt", _:
            return f"√({''.join(map(_line, children))})"

        case "mrow", _ if GUARD in element.get("class", "").split():
            return _marked("".join(map(_line, children)))
        case (("span" | "math" | "mrow"), _):
            return "".join(map(_line, children))
    raise tree.UnreadableError(f"<{element.tag}> {text!r} can't be read here")


def _identifier(text: str, *, upright: bool) -> str:
    if re.fullmatch("[A-Z]{2,}", text):  # KE, PE: no unit is written so
        return f"[{text}]"
    upright = upright or len(text) > 1
    if text in FUNCTIONS or (upright and text == "Δ"):
        return f" {text} "
    greek = len(text) == 1 and "Α" <= text <= "Ω"
    return f"{{{text}}}" if (upright and not greek) or text == "%" else f"[{text}]"


def _subscript(base: ElementTree.Element, low: ElementTree.Element) -> str:
    letter = re.fullmatch(r"\[([^\]]*)\]|\{([^}]*)\}", _line(base))
    if letter is None:
        raise tree.UnreadableError("a subscript on what is no letter")
    return f"[{letter[1] or letter[2]}_{''.join(''.join(low.itertext()).split())}]"


def _raised(base: str, script: str) -> str:
    if script.strip() == "°":
        return f"{base}°"
    single = re.fullmatch(r" *(\[[^\]]*\]|\{[^}]*\}|[\d.]+|‹[^›]*›|\)) *", base)
    return f"{base if single else f'({base})'}^({script})"


def _marked(content: str) -> str:
    """The number that is underlined."""
    found = _tree(content)
    if not isinstance(found, tree.Num) or found.unit:
        raise tree.UnreadableError("something other than a number is underlined")
    return (
        f"‹{found.literal.digits}{f'e{found.literal.exponent}' if found.literal.exponent else ''}›"
    )


def _relation(line: str) -> tree.Relation:
    text = re.sub(r"(?<=[(^/]) |[][{}‹›]|^ | $", "", re.sub(r"\s+", " ", line))
    sides = re.split(f"([{RELATIONS}])", line)
    try:
        return tree.Relation(tuple(map(_tree, sides[::2])), tuple(sides[1::2]), text)
    except tree.UnreadableError as error:
        raise tree.UnreadableError(f"{text}: {error}") from error


def _tree(line: str) -> tree.Node:
    leaves: dict[str, tree.Node] = {}

    def named(match: re.Match[str]) -> str:
        if match["raised"] is not None:
            return f"^'{match['raised']}'"
        kind = "s" if match["symbol"] else "n"  # a number stands behind a sign, if not in front
        leaves[name := f"{kind}{len(leaves)}"] = _leaf(match)
        return f" {name} "

    code = re.sub(r"(^|\()\s*-", r"\1_ -", _OPERAND.sub(named, line))  # a sign of the whole term
    code = re.sub(r"(sin|cos|tan) +([sn]\d+)", r"\1(\2)", code).replace("√", " sqrt")
    words = re.findall(r"\^'[^']*'|\w+|\S", code)
    python = ""
    for before, word in zip(["", *words], words, strict=False):
        ends = before in leaves or before[-1:] in (")", "'")
        begins = word[0] in "sct("
        if word[0].isalpha() and word not in (*leaves, *FUNCTIONS, "sqrt"):
            raise tree.UnreadableError(f"{word!r} is out of place")
        python += " * " if ends and begins else " "
        python += f"** {word[2:-1]!r}" if word[0] == "^" else "*" if word == "×" else word
    try:
        return _node(ast.parse(python.strip(), mode="eval").body, leaves)
    except SyntaxError as error:
        raise tree.UnreadableError(f"{line.strip()!r}: something is out of place") from error


def _leaf(match: re.Match[str]) -> tree.Node:
    """A symbol, or a number with the power of ten and the unit that belong to it."""
    if match["symbol"]:
        return tree.Sym(match["symbol"])
    exponent = int(match["e"] or 0) or (int(_exponent(match["power"])) if match["power"] else 0)
    literal = tree.Literal(match["digits"], exponent, marked=match["mark"] is not None)
    unit = ""
    for sign, name, power in re.findall(r"([×/]?)\s*\{([^}]*)\}(?:\^\(([^()]*)\))?", match[0]):
        unit += "/" if sign == "/" else "*" if unit else ""
        unit += name.replace("%", "percent") + (f"**({_exponent(power)})" if power else "")
    return tree.Num(literal, "degree" if match["unit"] == "°" else unit)


def _exponent(text: str) -> Fraction:
    """A raised number: whole, with a minus, or one half."""
    try:
        return Fraction(text.replace(" ", ""))
    except ValueError as error:
        raise tree.UnreadableError(f"{text.strip()!r} is no exponent") from error


def _node(code: ast.expr, leaves: dict[str, tree.Node]) -> tree.Node:
    match code:
        case ast.Name(id=name) if name in leaves:
            return leaves[name]
        case ast.BinOp(left=ast.Name(id="_"), op=ast.Sub(), right=right):
            return tree.negative(_node(right, leaves))
        case ast.BinOp(left=left, op=ast.Add() | ast.Sub(), right=right):
            first, last = _node(left, leaves), _node(right, leaves)
            last = tree.negative(last) if isinstance(code.op, ast.Sub) else last
            return tree.Add((*(first.terms if isinstance(first, tree.Add) else (first,)), last))
        case ast.BinOp(left=left, op=ast.Mult() | ast.Div() as op, right=right):
            over, other = _node(left, leaves), _node(right, leaves)
            return tree.product(over, other, divides=isinstance(op, ast.Div))
        case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=str(exponent))):
            return tree.Pow(_node(left, leaves), _exponent(exponent))
        case ast.Call(func=ast.Name(id=name), args=[argument]):
            inner = _node(argument, leaves)
            return tree.Pow(inner, Fraction(1, 2)) if name == "sqrt" else tree.Call(name, inner)
    raise tree.UnreadableError(f"{ast.unparse(code)}: something is out of place")
