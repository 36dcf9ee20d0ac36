"""Whether a page's formulas are true: every one is evaluated again from the page's list of symbols,
or for a page in symbols from values of the caller. What an equation defines is computed to full
precision, so that even the last guard digit can be told right from wrong.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from equations import page, reading, tree

SLACK = 1 + 1e-6  # on half a unit of the last digit: a tie may have been rounded either way
CLOSE = 0.05  # relative; how far two symbolic sides may differ that are said to be about equal
EXACT = 1e-9  # relative error of a value that no rounding has touched
FAR = 0.1  # the largest ratio that "much less" may stand for

_ORDERED: Mapping[str, Callable[[tree.Amount, tree.Amount], bool]] = {
    "<": lambda a, b: a.value + a.error < b.value - b.error,
    ">": lambda a, b: a.value - a.error > b.value + b.error,
    "≤": lambda a, b: a.value - a.error <= b.value + b.error,
    "≥": lambda a, b: a.value + a.error >= b.value - b.error,
    "≪": lambda a, b: a.largest <= FAR * abs(b.value),
    "≫": lambda a, b: b.largest <= FAR * abs(a.value),
}
_FAULTS = (tree.UnreadableError, tree.WrongUnitsError, ArithmeticError)


def check_page(html: str, values: Mapping[str, float] | None = None) -> list[str]:
    """What is wrong with a page's formulas; ``values`` (SI, by symbol) go before the page's own."""
    return Check(html, values).findings


def values_of(html: str) -> dict[str, float]:
    """What a page with numbers gives and derives (SI), to judge a page in symbols by."""
    known = Check(html).known
    return {n: v.value for n, v in known.items() if v.error <= EXACT * abs(v.value)}


class _Link(NamedTuple):
    """A side with the sign before it."""

    sign: str
    side: tree.Node


class Check:
    """A page's ``findings``, and how many pairs of sides were ``compared``."""

    def __init__(self, html: str, values: Mapping[str, float] | None = None) -> None:
        self.page = page.read(html)
        self.given = values or {}
        self.findings = list(self.page.problems)
        self.relations: list[tree.Relation] = []
        self.loose: list[tree.Node] = []  # formulas that state no relation
        self.known: dict[str, tree.Amount] = {}
        self.borne_out: set[str] = set()
        self.compared = 0
        self.read_formulas()
        self.settle_values()
        for relation in self.relations:
            self.judge(relation)
        self.judge_list()
        if any(entry.literal for entry in self.page.entries.values()):
            self.judge_loose()
            self.judge_slips()

    def report(self, relation: tree.Relation, words: str) -> None:
        self.findings.append(f"{relation.text}: {words}")

    def read_formulas(self) -> None:
        slips = [math for slip in self.page.slips for math in slip]
        for math in (*self.page.formulas, *slips):
            try:
                for name in reading.names_in(math):
                    if name not in self.page.entries:
                        self.findings.append(f"{name} is not in the list of symbols")
            except tree.UnreadableError as error:
                self.findings.append(str(error))
        missing = dict.fromkeys(n for n in self.page.drawn if n not in self.page.entries)
        self.findings += [f"{name} in a drawing is not in the list of symbols" for name in missing]
        for math in self.page.formulas:
            try:
                if reading.states_relation(math):
                    self.relations += reading.relations_of(math)
                elif not reading.is_unit(math):
                    self.loose.append(reading.expression_of(math))
            except tree.UnreadableError as error:
                self.findings.append(str(error))

    def settle_values(self) -> None:
        """Exact values first, then what follows from them, then what is only known rounded."""
        definitions = list(self.definitions())
        for name, entry in self.page.entries.items():
            if (value := self.given.get(name)) is not None:
                self.known[name] = tree.Amount(
                    value, tree.NOISE * abs(value), tree.unit_of(entry.unit)[1]
                )
                self.borne_out.add(name)
            elif entry.literal is not None and not entry.literal.marked:
                self.known[name] = tree.amount(entry.literal, entry.unit, exact=True)
        self.derive(definitions)
        for name, entry in self.page.entries.items():
            if name not in self.known and entry.literal is not None:
                self.known[name] = tree.amount(entry.literal, entry.unit, exact=False)
                self.derive(definitions)

    def definitions(self) -> Iterator[tuple[str, tree.Node]]:
        """Every symbol that stands alone on a side, with each formula that it is equal to."""
        for relation in self.relations:
            for chain in _chains(relation, "="):
                formulas = [link.side for link in chain if tree.symbols(link.side)]
                for side in formulas:
                    if isinstance(side, tree.Sym):
                        yield from (
                            (side.name, f) for f in formulas if side.name not in tree.symbols(f)
                        )

    def derive(self, definitions: list[tuple[str, tree.Node]]) -> None:
        """Compute what can be computed by now; faults come out where relations are judged."""
        progress = True
        while progress:
            progress = False
            for name, formula in definitions:
                if name not in self.known and all(n in self.known for n in tree.symbols(formula)):
                    try:
                        self.known[name] = tree.evaluate(formula, self.known)
                    except _FAULTS:
                        continue
                    self.borne_out.add(name)
                    progress = True

    def judge(self, relation: tree.Relation) -> None:
        missing = [n for side in relation.sides for n in tree.symbols(side) if n not in self.known]
        try:
            if not missing:
                self.compare(relation)
            elif self.known and set(relation.signs) != {"→"}:
                self.report(relation, f"no value for {', '.join(dict.fromkeys(missing))}")
            else:
                self.compare_units(relation)
            self.judge_whole_numbers(relation)
        except _FAULTS as error:
            self.report(relation, str(error))

    def compare_units(self, relation: tree.Relation) -> None:
        """Dimensions alone, where there are no values; no two stand-ins are equal."""
        stand_ins = {
            name: tree.Amount(1.0 + 0.01 * index, 0.0, tree.unit_of(entry.unit)[1])
            for index, (name, entry) in enumerate(self.page.entries.items())
        }
        if all(name in stand_ins for side in relation.sides for name in tree.symbols(side)):
            tree.same_dimensions([tree.evaluate(side, stand_ins) for side in relation.sides])

    def judge_whole_numbers(self, relation: tree.Relation) -> None:
        """Where nothing is equal, a wrong factor wouldn't show: only 0 and 1 may stand there."""
        for (_, side), *others in _chains(relation, "=≈"):
            alone = isinstance(side, tree.Num)
            if others or (isinstance(side, tree.Num) and side.literal.digits in ("0", "1")):
                continue
            if alone and "→" not in relation.signs:
                self.loose.append(side)
            elif any(isinstance(node, tree.Num | tree.Pow) for node in tree.nodes(side)):
                self.report(relation, "a number that can't be checked here")

    def compare(self, relation: tree.Relation) -> None:
        amounts = [tree.evaluate(side, self.known) for side in relation.sides]
        tree.same_dimensions(amounts)
        for index, sign in enumerate(relation.signs):
            left, right = amounts[index], amounts[index + 1]
            if sign in _ORDERED and not _ORDERED[sign](left, right):
                self.report(relation, f"{_said(left)} {sign} {_said(right)} is false")
        self.compared += sum(sign != "→" for sign in relation.signs)
        for chain in _chains(relation, "=≈"):
            self.judge_values(relation, chain)
            self.judge_operands(relation, chain)

    def judge_values(self, relation: tree.Relation, chain: list[_Link]) -> None:
        """Every side against the one that is known best, a symbolic one where there is one."""
        amounts = [self.amount_of(link) for link in chain]
        symbolic = [a for a, link in zip(amounts, chain, strict=True) if tree.symbols(link.side)]
        best = min(symbolic or amounts, key=lambda one: one.error)
        for one in amounts:
            if not _agree(one, best):
                self.report(relation, f"{_said(one)} where {_said(best)} should stand")

    def amount_of(self, link: _Link) -> tree.Amount:
        if link.sign == "≈" and isinstance(link.side, tree.Num):
            return tree.amount(link.side.literal, link.side.unit, exact=False)
        value = tree.evaluate(link.side, self.known)
        about = CLOSE * abs(value.value) if link.sign == "≈" and tree.symbols(link.side) else 0.0
        return replace(value, error=value.error + about)

    def judge_operands(self, relation: tree.Relation, chain: list[_Link]) -> None:
        """Numeric sides against the symbolic one before them, digit by digit; guard digits too."""
        pattern: tree.Node | None = None
        for _, side in chain:
            if tree.symbols(side):
                pattern = side
            elif pattern is not None and not isinstance(side, tree.Num):
                judge = page.strangers if page.lone_symbol(pattern) else page.mismatches
                faults = list(judge(pattern, side, self.page.entries))
                self.findings += [f"{relation.text}: {fault}" for fault in faults]
                if not faults and judge is page.mismatches:
                    self.borne_out.update(tree.symbols(pattern))
        numbers = [
            side.literal for sign, side in chain if isinstance(side, tree.Num) and sign != "≈"
        ]
        for name, opposite in filter(None, (page.lone_symbol(side) for _, side in chain)):
            own = self.page.entries[name].literal if name in self.page.entries else None
            for number in numbers if own else ():
                shown = number.opposite() if opposite else number
                if own and shown.marked and shown != own:
                    self.report(relation, f"{shown.digits}, but {name} is {own.digits}")
                self.borne_out.add(name)  # its value is compared with the others in the chain

    def judge_list(self) -> None:
        """The listed units and values against those that follow, if a formula bears them out."""
        for name, entry in self.page.entries.items():
            known, where = self.known.get(name), f"list of symbols, {name}"
            if known and known.dimensions not in (None, tree.unit_of(entry.unit)[1]):
                self.findings.append(f"{where}: another unit follows")
            if entry.literal is None or known is None:
                continue
            printed = tree.amount(entry.literal, entry.unit, exact=not entry.literal.marked)
            borne_out = "" if name in self.borne_out else "no formula bears this value out"
            fault = borne_out if _agree(printed, known) else f"{_said(known)} follows"
            self.findings += [f"{where} = {entry.literal.digits}: {fault}"] if fault else []

    def judge_loose(self) -> None:
        """Formulas that hold numbers and state no relation: each must be the value of another."""
        sides = [side for relation in self.relations for side in relation.sides]
        worth = [self.worth(tree.Sym(name)) for name in self.page.entries]
        worth += [self.worth(side) for side in sides if not isinstance(side, tree.Num)]
        own = [self.worth(formula) for formula in self.loose]
        for index, formula in enumerate(self.loose):
            if any(isinstance(node, tree.Num | tree.Pow) for node in tree.nodes(formula)):
                rivals = [*worth, *own[:index], *own[index + 1 :]]
                if own[index] is None or not any(_equal(own[index], rival) for rival in rivals):
                    self.findings.append(f"{_shown(formula)} is nothing that the page works out")

    def judge_slips(self) -> None:
        """A wrong formula gives the number that is printed after it."""
        for formulas in self.page.slips:
            try:
                trees = [reading.expression_of(math) for math in formulas]
            except tree.UnreadableError as error:
                self.findings.append(f"slip: {error}")
                continue
            if len(trees) < 3:
                continue
            meant, wrong, printed = map(self.worth, trees[-3:])
            wrong = wrong or self.worth(trees[-2], bare=True)
            # The unit is that of the quantity which was meant, whatever the formula gives.
            right_unit = meant and printed and meant.dimensions == printed.dimensions
            if not right_unit or not wrong or not printed or not _agree(wrong, printed):
                self.findings.append(f"slip: {_shown(trees[-1])} doesn't follow from its formula")

    def worth(self, formula: tree.Node, *, bare: bool = False) -> tree.Amount | None:
        """The value of a formula, of a number to half its last digit; ``bare``: without units."""
        if isinstance(formula, tree.Num):
            return tree.amount(formula.literal, formula.unit, exact=False)
        plain = {n: replace(known, dimensions=tree.NUMBER) for n, known in self.known.items()}
        try:
            return tree.evaluate(formula, plain if bare else self.known)
        except (*_FAULTS, KeyError):
            return None


def _chains(relation: tree.Relation, signs: str) -> list[list[_Link]]:
    """Neighbouring sides that are joined by one of the signs."""
    chains = [[_Link("", relation.sides[0])]]
    for sign, side in zip(relation.signs, relation.sides[1:], strict=True):
        chains += [] if sign in signs else [[]]
        chains[-1].append(_Link(sign if sign in signs else "", side))
    return chains


def _agree(one: tree.Amount, other: tree.Amount) -> bool:
    noise = tree.NOISE * max(abs(one.value), abs(other.value))
    return abs(one.value - other.value) <= SLACK * (one.error + other.error) + noise


def _equal(one: tree.Amount | None, other: tree.Amount | None) -> bool:
    known = one is not None and other is not None
    return known and one.dimensions == other.dimensions and _agree(one, other)


def _shown(formula: tree.Node) -> str:
    number = isinstance(formula, tree.Num)
    return formula.literal.digits if number else f"a formula in {', '.join(tree.symbols(formula))}"


def _said(value: tree.Amount) -> str:
    return f"{value.value:.7g}"
