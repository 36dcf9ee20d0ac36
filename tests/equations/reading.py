"""From MathML to trees: one ``<math>`` element in, its relations out.

A reader of its own: it knows how formulas are set on a page, and nothing of how they were made.
"""

import html
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from xml.etree import ElementTree

from equations.tree import (
    Add,
    Call,
    Literal,
    Node,
    Num,
    Pow,
    Relation,
    Sym,
    UnreadableError,
    negative,
    product,
)

RELATIONS = frozenset("=≈<>≤≥≪≫→")
GUARD = "fw-guard"  # the class of what a page underlines as carrying guard digits
FUNCTIONS = frozenset({"sin", "cos", "tan"})
_SIGNS = {"−": "-", "⋅": "×", "·": "×", "∗": "×"}
_IGNORED = frozenset({"", "\u2061", "\u2062"})  # apply function, invisible times
_BARS = frozenset({"_", "\u0332", "\u203e", "\u00af", "\u2015"})


@dataclass(frozen=True)
class Token:
    """``kind``: number, symbol, unit, function, delta, sign, degree, power, tree, indent."""

    kind: str
    text: str = ""
    literal: Literal | None = None
    inside: tuple["Token", ...] = ()
    below: tuple["Token", ...] = ()


@lru_cache(maxsize=100_000)
def tokens_of(math: str) -> tuple[tuple[Token, ...], ...]:
    """The rows of one ``<math>`` element; without a table there is one."""
    known = re.sub(r"&(?!(?:amp|lt|gt|quot|apos|#\w+);)\w+;", lambda m: html.unescape(m[0]), math)
    try:
        root = ElementTree.fromstring(known)
    except ElementTree.ParseError as error:
        raise UnreadableError(f"no well-formed MathML: {error}") from error
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    table = root.find(".//mtable")
    if table is None:
        return (_tokens(root),)
    return tuple(_row(row) for row in table.iter("mtr"))


@lru_cache(maxsize=100_000)
def relations_of(math: str) -> tuple[Relation, ...]:
    """The relations that one ``<math>`` element states; a formula without a sign is no relation.

    Rows of a table that start with a relation sign or an indent go on with the row above.
    """
    streams: list[list[Token]] = []
    for row in tokens_of(math):
        first = row[0] if row else Token("indent")
        goes_on = first.kind == "indent" or first.text in RELATIONS
        if streams and goes_on:
            streams[-1] += row
        else:
            streams.append(list(row))
    return tuple(
        _relation(stream)
        for stream in streams
        if any(token.kind == "sign" and token.text in RELATIONS for token in stream)
    )


@lru_cache(maxsize=100_000)
def expression_of(math: str) -> Node:
    """The tree of a formula without a relation sign."""
    (row,) = tokens_of(math)
    relation = _relation(row)
    if relation.signs:
        raise UnreadableError(f"{relation.text}: a relation where a single formula should stand")
    return relation.sides[0]


@lru_cache(maxsize=100_000)
def states_relation(math: str) -> bool:
    """Whether a formula joins sides by a sign."""
    return any(token.text in RELATIONS for row in tokens_of(math) for token in row)


@lru_cache(maxsize=100_000)
def is_unit(math: str) -> bool:
    """Whether a formula is the sign of a unit and nothing else."""
    kinds = [token.kind for row in tokens_of(math) for token in row]
    return "unit" in kinds and set(kinds) <= {"unit", "sign", "power"}


@lru_cache(maxsize=100_000)
def names_in(math: str) -> tuple[str, ...]:
    """Every symbol in a formula, readable as a whole or not."""
    return tuple(name for row in tokens_of(math) for name in _names(row))


def _names(tokens: tuple[Token, ...]) -> list[str]:
    names: list[str] = []
    delta = ""
    for token in tokens:
        if token.kind == "symbol":
            names.append(delta + token.text)
        names += [*_names(token.inside), *_names(token.below)]
        delta = "Δ" if token.kind == "delta" else ""
    return names


def _row(row: ElementTree.Element) -> tuple[Token, ...]:
    tokens: list[Token] = []
    for cell in row.iter("mtd"):
        first = next(iter(cell), None)
        if not tokens and first is not None and first.get("width") == "1em":
            tokens.append(Token("indent"))
        tokens += _tokens(cell)
    return tuple(tokens)


