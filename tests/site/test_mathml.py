"""Formulas as MathML. Element names and attributes: W3C, MathML Core, 2.2.1 and 3 (read)."""

import re

import pytest

from fallwork.site.mathml import FormulaError, to_mathml, words


def test_a_fraction_is_an_mfrac_of_two_parts() -> None:
    assert to_mathml(r"\frac{a}{2}", display=False) == (
        "<math><mfrac><mi>a</mi><mn>2</mn></mfrac></math>"
    )


def test_a_formula_on_a_line_of_its_own_says_so() -> None:
    assert to_mathml("a", display=True) == '<math display="block"><mi>a</mi></math>'


def test_units_stand_upright() -> None:
    assert '<mi mathvariant="normal">N</mi>' in to_mathml(r"\mathrm{N}", display=False)


def test_signs_of_markup_are_escaped() -> None:
    assert "<mo>&lt;</mo>" in to_mathml("T < W", display=False)


def test_guard_digits_are_a_group_with_a_class() -> None:
    assert to_mathml(r"\underline{1.5032}", display=False) == (
        '<math><mrow class="fw-guard"><mn>1.5032</mn></mrow></math>'
    )


def test_a_boxed_result_is_a_group_with_a_class() -> None:
    assert to_mathml(r"\boxed{7}", display=False) == (
        '<math><mrow class="fw-boxed"><mn>7</mn></mrow></math>'
    )


def test_the_letter_of_a_force_has_the_class_of_its_arrows_colour() -> None:
    assert '<mi class="fw-tension">T</mi>' in to_mathml(r"T_\mathrm{c}", display=False)
    for upright in (r"W_\mathrm{T}", r"2\,\mathrm{N}"):
        assert "class" not in to_mathml(upright, display=False)


def test_other_things_below_a_letter_stay_as_they_are() -> None:
    assert "<munder>" in to_mathml(r"\underset{k}{a}", display=False)


def test_nothing_outside_mathml_core_is_left_for_browsers_to_guess() -> None:
    formula = r"\begin{aligned} a &= \boxed{\underline{1.2}\,\mathrm{m}} \\ &> 0 \end{aligned}"
    tags = set(re.findall(r"<([a-z]+)", to_mathml(formula, display=True)))
    assert tags <= {"math", "mtable", "mtr", "mtd", "mi", "mn", "mo", "mrow", "mspace"}


def test_an_unknown_command_is_an_error_that_names_it() -> None:
    with pytest.raises(FormulaError) as caught:
        to_mathml(r"a = \nosuch{b}", display=False)
    assert str(caught.value) == (
        r"the formula $a = \nosuch{b}$ can't be set: "
        r'unknown command "\nosuch"'
    )


def test_a_formula_has_a_name_in_words() -> None:
    assert words(to_mathml(r"m_\mathrm{c}", display=False)) == "m c"
