"""The checker passes a true page and finds every fault put into it; the demo course is true."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from cases import cases
from equations.checker import Check, check_page, values_of
from equations.page import digits, mutants
from fallwork.site.mathml import to_mathml, to_rows
from figures.setups import sample

EXAMPLE = cases(__file__, "example")
VALUES = {"m_c": 0.42, "m_w": 0.08, "μ": 0.008, "g": 9.80665, "d": 0.6, "θ": 0.5235987755982988}
VARIANTS = re.compile('<h2 id="variant-answers".*?</figure>', re.DOTALL)  # other numbers
EVERY = 120  # of the digits of the sample page one in so many is changed


def block(latex: str) -> str:
    return f'<div class="fw-formula">{to_rows(latex)}</div>'


def math(latex: str) -> str:
    return to_mathml(latex, display=False)


def page(
    *,
    rows: Sequence[Sequence[str]] = EXAMPLE["symbols"],
    display: Sequence[str] = EXAMPLE["display"],
    inline: Sequence[str] = EXAMPLE["inline"],
    slip: Sequence[str] = EXAMPLE["slip"],
    values: bool = True,
) -> str:
    """The page as the site holds it; without ``values`` its list of symbols has three columns."""
    heads = ("Symbol", "Meaning", "Unit", "Value")[: 4 if values else 3]
    head = "".join(f"<th>{words}</th>" for words in heads)
    lines = []
    for symbol, unit, value in rows:
        cells = [math(symbol), "no. 7 of the <em>quantities</em>", unit]
        cells += [math(value)] if values else []
        lines.append("<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>")
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(lines)}</tbody></table>"
    blocks = "".join(map(block, display))
    sentences = "".join(f"<p>It is {math(latex)} here.</p>" for latex in inline)
    meant, *wrong = map(math, slip) if slip else [""]
    row = f"<tr><td>{meant}</td><td>{', here '.join(wrong)}</td><td>Inertia left out.</td></tr>"
    slips = f'<details class="fw-slips"><table><tr></tr>{row}</table></details>'
    return f"<html><body>{blocks}{sentences}{slips if slip else ''}{table}</body></html>"


# ---- the checker
def test_a_true_page_has_no_findings_and_every_changed_digit_is_found(thorough):
    assert check_page(page()) == []
    assert Check(page()).compared == 38
    # By 1, by 5 and by 9; in an everyday run each digit by one of them.
    for at, step in enumerate((1, 5, 9)):
        spoilt = list(mutants(page(), step=step))
        assert len(spoilt) == len(digits(page())) > 300
        tried = spoilt if thorough else spoilt[at::3]
        assert [what for what, html in tried if not check_page(html)] == []


FALSE = {
    (where, name): row
    for where in ("display", "inline")
    for name, row in EXAMPLE[where + " false"].items()
}


@pytest.mark.parametrize(("where", "name"), FALSE, ids=lambda part: part)
def test_a_false_equation_or_sentence_is_found(where, name):
    old, new, finding = FALSE[where, name]
    spoilt = tuple(formula.replace(old, new) for formula in EXAMPLE[where])
    assert spoilt != tuple(EXAMPLE[where])
    assert any(finding in found for found in check_page(page(**{where: spoilt})))


@pytest.mark.parametrize(("wrong", "number", "missed"), EXAMPLE["slips"])
def test_a_slip_has_to_give_the_number_that_is_printed(wrong, number, missed):
    findings = [f"slip: {missed} doesn't follow from its formula"] if missed else []
    assert check_page(page(slip=("a", wrong, number))) == findings


def test_a_value_that_nothing_bears_out_is_found():
    assert check_page(page(display=EXAMPLE["display"][:-1])) == [
        "list of symbols, θ = 30.0: no formula bears this value out",
        "list of symbols, h = 0.300: no formula bears this value out",
    ]


@pytest.mark.parametrize(("value", "fault"), EXAMPLE["values"])
def test_a_wrong_value_in_the_list_is_found(value, fault):
    rows = [(name, unit, value if name == "a" else own) for name, unit, own in EXAMPLE["symbols"]]
    found = " ".join(check_page(page(rows=rows)))
    assert fault in found
    assert bool(found) == bool(fault)


def in_symbols(old: str = "", new: str = "") -> str:
    given = EXAMPLE["in symbols"]
    display = [formula.replace(old, new) if old else formula for formula in given["display"]]
    return page(rows=given["rows"], display=display, inline=(), slip=(), values=False)


def test_a_page_in_symbols_is_evaluated_with_values_of_the_caller_or_another_page():
    assert check_page(in_symbols(), VALUES) == []
    assert Check(in_symbols(), VALUES).compared == 4
    assert check_page(in_symbols(r"\,a +", r"\,a -"), VALUES) == [
        "T = m_ca - μm_cg: 0.5983782 where 0.6642789 should stand"
    ]
    assert check_page(in_symbols(), {"m_c": 0.42})[0].endswith(": no value for a, m_w, g, μ")
    values = values_of(page())
    assert values["T"] == pytest.approx(0.664278935, abs=5e-10)
    assert check_page(in_symbols(), values) == []
    spoilt = list(mutants(in_symbols()))
    assert [what for what, html in spoilt if not check_page(html, values)] == []
    assert check_page(in_symbols()) == []
    assert Check(in_symbols()).compared == 0
    assert check_page(in_symbols(r"\,(g - a)")) == [
        "T = m_w: units differ: [length]^1 [mass]^1 [time]^-2 and [mass]^1"
    ]


def test_a_page_without_a_list_of_symbols_is_a_finding():
    html = page().replace("<th>Symbol</th>", "<th>Sign</th>")
    assert "the page has 0 lists of symbols" in check_page(html)


def test_a_letter_in_a_drawing_has_to_be_in_the_list_of_symbols():
    letters = [found.split(" ")[0] for found in check_page(page() + sample("diagram", "cart").svg)]
    assert letters == ["N", "f"]


def lesson_pages(site: Path) -> Iterator[tuple[str, dict[str, float] | None]]:
    for path in sorted(site.glob("*/*/*.html")):
        if path.parts[-3] == "step" or path.name in ("index.html", "bench.html", "report.html"):
            continue
        example = path.with_name("example.html").read_text(encoding="utf-8")
        values = values_of(example) if path.name == "prelab.html" else None
        yield VARIANTS.sub("", path.read_text(encoding="utf-8")), values


def test_every_equation_of_every_page_holds_and_a_changed_digit_is_found(everything_open):
    checks = [Check(*page) for page in lesson_pages(everything_open)]
    assert [found for check in checks for found in check.findings] == []
    assert len(checks) >= 36
    assert min(check.compared for check in checks) > 3
    for page in ("solution", "data"):
        html = next(everything_open.glob(f"*/level-track/{page}.html")).read_text(encoding="utf-8")
        changed = list(mutants(html, every=EVERY))
        assert len(changed) > 2
        assert [what for what, mutant in changed if not check_page(mutant)] == []