def _tokens(element: ElementTree.Element) -> tuple[Token, ...]:
    text, children = (element.text or "").strip(), list(element)
    match element.tag, children:
        case "mi", _:
            return (_identifier(text, upright=element.get("mathvariant") == "normal"),)
        case "mn", _ if re.fullmatch(r"\d+(\.\d+)?", text):
            return (Token("number", literal=Literal(text)),)
        case "mo", _:
            return _operator(text)
        case "mtext", _ if not text:
            return ()
        case "mspace", _:
            return ()
        case "msub", (base, low):
            return (_subscript(base, low),)
        case "msup", (base, high):
            return _raised(_tokens(base), _tokens(high))
        case "msubsup", (base, low, high):
            return _raised((_subscript(base, low),), _tokens(high))
        case "mfrac", (top, bottom):
            return (Token("fraction", inside=_tokens(top), below=_tokens(bottom)),)
        case "msqrt", _:
            return (Token("root", inside=_inside(children)),)
        case "munder", (content, bar) if "".join(bar.itertext()).strip() in _BARS:
            return (_marked(_tokens(content)),)
        case "mrow", _ if GUARD in element.get("class", "").split():
            return (_marked(_inside(children)),)
        case (("math" | "mstyle" | "mpadded" | "menclose" | "mtd" | "mrow"), _):
            return _inside(children)
    raise UnreadableError(f"<{element.tag}> {text!r} can't be read here")


def _inside(children: list[ElementTree.Element]) -> tuple[Token, ...]:
    return tuple(token for child in children for token in _tokens(child))


def _identifier(text: str, *, upright: bool) -> Token:
    upright = upright or len(text) > 1
    if text in FUNCTIONS:
        return Token("function", text)
    if upright and text == "Δ":
        return Token("delta", text)
    greek = len(text) == 1 and "Α" <= text <= "Ω"
    return Token("unit" if (upright and not greek) or text == "%" else "symbol", text)


def _operator(text: str) -> tuple[Token, ...]:
    if text in _IGNORED:
        return ()
    if text in FUNCTIONS:  # set as an operator where a formula has rows
        return (Token("function", text),)
    return (Token("degree" if text in "∘°" else "sign", _SIGNS.get(text, text)),)


def _subscript(base: ElementTree.Element, low: ElementTree.Element) -> Token:
    (letter,) = _tokens(base)
    if letter.kind not in ("symbol", "unit"):
        raise UnreadableError("a subscript on what is no letter")
    return Token("symbol", f"{letter.text}_{''.join(''.join(low.itertext()).split())}")


def _raised(base: tuple[Token, ...], script: tuple[Token, ...]) -> tuple[Token, ...]:
    if [token.kind for token in script] == ["degree"]:
        return (*base, *script)
    if len(base) > 1:
        base = (Token("sign", "("), *base, Token("sign", ")"))
    return (*base, Token("power", inside=script))


def _marked(content: tuple[Token, ...]) -> Token:
    """The number that is underlined, as a single token."""
    tree = _Parser(content).whole()
    if not isinstance(tree, Num) or tree.unit:
        raise UnreadableError("something other than a number is underlined")
    return Token("number", literal=replace(tree.literal, marked=True))


def _relation(tokens: Iterable[Token]) -> Relation:
    tokens = [token for token in tokens if token.kind != "indent"]
    text = "".join(map(_text, tokens))
    sides: list[list[Token]] = [[]]
    signs: list[str] = []
    for token in tokens:
        if token.kind == "sign" and token.text in RELATIONS:
            signs.append(token.text)
            sides.append([])
        else:
            sides[-1].append(token)
    try:
        return Relation(tuple(_Parser(side).whole() for side in sides), tuple(signs), text)
    except UnreadableError as error:
        raise UnreadableError(f"{text}: {error}") from error


def _text(token: Token) -> str:
    inside = "".join(map(_text, token.inside))
    match token.kind:
        case "number":
            assert token.literal is not None
            power = f"e{token.literal.exponent}" if token.literal.exponent else ""
            return token.literal.digits + power
        case "power":
            return f"^{inside}"
        case "fraction":
            return f"({inside})/({''.join(map(_text, token.below))})"
        case "root":
            return f"√({inside})"
        case "degree":
            return "°"
    return f" {token.text} " if token.kind == "sign" and token.text not in "()" else token.text


