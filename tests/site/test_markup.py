"""What becomes of formulas, drawings, tables and headings of a page, and of the navigation.

Element names and attributes of formulas: W3C, MathML Core, 2.2.1 and 3 (read). Row and column
heads, captions: W3C, Web Accessibility Tutorials, "Tables Concepts" (from memory).
"""

import re
from pathlib import Path
from xml.etree import ElementTree

import lxml.html
import pytest
import yaml
from lxml.html import HtmlElement
from markdown import Markdown

from fallwork.site.files import navigation
from fallwork.site.markup import CurrentPage, FallworkMarkup
from fallwork.site.mathml import to_mathml, to_pieces, to_rows

EXTENSIONS = ("attr_list", "tables", "md_in_html", "toc", "pymdownx.arithmatex")
CASES = yaml.safe_load(Path(__file__).with_name("markup.yaml").read_text("utf-8"))
DRAWING = '<svg role="img" id="sketch"><title id="sketch-title">Sketch</title></svg>'


def render(text: str) -> HtmlElement:
    drawings = {"term/lab/figures/sketch.svg": DRAWING}
    current = CurrentPage(path="term/lab/prelab.md", drawings=drawings)
    markdown = Markdown(
        extensions=[*EXTENSIONS, FallworkMarkup(current)],
        extension_configs={"pymdownx.arithmatex": {"generic": True}},
    )
    return lxml.html.fromstring(f"<div>{current.filled(markdown.convert(text))}</div>")


def texts(nodes: list[HtmlElement]) -> list[str]:
    return [" ".join(node.text_content().split()) for node in nodes]


@pytest.mark.parametrize(("latex", "mathml"), CASES["formulas"].items())
def test_a_formula_is_mathml(latex: str, mathml: str) -> None:
    assert to_mathml(latex, display=False) == mathml
    display = mathml.replace("<math", '<math display="block"')
    assert to_mathml(latex, display=True) == display


def test_nothing_outside_mathml_core_is_left_for_browsers_to_guess() -> None:
    formula = r"\boxed{\underline{1.2}\,\mathrm{m}} > \cos 8"
    tags = {part.tag for part in ElementTree.fromstring(to_mathml(formula, display=True)).iter()}
    assert tags <= {"math", "mi", "mn", "mo", "mrow", "mspace"}


@pytest.mark.parametrize(("code", "cells"), CASES["rows"].items())
def test_a_row_breaks_at_its_loosest_places_first(code: str, cells: str) -> None:
    for latex, times in ((code, 1), (rf"\begin{{aligned}} {code} \\ {code} \end{{aligned}}", 2)):
        found = lxml.html.fragments_fromstring(to_rows(latex))
        assert ", ".join(map(shown, found)) == ", ".join([cells] * times)


def shown(part: HtmlElement) -> str:
    """A cell, a stretch or a piece as the table has it."""
    if part.tag == "math":
        return " ".join(text.strip() for text in part.itertext() if text.strip())
    inner = ", ".join(map(shown, part))
    name = part.get("class").removeprefix("fw-")
    return f"{name} {inner}" if name in ("left", "right", "row") else f"[{inner}]"


@pytest.mark.parametrize(("code", "pieces"), CASES["pieces"].items())
def test_a_formula_in_a_sentence_breaks_before_signs_and_factors(code: str, pieces: str) -> None:
    assert ", ".join(map(shown, lxml.html.fragments_fromstring(to_pieces(code)))) == pieces


def test_no_line_ends_with_a_sign_in_words() -> None:
    words = "".join(render("So $f$ = 2 N ± 1 N, `a = b`.").itertext())
    assert words.strip() == "So f =\u00a02 N ±\u00a01 N, a = b."


def test_several_columns_stay_one_formula() -> None:
    (row,) = lxml.html.fragments_fromstring(to_rows(r"\begin{matrix} a & b \\ c & d \end{matrix}"))
    assert (row.get("class"), [each.tag for each in row]) == ("fw-row", ["math"])


