"""Formulas in LaTeX: as few brackets as the reading needs, and never another formula."""

import math
from collections.abc import Sequence

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from math_core import LatexToMathML
from matplotlib.mathtext import MathTextParser

from equations.checker import Check, check_page
from equations.example import block, page
from equations.page import mutants
from equations.reading import expression_of, relations_of
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
    evaluate,
    symbols_in,
)
from fallwork.lesson.latex import UnequalSidesError, latex, number, plain, working
from fallwork.lesson.printer import MARK, Printer, unbroken


def ref(letter: str, subscript: str = "", unit: str = "", value: float | None = None,
        written: str = "") -> Symbol:  # fmt: skip
    return Symbol(
        id=letter + subscript,
        letter=letter,
        subscript=subscript,
        meaning="",
        unit=unit,
        value=float(written) if written else value,
        written=written,
    )


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
half = Quotient(top=Number(value=1), bottom=Number(value=2))


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


@pytest.mark.parametrize(
    ("tree", "code"),
    [
        (M * g - T, r"m_\mathrm{w}g-T"),
        (g - (a - mu), r"g-(a-\mu)"),
        (-(a - g) * m, r"-(a-g)m_\mathrm{c}"),
        (a + Negative(body=g), "a-g"),
        (m * (g - a), r"m_\mathrm{c}(g-a)"),
        (m * g / (m + M), r"\frac{m_\mathrm{c}g}{m_\mathrm{c}+m_\mathrm{w}}"),
        (half * m * v**2, r"\frac{1}{2}m_\mathrm{c}v^2"),
        (2 * a * d, "2ad"),
        (a * 2, r"a\times2"),
        (K**2, r"(\DeltaK_\mathrm{c})^2"),
        ((a / g) ** 2, r"\left(\frac{a}{g}\right)^2"),
        ((a**2) ** 3, "(a^2)^3"),
        (Power(base=a, exponent=-1), "a^{-1}"),
        (Root(body=2 * a * d), r"\sqrt{2ad}"),
        (m * g * sin(theta), r"m_\mathrm{c}g\sin\theta"),
        (sin(theta) * m, r"\sin(\theta)m_\mathrm{c}"),
        (sin(2 * theta), r"\sin(2\theta)"),
        (sin(Number(value=75) / 10), r"\sin7.5"),  # radians, with the digits of the angle
        (sin(theta) ** 2, r"(\sin\theta)^2"),
        (a - Number(value=-2), "a-(-2)"),
    ],
)
def test_symbols_are_printed_with_the_brackets_that_the_reading_needs(tree, code):
    assert squeezed(latex(tree)) == code


@pytest.mark.parametrize(
    ("tree", "code"),
    [
        (m * a, r"0.4200\,\mathrm{kg}\times\underline{1.5032}\,\mathrm{m/s^2}"),
        (2 * d, r"2\times0.600\,\mathrm{m}"),
        (v**2, r"(\underline{1.3431}\,\mathrm{m/s})^2"),
        (mu**2, "0.008^2"),
        (W + K, r"\underline{-0.019770}\,\mathrm{J}+\underline{0.37880}\,\mathrm{J}"),
        (K + W, r"\underline{0.37880}\,\mathrm{J}+(\underline{-0.019770}\,\mathrm{J})"),
        (K - W, r"\underline{0.37880}\,\mathrm{J}-(\underline{-0.019770}\,\mathrm{J})"),
        (-W, r"-(\underline{-0.019770}\,\mathrm{J})"),
        (2 * W, r"2\times(\underline{-0.019770}\,\mathrm{J})"),
        (sin(theta), r"\sin12.0^\circ"),
        (sin(theta * 2), r"\sin(12.0^\circ\times2)"),
        (inertia / 2, r"\frac{2.25\times10^{-5}\,\mathrm{kg{\cdot}m^2}}{2}"),
        (2 * inertia, r"2\times(2.25\times10^{-5}\,\mathrm{kg{\cdot}m^2})"),
        (mu + ref("x", value=0.0), "0.008+0"),
    ],
)  # fmt: skip
def test_numbers_stand_with_their_units_where_the_symbols_stood(tree, code):
    assert squeezed(numbers(tree, 3)) == code


