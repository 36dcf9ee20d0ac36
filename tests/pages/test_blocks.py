"""Each class of the lesson's document has one rendering in Markdown."""

import pytest

from fallwork.figures.model import Figure
from fallwork.lesson.document import (
    Block,
    Caution,
    Equation,
    FigureSlot,
    Items,
    Paragraph,
    Relation,
    StepLink,
    Strong,
    Table,
    Working,
)
from fallwork.lesson.expression import Ref, Symbol
from fallwork.pages.blocks import Setting, block, text

MASS = Symbol(
    id="mass.cart",
    letter="m",
    subscript="c",
    meaning="mass",
    unit="kg",
    value=0.42,
    written="0.4200",
)
RATE = Symbol(id="gravity", letter="g", meaning="", unit="m/s²", value=9.80665, written="9.80665")
FORCE = Symbol(id="normal.cart", letter="N", meaning="", unit="N", value=0.42 * 9.80665)
SKETCH = FigureSlot(kind="sketch")
SETTING = Setting(
    page="prelab",
    digits=3,
    figures={
        SKETCH: Figure(
            id="sketch",
            title="Set-up",
            description="A cart [on a track].",
            caption="The set-up, not to scale",
            svg="<svg/>",
        )
    },
)


def shown(content: Block) -> str:
    return block(content, SETTING)


def test_a_block_is_set_apart_by_blank_lines() -> None:
    assert shown(Paragraph(text=("The cart moves.",))) == "\n\nThe cart moves.\n\n"


def test_a_sentence_mixes_words_formulas_emphasis_and_links() -> None:
    sentence = (
        "Its ",
        Strong(words="mass"),
        " ",
        Ref(symbol=MASS),
        " stands in the ",
        StepLink(step="givens", words="list [above]"),
        ".",
    )
    assert text(sentence) == (
        "Its **mass** $m_\\mathrm{c}$ stands in the [list &#91;above&#93;](#givens)."
    )


def test_a_relation_is_a_formula_within_the_sentence() -> None:
    relation = Relation(sides=(Ref(symbol=FORCE), MASS * Ref(symbol=RATE)), signs=("<",))
    assert text((relation,)) == r"$N \lt m_\mathrm{c} \, g$"


def test_working_is_one_display_formula_with_lines_of_its_own() -> None:
    equation = Equation(
        left=Ref(symbol=FORCE), right=Ref(symbol=MASS) * RATE, unit="N", numbers=True
    )
    lines = shown(Working(equations=(equation,))).strip().split("\n")
    assert (lines[0], lines[-1]) == ("$$", "$$")
    assert lines[1] == r"\begin{aligned}"
    assert r"0.4200\,\mathrm{kg} \times 9.80665\,\mathrm{m/s^2}" in "\n".join(lines)
    assert r"\underline{4.1188}\,\mathrm{N} \approx 4.12\,\mathrm{N}" in "\n".join(lines)


def test_items_are_a_list_numbered_where_the_order_counts() -> None:
    items = (("first",), ("second",))
    assert shown(Items(items=items)).strip() == "- first\n- second"
    assert shown(Items(items=items, ordered=True)).strip() == "1. first\n1. second"


def test_a_table_has_a_name_a_head_row_and_safe_cells() -> None:
    table = Table(
        caption="Forces & partners",
        head=(("Force",), ("By",)),
        rows=((("pull",), ("a | b",)),),
    )
    assert shown(table).strip() == (
        '<figure markdown="1">\n'
        '<figcaption markdown="span">Forces &amp; partners</figcaption>\n\n'
        "| Force | By |\n| --- | --- |\n| pull | a &#124; b |\n\n"
        "</figure>"
    )


def test_a_figure_stands_with_its_text_alternative_and_caption() -> None:
    assert shown(SKETCH).strip() == (
        '<figure markdown="1" id="figure-sketch">\n'
        "![A cart &#91;on a track&#93;.](figures/prelab-sketch.svg)\n"
        '<figcaption markdown="span">The set-up, not to scale</figcaption>\n'
        "</figure>"
    )


def test_a_caution_is_a_warning_box() -> None:
    assert shown(Caution(text=("Feet clear.",))).strip() == (
        '!!! warning "Take care"\n\n    Feet clear.'
    )


def test_a_figure_that_was_not_drawn_is_an_error() -> None:
    with pytest.raises(KeyError):
        shown(FigureSlot(kind="sketch", subject="another"))