class _Parser:
    """Recursive descent over the tokens of one side."""

    def __init__(self, tokens: Iterable[Token]) -> None:
        self.tokens = tuple(tokens)
        self.at = 0

    def whole(self) -> Node:
        tree = self.sum()
        if self.at < len(self.tokens):
            raise UnreadableError(f"{_text(self.tokens[self.at])!r} is out of place")
        return tree

    def peek(self, ahead: int = 0) -> Token:
        at = self.at + ahead
        return self.tokens[at] if at < len(self.tokens) else Token("end")

    def take(self) -> Token:
        token = self.peek()
        self.at += 1
        return token

    def sign(self, *texts: str) -> str:
        """The next token's text where it is one of these signs; it is taken."""
        if self.peek().kind == "sign" and self.peek().text in texts:
            return self.take().text
        return ""

    def sum(self) -> Node:
        terms = [negative(self.term()) if self.sign("-") else self.term()]
        while operator := self.sign("+", "-"):
            term = self.term()
            terms.append(negative(term) if operator == "-" else term)
        return terms[0] if len(terms) == 1 else Add(tuple(terms))

    def term(self) -> Node:
        factors = [(self.factor(), False)]
        while True:
            operator = self.sign("×", "/")
            token = self.peek()
            if not operator and (token.kind in ("end", "number") or _closes(token)):
                return product(factors)
            factors.append((self.factor(), operator == "/"))

    def factor(self) -> Node:
        tree = self.primary()
        if self.peek().kind != "power":
            return tree
        return Pow(tree, _exponent(self.take()))

    def primary(self) -> Node:
        token = self.take()
        match token.kind:
            case "symbol":
                return Sym(token.text)
            case "delta" if self.peek().kind == "symbol":
                return Sym(f"Δ{self.take().text}")
            case "number" if token.literal is not None:
                return self.quantity(token.literal)
            case "fraction":
                parts = (_Parser(token.inside).whole(), _Parser(token.below).whole())
                return product([(parts[0], False), (parts[1], True)])
            case "root":
                return Pow(_Parser(token.inside).whole(), Fraction(1, 2))
            case "function":
                return Call(token.text, self.primary())
        if token.kind == "sign" and token.text == "(":
            tree = self.sum()
            if not self.sign(")"):
                raise UnreadableError("a bracket is not closed")
            return tree
        raise UnreadableError(f"{_text(token) or 'the end'!r} is out of place")

    def quantity(self, literal: Literal) -> Node:
        """A number with the power of ten and the unit that belong to it."""
        times, ten, power = (self.peek(ahead) for ahead in range(3))
        if times.text == "×" and ten.literal == Literal("10") and power.kind == "power":
            literal = replace(literal, exponent=int(_exponent(power)))
            self.at += 3
        if self.peek().kind == "degree":
            self.take()
            return Num(literal, "degree")
        return Num(literal, self.unit())

    def unit(self) -> str:
        """The unit after a number, in the units library's spelling."""
        text = ""
        while self.peek().kind == "unit":
            text += "percent" if self.peek().text == "%" else self.peek().text
            self.take()
            if self.peek().kind == "power":
                text += f"**({_exponent(self.take())})"
            if self.peek().kind == "unit":
                text += "*"
            elif self.peek(1).kind == "unit" and (operator := self.sign("/", "×")):
                text += "*" if operator == "×" else "/"
        return text


def _closes(token: Token) -> bool:
    return token.kind == "sign" and token.text != "("


def _exponent(token: Token) -> Fraction:
    """A raised number: whole, with a minus, or one half."""
    text = "".join(map(_text, token.inside)).replace(" ", "")
    try:
        return Fraction(text)
    except ValueError as error:
        raise UnreadableError(f"{text!r} is no exponent") from error


def plain_unit(text: str) -> str:
    """A unit written in plain text (``m/s²``, ``kg·m²``) in the units library's spelling."""
    if text in ("", "°", "%", "–", "—", "1") or text.startswith("none"):
        return {"°": "degree", "%": "percent"}.get(text, "")
    raised = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
    spelled = re.sub(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+", lambda m: f"**({m[0].translate(raised)})", text.strip())
    return re.sub(r"[·⋅ ]+", "*", spelled)