def test_formulas_of_a_page_are_set_and_no_latex_is_left() -> None:
    page = render("The mass $m$ counts.\n\n$$\na < \\frac{1}{2}\n$$\n")
    assert [node.text_content() for node in page.xpath("//p/span/math")] == ["m"]
    (block,) = page.xpath("//div[@class='fw-formula']")
    assert block.get("data-search-exclude") == "true"
    assert block.xpath("span/math[@displaystyle='true']")[0].text_content() == "a<12"
    assert not re.search(rb"[\\$]", lxml.html.tostring(page))


def test_a_table_has_heads_and_a_name_and_scrolls_in_its_box() -> None:
    page = render(CASES["table"])
    assert texts(page.xpath("//th[@scope='col']")) == ["Object", "Mass"]
    assert texts(page.xpath("//th[@scope='row']")) == ["cart"]
    plain = texts(page.xpath("//thead//td | //tbody/tr[2]/td"))
    assert plain == ["", "", "80 g", "light"]  # an empty head is a plain cell
    (box,) = page.xpath("//div[@class='fw-scroll']")
    assert texts(page.xpath("//table/caption")) == ["Masses m"]
    assert box.get("aria-labelledby") == page.xpath("//caption")[0].get("id")
    assert (box.get("tabindex"), box.get("role")) == ("0", "group")


def test_each_cell_of_a_table_with_many_columns_knows_its_head() -> None:
    cells = "1 | 2 | 3 | as long as a sentence can be"
    page = render(f"| Trial | a | T in N | Note |\n|--|--|--|--|\n| {cells} |\n")
    (table,) = page.xpath("//table[@class='fw-grid fw-wide']")
    assert table.xpath(".//td/@data-head") == ["a", "T in N", "Note"]
    assert page.xpath("//td[@class='fw-long']/@data-head") == ["Note"]


def test_all_apostrophes_are_of_one_kind_but_in_code() -> None:
    page = render("It isn't **the cart's**, nor the objects' `it's`, 'said' 5' on.\n")
    assert texts(page.xpath("//p")) == ["It isn’t the cart’s, nor the objects’ it's, 'said' 5' on."]


def test_a_table_and_a_head_without_words_have_names_too() -> None:
    page = render("| $a$ |\n| --- |\n| $m_\\mathrm{c}$ |\n| $m$ and more |\n")
    assert page.xpath("//div[@class='fw-scroll']")[0].get("aria-label") == "Table 1"
    assert page.xpath("//th/span/math/@aria-label") == ["a", "m c"]


def test_a_drawing_stands_in_the_page_itself_and_a_picture_stays_one() -> None:
    page = render(f"{CASES['figure']}\n![A photo of the track.](track.png)")
    assert len(page.xpath("//figure[@id='figure-sketch']/div/svg")) == 1
    assert page.xpath("//svg/@id") == []  # a step of the page may have this id
    assert page.xpath("//img/@alt") == ["A photo of the track."]
    assert texts(page.xpath("//figure/figcaption")) == ["The set-up."]


def test_each_heading_fold_and_question_has_a_link_to_it() -> None:
    links = {link.get("href"): link for link in render(CASES["card"]).xpath("//a")}
    assert {to: link.get("aria-label") for to, link in links.items()} == {
        "#tension": "Link to: The tension",
        "#tension-questions": "Link to: The tension: Questions",
        "#q-why": "Link to: Why isn’t T larger?",
    }
    assert links["#tension"].getprevious().get("id") == "tension"
    assert links["#tension-questions"].getprevious().tag == "summary"
    assert links["#q-why"].getparent().getparent().get("id") == "q-why"


def test_each_term_is_a_section_of_the_navigation_with_its_labs() -> None:
    titles = {"b/index.md": "B", "index.md": "Home", "a/index.md": "A", "a/lab/index.md": "Lab"}
    assert navigation(list(titles), titles) == [
        {"B": [{"B": "b/index.md"}]},
        {"Home": "index.md"},
        {"A": [{"A": "a/index.md"}, {"Lab": "a/lab/index.md"}]},
    ]
    assert navigation([], {}) == []