def test_a_value_alone_has_its_unit_or_not():
    assert numbers(a, 3) == r"\underline{1.5032}\,\mathrm{m/s^2}"
    assert number(a, 3) == r"\underline{1.5032}"
    assert number(m, 3) == "0.4200"


@pytest.mark.parametrize(
    ("unit", "code"),
    [
        ("m/s²", r"\,\mathrm{m/s^2}"),
        ("kg·m²", r"\,\mathrm{kg{\cdot}m^2}"),
        ("s⁻¹", r"\,\mathrm{s^{-1}}"),
        ("N m", r"\,\mathrm{N\,m}"),
        ("%", r"\,\%"),
        ("°", r"^\circ"),
        ("", ""),
    ],
)
def test_a_unit_is_upright_after_a_space(unit, code):
    # BIPM, SI Brochure, 8th edition, 5.3.3, as read: no space before the sign of degrees only.
    assert numbers(ref("x", unit=unit, written="2.50"), 3) == "2.50" + code


@pytest.mark.parametrize(
    ("value", "unit", "code"),
    [
        (1.503163312, "m/s²", r"\underline{1.5032}\,\mathrm{m/s^2}|\approx1.50\,\mathrm{m/s^2}"),
        (0.0, "J", r"0\,\mathrm{J}"),
        (0.1 + 0.2, "N", r"0.300\,\mathrm{N}"),
        (12.3456, "°", r"\underline{12.346}^\circ|\approx12.3^\circ"),
        (2.0, "", "2.00"),
        (3.21, "%", r"3.21\,\%"),
    ],
)
def test_a_result_is_rounded_from_guard_digits_unless_it_is_exact(value, unit, code):
    alone = ref("x", unit=unit, value=value)
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


def test_an_equation_in_symbols_has_no_numbers():
    short = Equation(left=T, right=M * (g - a), forms=(M * g - M * a,))
    assert rows_of(short) == [r"T&=m_\mathrm{w}(g|-a)|=m_\mathrm{w}g|-m_\mathrm{w}a"]


def test_a_left_side_of_several_terms_begins_a_row_that_may_break_before_the_sign():
    balance = Equation(left=M * g - T, right=M * a, unit="N", numbers=True)
    assert rows_of(balance)[0] == r"&m_\mathrm{w}g|-T|=m_\mathrm{w}a"


def test_the_last_side_of_a_result_is_boxed_in_numbers_and_in_symbols():
    (row,) = rows_of(Equation(left=T, right=M * (g - a), boxed=True))
    assert row == r"T&=\boxed{m_\mathrm{w}(g|-a)}"
    assert rows_of(Equation(left=T, right=T, numbers=True, boxed=True)) == [
        r"T&=\underline{0.66428}\,\mathrm{N}|\approx\boxed{0.664\,\mathrm{N}}"
    ]


def test_a_zero_and_a_single_symbol_are_not_printed_twice():
    nothing = Equation(left=ref("W", "N", "J"), right=Number(value=0), numbers=True)
    assert rows_of(nothing) == [r"W_\mathrm{N}&=0\,\mathrm{J}"]
    same = Equation(left=ref("x", "", "m"), right=d, numbers=True)
    assert rows_of(same) == ["x&=d", r"&=0.600\,\mathrm{m}"]


def test_sides_that_differ_are_a_fault_of_the_program():
    wrong = Equation(left=T, right=M * (g + a), numbers=True)
    with pytest.raises(UnequalSidesError, match="T: "):
        working((wrong,), 3)


def test_sides_agree_whatever_the_signs_of_values_and_however_much_a_denominator_cancels():
    slower, far = ref("a", "", "m/s²", -2.0), ref("d", "", "m", 1.0)
    speed = ref("v", "", "m/s", 2.0)
    root = Root(body=Negative(body=Product(factors=(Number(value=2), slower, far))))
    assert working((Equation(left=speed, right=root, numbers=True),), 3)
    near = ref("x", "", "m", 1.0 + 1e-5)
    ratio = Quotient(top=far, bottom=near - far)
    other = ref("r", "", "", 1e5)
    assert working((Equation(left=other, right=ratio, numbers=True),), 3)


