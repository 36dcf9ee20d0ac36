"""Formulas: trees have the value of what is written, and are printed as no other formula."""

import math
from collections.abc import Sequence

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cases import cases
from equations.reading import expression_of, relations_of
from equations.test_checker import block
from equations.tree import NUMBER, Amount, Node, UnreadableError
from equations.tree import evaluate as read_value
from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.expression import (
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
    evaluate,
    symbols_in,
)
from fallwork.lesson.latex import UnequalSidesError, latex, plain, working
from fallwork.lesson.printer import MARK, Printer, unbroken
from fallwork.site.mathml import to_mathml

half = Quotient(top=Number(value=1), bottom=Number(value=2))
TABLES = cases(__file__, "latex", as_text=True)
_UNITS = ("", "kg", "m/s²", "N·m", "kg·m²", "°", "s⁻¹")
_NAMES = ("a", "b", "mu", "Delta K", "theta")


def ref(letter, subscript="", unit="", value=None, written=""):
    found = {"unit": unit, "value": float(written) if written else value, "written": written}
    return Symbol(id=letter + subscript, letter=letter, subscript=subscript, meaning="", **found)


m = ref("m", "c", "kg", written="0.4200")
M = ref("m", "w", "kg", written="0.0800")
g = ref("g", "", "m/s²", written="9.80665")
mu = ref("mu", written="0.008")
d = ref("d", "", "m", written="0.600")
a = ref("a", "", "m/s²", 1.503163312)
T = ref("T", "", "N", 0.08 * (9.80665 - 1.503163312))
W = ref("W", "f", "J", -0.0197702064)
K = ref("Delta K", "c", "J", 0.3787971546)
theta = ref("theta", "", "°", written="12.0")
inertia = ref("I", "", "kg·m²", written="2.25e-5")
v = ref("v", "", "m/s", (2 * 1.503163312 * 0.6) ** 0.5)
six, three, two = ref("a", value=6.0), ref("b", value=3.0), ref("c", value=2.0)
tenth, fifth = ref("x", value=0.1), ref("y", value=0.2)


def sin(angle: Expression) -> Function:
    return Function(name="sin", argument=angle)


def numbers(tree: Expression, figures: int) -> str:
    return unbroken(Printer(figures=figures).print(tree))


def rows_of(*equations: Equation) -> list[str]:
    """The rows of equations that stand together, a bar where one may break, without spaces."""
    lines = working(equations, 3).splitlines()[1:-1]
    return [squeezed(line.removesuffix("\\\\").replace(MARK, "|")) for line in lines]


def squeezed(code: str) -> str:
    """Without the spaces that LaTeX ignores and the thin ones between factors."""
    return code.replace(r"\, ", "").replace(" ", "")


def rows(name: str) -> pytest.MarkDecorator:
    """The cases of a table, whose formulas are written with the names of this module."""
    return pytest.mark.parametrize(("formula", "code"), TABLES[name].items())


@rows("values")
def test_arithmetic_with_trees_gives_what_arithmetic_with_numbers_gives(formula, code):
    assert evaluate(eval(formula)) == pytest.approx(eval(code), rel=1e-6, abs=0.0)


@rows("symbols")
def test_symbols_are_printed_with_the_brackets_that_the_reading_needs(formula, code):
    assert squeezed(latex(eval(formula))) == code


@rows("numbers")
def test_numbers_stand_with_their_units_where_the_symbols_stood(formula, code):
    assert squeezed(numbers(eval(formula), 3)) == code


@rows("plain")
def test_plain_text_reads_like_the_formula(formula, code):
    assert plain(eval(formula)) == code


@pytest.mark.parametrize(("unit", "code"), TABLES["units"].items())
def test_a_unit_is_upright_after_a_space(unit, code):
    assert numbers(ref("x", unit=unit, written="2.50"), 3) == "2.50" + code


@pytest.mark.parametrize(("value", "unit", "code"), TABLES["results"])
def test_a_result_is_rounded_from_guard_digits_unless_it_is_exact(value, unit, code):
    alone = ref("x", unit=unit, value=eval(value))
    assert rows_of(Equation(left=alone, right=alone, numbers=True)) == [f"x&={code}"]


def test_an_equation_with_numbers_has_a_row_for_each_stage():
    # The acceleration of a cart of 420 g pulled by 80 g, friction 0.008: by hand 1.503163312 m/s².
    equation = Equation(
        left=a,
        right=(M * g - mu * m * g) / (m + M),
        forms=((M - mu * m) * g / (m + M),),
        numbers=True,
    )
    assert rows_of(equation) == [
        r"a&=\frac{m_\mathrm{w}g-\mum_\mathrm{c}g}{m_\mathrm{c}+m_\mathrm{w}}",
        r"&=\frac{(m_\mathrm{w}-\mum_\mathrm{c})g}{m_\mathrm{c}+m_\mathrm{w}}",
        r"&=(0.0800\,\mathrm{kg}|-0.008|\times0.4200\,\mathrm{kg})|\times9.80665\,\mathrm{m/s^2}"
        r"|/(0.4200\,\mathrm{kg}|+0.0800\,\mathrm{kg})",
        r"&=\underline{1.5032}\,\mathrm{m/s^2}|\approx1.50\,\mathrm{m/s^2}",
    ]


