"""The checker passes a true page and finds every fault that is put into it; every equation of the
built demo course is true, on a page in symbols by the values of the example of the same lab.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from equations.checker import Check, check_page, values_of
from equations.example import DISPLAY, INLINE, math, page
from equations.page import digits, mutants

VALUES = {"m_c": 0.42, "m_w": 0.08, "μ": 0.008, "g": 9.80665, "d": 0.6, "θ": 0.5235987755982988}
SYMBOLS = (
    *((r"m_\mathrm{c}", "kg", ""), (r"m_\mathrm{w}", "kg", ""), (r"\mu", "", "")),
    *(("g", "m/s²", ""), ("a", "m/s²", ""), ("T", "N", "")),
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
    assert Check(page()).compared == 38


def test_every_changed_digit_is_found(thorough):
    """By 1, by 5 and by 9; in an everyday run each digit by one of them."""
    for at, step in enumerate((1, 5, 9)):
        spoilt = list(mutants(page(), step=step))
        assert len(spoilt) == len(digits(page())) > 300
        tried = spoilt if thorough else spoilt[at::3]
        assert [what for what, html in tried if not check_page(html)] == []


FALSE = {  # what is wrong: what stands there, what stands there instead, the finding
    "numbers in others' places": (
        r"0.4200\,\mathrm{kg} + 0.0800\,\mathrm{kg}",
        r"0.0800\,\mathrm{kg} + 0.4200\,\mathrm{kg}",
        "0.0800 where m_c = 0.4200 should stand",
    ),
    "another factor": (r"T\,d", r"T\,v", "units differ"),
    "a sign": (r"g - a)", r"g + a)", "0.66428 where 0.9047851 should stand"),
    "a unit": (r"1.50\,\mathrm{m/s^2}", r"1.50\,\mathrm{m/s}", "units differ"),
    "no unit": (r"0.399\,\mathrm{J}", r"0.399\,\mathrm{qux}", "'qux' is no unit"),
    "rounded, yet equal": (r"\approx 1.34", "= 1.34", "1.34 where 1.343055 should stand"),
    "no mark": (r"\underline{1.3431}\,\mathrm{m/s} \a", r"1.3431\,\mathrm{m/s} \a", "1.3431 where"),
    "no minus": (r"(\underline{-0.01977", r"(\underline{0.01977", "0.019770 where W_f = -0.019770"),
    "a subscript": (r"W_\mathrm{N} &", r"W_\mathrm{X} &", "W_X is not in the list of symbols"),
    "another function": (r"\sin\theta", r"\cos\theta", "0.5196152 where 0.3 should stand"),
    "no function": (r"\sin\theta", r"\sinh\theta", "'sinh' is out of place"),
    "no angle": (r"\sin\theta", r"\sin d", "sin of [length]^1"),
    "a longer bar": (r"\frac{1}{2}\,m_\mathrm{c}", r"\frac{1}{2\,m_\mathrm{c}}", "units differ"),
    # in sentences
    "more": (r"T \lt m", r"T \gt m", "T > m_wg: 0.6642789 > 0.784532 is false"),
    "as much": (r"T \lt m", r"T \ge m", "T ≥ m_wg: 0.6642789 ≥ 0.784532 is false"),
    "much less": (r"T \lt m", r"T \ll m", "T ≪ m_wg: 0.6642789 ≪ 0.784532 is false"),
    "a bound": (r"T \lt 0.785", r"T \lt 0.795", "0.795 is nothing that the page works out"),
    "a factor": (r"T \lt 0.785\,\mathrm{N}", r"T \lt 2\,T", "T < 2T: a number that can't"),
    "a limit": (r"a \to g", r"a \to \frac{g}{2}", "a → ((g)/(2)): a number that can't be checked"),
    "a prefix": (r"420.0\,\mathrm{g}", r"420.0\,\mathrm{mg}", "0.00042 where 0.42 should stand"),
    "a digit": (r"\approx 0.785", r"\approx 0.784", "0.784 where 0.784532 should stand"),
    "a number": (r"1.50\,\mathrm{m/s^2}", r"1.51\,\mathrm{m/s^2}", "1.51 is nothing that the page"),
    "half": (r"\frac{1}{2}\,m_\mathrm{c}\,v", r"m_\mathrm{c}\,v", "a formula in m_c, v is"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "finding", "where"),
    [(*fault, "display" if at < 13 else "inline") for at, fault in enumerate(FALSE.values())],
    ids=FALSE,
)
def test_a_false_equation_or_sentence_is_found(old, new, finding, where):
    true = {"display": DISPLAY, "inline": INLINE}[where]
    spoilt = tuple(formula.replace(old, new) for formula in true)
    assert spoilt != true
    assert any(finding in found for found in check_page(page(**{where: spoilt})))


MISSED = "slip: {} doesn't follow from its formula"
WRONG = r"\frac{m_\mathrm{w}\,g}{m_\mathrm{c}}"


@pytest.mark.parametrize(
    ("wrong", "number", "findings"),
    [
        (WRONG.replace("c}", "w}"), r"1.87\,\mathrm{m/s^2}", [MISSED.format("1.87")]),
        # It may mix units, but has the unit of the quantity that was meant.
        (r"g - m_\mathrm{w}", r"9.73\,\mathrm{m/s^2}", []),
        (r"g - m_\mathrm{w}", r"9.83\,\mathrm{m/s^2}", [MISSED.format("9.83")]),
        (r"m_\mathrm{w}\,g", r"0.785\,\mathrm{m/s^2}", []),
        (WRONG, r"1.87\,\mathrm{m/s}", [MISSED.format("1.87")]),
    ],
)
def test_a_slip_has_to_give_the_number_that_is_printed(wrong, number, findings):
    assert check_page(page(slip=("a", wrong, number))) == findings


def test_a_value_that_nothing_bears_out_is_found():
    assert check_page(page(display=DISPLAY[:-1])) == [
        "list of symbols, θ = 30.0: no formula bears this value out",
        "list of symbols, h = 0.300: no formula bears this value out",
    ]


@pytest.mark.parametrize(
    ("formula", "cell", "fault"),
    [
        (r"\underline{1.5032}", "<u>1.5032</u>", ""),
        (r"\underline{1.5032}", "<u>1.5032 × 10⁰</u>", ""),
        (r"\underline{1.5032}", "1.5032", "1.5032 where a = 1.5032 should stand"),
        (r"\underline{1.5032}", "<u>1.5033</u>", "1.503163 follows"),
        (r"\underline{1.5032}", "<u>1.5032 m/s²</u>", "'1.5032 m/s²' is no number"),
        (r"\underline{-0.019770}", "<u>−0.019770</u>", ""),
    ],
)
def test_the_list_may_give_values_in_plain_text(formula, cell, fault):
    before, _, after = page().rpartition("<td>" + math(formula) + "</td>")
    found = " ".join(check_page(f"{before}<td>{cell}</td>{after}"))
    assert fault in found
    assert bool(found) == bool(fault)


def test_underlining_may_be_left_to_the_style_sheet():
    bar = re.compile(r'<munder accentunder="true">(.*?)<mo stretchy="true">.</mo></munder>')
    html, count = bar.subn(r'<mrow class="fw-guard">\1</mrow>', page())
    assert count > 10
    assert check_page(html) == []


def in_symbols(old: str = "", new: str = "") -> str:
    display = tuple(formula.replace(old, new) if old else formula for formula in IN_SYMBOLS)
    return page(rows=SYMBOLS, display=display, inline=(), slip=(), values=False)


def test_a_page_in_symbols_is_evaluated_with_the_values_of_the_caller():
    assert check_page(in_symbols(), VALUES) == []
    assert Check(in_symbols(), VALUES).compared == 4
    assert check_page(in_symbols(r"\,a +", r"\,a -"), VALUES) == [
        "T = m_ca - μm_cg: 0.5983782 where 0.6642789 should stand"
    ]
    assert check_page(in_symbols(), {"m_c": 0.42})[0].endswith(": no value for a, m_w, g, μ")


def test_a_page_with_numbers_lends_its_values_to_one_in_symbols():
    values = values_of(page())
    assert values["T"] == pytest.approx(0.664278935, abs=5e-10)
    assert check_page(in_symbols(), values) == []
    spoilt = list(mutants(in_symbols()))
    assert [what for what, html in spoilt if not check_page(html, values)] == []


def test_without_values_units_are_compared_and_nothing_is_counted():
    assert check_page(in_symbols()) == []
    assert Check(in_symbols()).compared == 0
    assert check_page(in_symbols(r"\,(g - a)")) == [
        "T = m_w: units differ: [length]^1 [mass]^1 [time]^-2 and [mass]^1"
    ]


def test_a_page_without_a_list_of_symbols_is_a_finding():
    html = page().replace("<th>Symbol</th>", "<th>Sign</th>")
    assert "the page has 0 lists of symbols" in check_page(html)


EVERY = 120  # of the digits of the sample page one in so many is changed


def lesson_pages(site: Path) -> Iterator[tuple[str, dict[str, float] | None]]:
    for path in sorted(site.glob("*/*/*.html")):
        if path.parts[-3] == "step" or path.name in ("index.html", "bench.html", "report.html"):
            continue
        example = path.with_name("example.html").read_text(encoding="utf-8")
        values = values_of(example) if path.name == "prelab.html" else None
        yield path.read_text(encoding="utf-8"), values


def test_every_equation_of_every_page_holds_and_no_page_is_without(everything_open: Path) -> None:
    checks = [Check(*page) for page in lesson_pages(everything_open)]
    assert [found for check in checks for found in check.findings] == []
    assert len(checks) >= 36
    assert min(check.compared for check in checks) > 3


def test_a_changed_digit_is_found_on_a_built_page(everything_open: Path) -> None:
    html = next(everything_open.glob("*/level-track/solution.html")).read_text(encoding="utf-8")
    changed = list(mutants(html, every=EVERY))
    assert len(changed) > 6
    assert [what for what, mutant in changed if not check_page(mutant)] == []