def test_a_relation_has_its_signs_between_its_sides():
    relation = Relation(sides=(Number(value=0), T, M * g), signs=("<", "<"))
    assert latex(relation) == r"0 \lt T \lt m_\mathrm{w} \, g"
    limit = Relation(sides=(M / m, Number(value=0)), signs=("→",))
    assert latex(limit).endswith(r"\to 0")


@pytest.mark.parametrize(
    ("formula", "text"),
    [
        (Relation(sides=(m * g - T, m * a), signs=("=",)), "m_c g − T = m_c a"),
        ((M * g - mu * m * g) / (m + M), "(m_w g − μ m_c g)/(m_c + m_w)"),
        (half * m * v**2, "½ m_c v²"),
        (Root(body=2 * a * d), "√(2 a d)"),
        (m * g * sin(theta), "m_c g sin θ"),
        (2 * (a / g) / mu, "(2 a/g)/μ"),
        (sin(Number(value=85) / 10) * m, "sin (8.5) m_c"),
        (K, "ΔK_c"),
        (a - (g - mu), "a − (g − μ)"),
        (-a * g, "−a g"),
        (a / (g * mu), "a/(g μ)"),
    ],
)
def test_plain_text_reads_like_the_formula(formula, text):
    assert plain(formula) == text


@pytest.mark.parametrize("symbol", [m, mu, K, theta, ref("m", "front cart"), ref("W", "f,c")])
def test_plot_labels_understand_symbols(symbol):
    MathTextParser("path").parse(f"${latex(symbol)}$")


# From here on: random trees, read back by a parser that knows nothing of the printer.

_UNITS = ("", "kg", "m/s²", "N·m", "kg·m²", "°", "s⁻¹")
_NAMES = ("a", "b", "mu", "Delta K", "theta")


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
    converter = LatexToMathML(fancy_error=False)
    return converter.convert_with_local_state(code, displaystyle=True)


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
def test_the_printed_symbols_have_the_value_of_the_tree(tree):
    value = value_of(tree)
    known = {plain(s): Amount(s.value, 0.0, NUMBER) for s in symbols_in(tree)}
    read = read_side(expression_of(mathml(latex(tree))), known)
    assert read.value == pytest.approx(value, rel=1e-9, abs=read.error + 1e-9)


@given(numeric)
def test_the_printed_numbers_have_the_value_of_the_tree(tree):
    value = value_of(tree)
    read = read_side(expression_of(mathml(numbers(tree, 13))), {})
    assert read.value == pytest.approx(value, rel=1e-9, abs=read.error + 1e-9)


@given(numeric)
def test_rows_of_an_equation_say_the_same_as_its_tree(tree):
    value = value_of(tree)
    equation = Equation(left=ref("x", "", "", value), right=tree, numbers=True)
    (relation,) = relations_of(block(working((equation,), 13)))
    known = {plain(s): Amount(s.value, 0.0, NUMBER) for s in symbols_in(tree)}
    known["x"] = Amount(value, 0.0, NUMBER)
    for side in relation.sides:
        read = read_side(side, known)
        assert read.value == pytest.approx(value, rel=1e-9, abs=read.error + 1e-9)


def test_worked_equations_make_a_page_that_an_independent_reader_finds_true():
    left = ref("x", "", "N", evaluate(m * a + mu * m * g))
    height = ref("h", "", "m", evaluate(d * sin(theta)))
    equations = (
        Equation(left=a, right=(M * g - mu * m * g) / (m + M), numbers=True),
        Equation(left=T, right=M * (g - a), numbers=True),
        Equation(left=v, right=Root(body=2 * a * d), numbers=True),
        Equation(left=left, right=m * a + mu * m * g, numbers=True),
        Equation(left=M * g - T, right=M * a, unit="N", numbers=True),
        Equation(left=height, right=d * sin(theta), numbers=True),
    )
    used = {s.id: s for e in equations for side in (e.left, e.right) for s in symbols_in(side)}
    listed = tuple((latex(s), s.unit, number(s, 3)) for s in used.values())
    html = page(rows=listed, display=(working(equations, 3),), inline=(), slip=())
    assert check_page(html) == []
    assert Check(html).compared == 24
    assert [what for what, spoilt in mutants(html) if not check_page(spoilt)] == []
