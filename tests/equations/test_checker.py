"""The checker passes a true page and finds every fault that is put into it."""

import re

import pytest

from equations.checker import check_page, count_equations, values_of
from equations.example import DISPLAY, INLINE, math, page
from equations.mutants import digits, mutants

VALUES = {
    "m_c": 0.42,
    "m_w": 0.08,
    "μ": 0.008,
    "g": 9.80665,
    "d": 0.6,
    "θ": 0.5235987755982988,
}
SYMBOLS = (
    (r"m_\mathrm{c}", "kg", ""),
    (r"m_\mathrm{w}", "kg", ""),
    (r"\mu", "", ""),
    ("g", "m/s²", ""),
    ("a", "m/s²", ""),
    ("T", "N", ""),
)
IN_SYMBOLS = (
    r"""\begin{aligned}
a &= \frac{m_\mathrm{w}\,g - \mu\,m_\mathrm{c}\,g}{m_\mathrm{c} + m_\mathrm{w}} \\
&= \frac{(m_\mathrm{w} - \mu\,m_\mathrm{c})\,g}{m_\mathrm{c} + m_\mathrm{w}} \\
T &= m_\mathrm{w}\,(g - a)
\end{aligned}""",
    r"T = m_\mathrm{c}\,a + \mu\,m_\mathrm{c}\,g",
)


def test_a_true_page_has_no_findings():
    assert check_page(page()) == []
    assert count_equations(page()) == 38


@pytest.mark.parametrize("step", [1, 5, 9])
def test_every_changed_digit_is_found(step):
    spoilt = list(mutants(page(), step=step))
    assert len(spoilt) == len(digits(page())) > 300
    assert [what for what, html in spoilt if not check_page(html)] == []


def changed(old: str, new: str, *, where: tuple[str, ...] = DISPLAY) -> list[str]:
    """The findings after one change to the example's formulas."""
    assert any(old in formula for formula in where)
    spoilt = tuple(formula.replace(old, new) for formula in where)
    return check_page(page(display=spoilt) if where is DISPLAY else page(inline=spoilt))


def test_numbers_have_to_stand_where_their_symbols_stand():
    findings = changed(
        r"0.4200\,\mathrm{kg} + 0.0800\,\mathrm{kg}", r"0.0800\,\mathrm{kg} + 0.4200\,\mathrm{kg}"
    )
    assert [f.partition(": ")[2] for f in findings] == [
        "0.0800 where m_c = 0.4200 should stand",
        "0.4200 where m_w = 0.0800 should stand",
    ]


FALSE = {
    "another factor": (r"T\,d", r"T\,v", "units differ"),
    "a sign": (r"g - a)", r"g + a)", "0.66428 where 0.9047851 should stand"),
    "a unit": (r"1.50\,\mathrm{m/s^2}", r"1.50\,\mathrm{m/s}", "units differ"),
    "no unit": (r"0.399\,\mathrm{J}", r"0.399\,\mathrm{qux}", "'qux' is no unit"),
    "rounded, yet equal": (r"\approx 1.34", "= 1.34", "1.34 where 1.343055 should stand"),
    "no mark": (r"\underline{1.3431}\,\mathrm{m/s} \a", r"1.3431\,\mathrm{m/s} \a", "1.3431 where"),
    "no minus": (r"(\underline{-0.01977", r"(\underline{0.01977", "0.019770 where W_f = -0.019770"),
    "a subscript": (r"W_\mathrm{N} &", r"W_\mathrm{X} &", "W_X is not in the list of symbols"),
    "another function": (r"\sin\theta", r"\cos\theta", "0.5196152 where 0.3 should stand"),
    "no function": (r"\sin\theta", r"\sinh\theta", "' sinh ' is out of place"),
    "no angle": (r"\sin\theta", r"\sin d", "sin of [length]^1"),
    "a longer bar": (r"\frac{1}{2}\,m_\mathrm{c}", r"\frac{1}{2\,m_\mathrm{c}}", "units differ"),
}  # fmt: skip


@pytest.mark.parametrize(("old", "new", "finding"), FALSE.values(), ids=FALSE)
def test_a_false_equation_is_found(old, new, finding):
    assert any(finding in found for found in changed(old, new))


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        (r"T \lt m", r"T \gt m", "T > m_wg: 0.6642789 > 0.784532 is false"),
        (r"T \lt m", r"T \ge m", "T ≥ m_wg: 0.6642789 ≥ 0.784532 is false"),
        (r"T \lt m", r"T \ll m", "T ≪ m_wg: 0.6642789 ≪ 0.784532 is false"),
        (r"T \lt 0.785", r"T \lt 0.795", "0.795 is nothing that the page works out"),
        (r"T \lt 0.785\,\mathrm{N}", r"T \lt 2\,T", "T < 2T: a number that can't be checked here"),
        (r"a \to g", r"a \to \frac{g}{2}", "a → (g)/(2): a number that can't be checked here"),
        (r"420.0\,\mathrm{g}", r"420.0\,\mathrm{mg}", "0.00042 where 0.42 should stand"),
        (r"\approx 0.785", r"\approx 0.784", "0.784 where 0.784532 should stand"),
    ],
)
def test_a_false_sentence_is_found(old, new, finding):
    assert any(finding in found for found in changed(old, new, where=INLINE))