def test_rows_break_are_boxed_and_say_nothing_twice():
    short = Equation(left=T, right=M * (g - a), forms=(M * g - M * a,))
    assert rows_of(short) == [r"T&=m_\mathrm{w}(g|-a)|=m_\mathrm{w}g|-m_\mathrm{w}a"]
    balance = Equation(left=M * g - T, right=M * a, unit="N", numbers=True)
    assert rows_of(balance)[0] == r"&m_\mathrm{w}g|-T|=m_\mathrm{w}a"
    (row,) = rows_of(Equation(left=T, right=M * (g - a), boxed=True))
    assert row == r"T&=\boxed{m_\mathrm{w}(g|-a)}"
    assert rows_of(Equation(left=T, right=T, numbers=True, boxed=True)) == [
        r"T&=\underline{0.66428}\,\mathrm{N}|\approx\boxed{0.664\,\mathrm{N}}"
    ]
    nothing = Equation(left=ref("W", "N", "J"), right=Number(value=0), numbers=True)
    assert rows_of(nothing) == [r"W_\mathrm{N}&=0\,\mathrm{J}"]
    same = Equation(left=ref("x", "", "m"), right=d, numbers=True)
    assert rows_of(same) == ["x&=d", r"&=0.600\,\mathrm{m}"]


def test_sides_that_differ_are_a_fault_and_others_agree_whatever_their_signs():
    wrong = Equation(left=T, right=M * (g + a), numbers=True)
    with pytest.raises(UnequalSidesError, match="T: "):
        working((wrong,), 3)
    slower, far = ref("a", "", "m/s²", -2.0), ref("d", "", "m", 1.0)
    speed = ref("v", "", "m/s", 2.0)
    root = Root(body=Negative(body=Product(factors=(Number(value=2), slower, far))))
    assert working((Equation(left=speed, right=root, numbers=True),), 3)
    near = ref("x", "", "m", 1.0 + 1e-5)
    ratio = Quotient(top=far, bottom=near - far)
    other = ref("r", "", "", 1e5)
    assert working((Equation(left=other, right=ratio, numbers=True),), 3)


def test_relations_have_their_signs_and_symbols_the_order_of_printing():
    relation = Relation(sides=(Number(value=0), T, M * g), signs=("<", "<"))
    assert latex(relation) == r"0 \lt T \lt m_\mathrm{w} \, g"
    limit = Relation(sides=(M / m, Number(value=0)), signs=("→",))
    assert latex(limit).endswith(r"\to 0")
    tree = (six - three) / (two * Root(body=six))
    assert [symbol.letter for symbol in symbols_in(tree)] == ["a", "b", "c", "a"]
    with pytest.raises(ValueMissingError, match="w"):
        evaluate(a + ref("w"))


# From here on: random trees, read back by a parser that knows nothing of the printer.


@st.composite
def leaves(draw: st.DrawFn, units: Sequence[str]) -> Symbol:
    """Symbols of any unit; the same letter and subscript are always the same quantity."""
    place = draw(st.integers(0, 34))
    sign = -1 if place % 3 == 0 else 1
    value = sign * (place + 1) * 10.0 ** ((place * 7) % 9 - 4) / 7
    letter, subscript = _NAMES[place % 5], str(place // 5)
    return ref(letter, subscript, units[place // 5], value)


def _larger(trees: st.SearchStrategy[Expression]) -> st.SearchStrategy[Expression]:
    several = st.lists(trees, min_size=2, max_size=3).map(tuple)
    return st.one_of(
        st.builds(Sum, terms=several),
        st.builds(Product, factors=several),
        st.builds(Negative, body=trees),
        st.builds(Quotient, top=trees, bottom=trees),
        st.builds(Power, base=trees, exponent=st.sampled_from([2, 3, -1])),
        st.builds(Root, body=trees),
        st.builds(Function, name=st.sampled_from(["sin", "cos"]), argument=trees),
    )


def trees_of(units: Sequence[str]) -> st.SearchStrategy[Expression]:
    numbers = st.builds(Number, value=st.integers(-9, 99))
    return st.recursive(leaves(units) | numbers, _larger, max_leaves=9)


numeric = trees_of([""] * len(_UNITS))  # others add kilograms to metres


def mathml(code: str) -> str:
    return to_mathml(code, display=True)


def value_of(tree: Expression) -> float:
    """The value, where there is one and cancelling or a large angle doesn't spoil it."""
    try:
        value = evaluate(tree)
    except (ArithmeticError, ValueError):
        value = math.nan
    assume(math.isfinite(value) and abs(value) < 1e9)
    return value


def read_side(side: Node, known: dict[str, Amount]) -> Amount:
    """What the reader makes of a side; it refuses to divide by what rounding may make zero."""
    try:
        return read_value(side, known)
    except UnreadableError:
        assume(False)
        raise


@given(trees_of(_UNITS))
def test_every_tree_can_be_converted_and_read(tree):
    expression_of(mathml(latex(tree)))
    expression_of(mathml(numbers(tree, 3)))


@given(numeric)
def test_rows_of_an_equation_and_its_sides_alone_say_the_same_as_its_tree(tree):
    value = value_of(tree)
    equation = Equation(left=ref("x", "", "", value), right=tree, numbers=True)
    (relation,) = relations_of(block(working((equation,), 13)))
    known = {plain(s): Amount(s.value, 0.0, NUMBER) for s in symbols_in(tree)}
    known["x"] = Amount(value, 0.0, NUMBER)
    alone = [expression_of(mathml(code)) for code in (latex(tree), numbers(tree, 13))]
    for side in (*relation.sides, *alone):
        read = read_side(side, known)
        assert read.value == pytest.approx(value, rel=1e-9, abs=read.error + 1e-9)