def test_a_value_that_nothing_bears_out_is_found():
    assert check_page(page(display=DISPLAY[:-1])) == [
        "list of symbols, θ = 30.0: no formula bears this value out",
        "list of symbols, h = 0.300: no formula bears this value out",
    ]


def test_a_slip_has_to_give_the_number_that_is_printed():
    spoilt = page(slip=("a", r"\frac{m_\mathrm{w}\,g}{m_\mathrm{w}}", r"1.87\,\mathrm{m/s^2}"))
    assert check_page(spoilt) == ["slip: 1.87 doesn't follow from its formula"]


def test_a_slip_may_mix_units_but_not_change_the_number():
    mixed = ("a", r"g - m_\mathrm{w}", r"9.73\,\mathrm{m/s^2}")
    assert check_page(page(slip=mixed)) == []
    spoilt = ("a", r"g - m_\mathrm{w}", r"9.83\,\mathrm{m/s^2}")
    assert check_page(page(slip=spoilt)) == ["slip: 9.83 doesn't follow from its formula"]


def test_a_slip_has_the_unit_of_the_quantity_that_was_meant():
    spoilt = page(slip=("a", r"\frac{m_\mathrm{w}\,g}{m_\mathrm{c}}", r"1.87\,\mathrm{m/s}"))
    assert check_page(spoilt) == ["slip: 1.87 doesn't follow from its formula"]
    # The formula itself may have any unit: here a force stands where an acceleration was meant.
    assert check_page(page(slip=("a", r"m_\mathrm{w}\,g", r"0.785\,\mathrm{m/s^2}"))) == []


def test_a_number_in_a_sentence_has_to_be_worked_out_somewhere():
    assert check_page(page(inline=(r"1.51\,\mathrm{m/s^2}",))) == [
        "1.51 is nothing that the page works out"
    ]
    assert check_page(page(inline=(r"m_\mathrm{c}\,v^2",))) == [
        "a formula in m_c, v is nothing that the page works out"
    ]


@pytest.mark.parametrize(
    ("formula", "cell", "fault"),
    [
        (r"\underline{1.5032}", "<u>1.5032</u>", []),
        (r"\underline{1.5032}", "<u>1.5032 × 10⁰</u>", []),
        (r"\underline{1.5032}", "1.5032", ["1.5032 where a = 1.5032 should stand"]),
        (r"\underline{1.5032}", "<u>1.5033</u>", ["1.503163 follows"]),
        (r"\underline{1.5032}", "<u>1.5032 m/s²</u>", ["'1.5032 m/s²' is no number"]),
        (r"\underline{-0.019770}", "<u>−0.019770</u>", []),
    ],
)
def test_the_list_may_give_values_in_plain_text(formula, cell, fault):
    html = page()
    at = html.rindex("<td>" + math(formula) + "</td>")
    html = html[:at] + html[at:].replace(math(formula), cell, 1)
    found = " ".join(check_page(html))
    assert all(words in found for words in fault)
    assert bool(found) == bool(fault)


def test_underlining_may_be_left_to_the_style_sheet():
    bar = re.compile(r'<munder accentunder="true">(.*?)<mo stretchy="true">.</mo></munder>')
    html, count = bar.subn(r'<mrow class="fw-guard">\1</mrow>', page())
    assert count > 10
    assert check_page(html) == []


def in_symbols(display: tuple[str, ...] = IN_SYMBOLS) -> str:
    return page(rows=SYMBOLS, display=display, inline=(), slip=(), values=False)


def test_a_page_in_symbols_is_evaluated_with_the_values_of_the_caller():
    assert check_page(in_symbols(), VALUES) == []
    assert count_equations(in_symbols(), VALUES) == 4
    spoilt = tuple(formula.replace(r"\,a +", r"\,a -") for formula in IN_SYMBOLS)
    assert check_page(in_symbols(spoilt), VALUES) == [
        "T = m_ca - μm_cg: 0.5983782 where 0.6642789 should stand"
    ]


def test_a_page_with_numbers_lends_its_values_to_one_in_symbols():
    values = values_of(page())
    assert values["T"] == pytest.approx(0.664278935, abs=5e-10)
    assert check_page(in_symbols(), values) == []
    spoilt = list(mutants(in_symbols()))
    assert [what for what, html in spoilt if not check_page(html, values)] == []


def test_without_values_units_are_compared_and_nothing_is_counted():
    assert check_page(in_symbols()) == []
    assert count_equations(in_symbols()) == 0
    spoilt = tuple(formula.replace(r"\,(g - a)", "") for formula in IN_SYMBOLS)
    assert check_page(in_symbols(spoilt)) == [
        "T = m_w: units differ: [length]^1 [mass]^1 [time]^-2 and [mass]^1"
    ]


def test_a_page_without_a_list_of_symbols_is_a_finding():
    html = page().replace("<th>Symbol</th>", "<th>Sign</th>")
    assert "the page has 0 lists of symbols" in check_page(html)


def test_a_symbol_without_value_is_a_finding_where_others_have_one():
    assert check_page(in_symbols(), {"m_c": 0.42})[0].endswith(": no value for a, m_w, g, μ")
