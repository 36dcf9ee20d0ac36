"""What becomes of formulas, drawings, tables and headings of a page, and of the navigation.

Element names and attributes of formulas: W3C, MathML Core, 2.2.1 and 3 (read). Row and column
heads, captions: W3C, Web Accessibility Tutorials, "Tables Concepts" (from memory).
"""

import re
from xml.etree import ElementTree

import lxml.html
import pytest
from lxml.html import HtmlElement
from markdown import Markdown

from fallwork.site.files import navigation
from fallwork.site.markup import CurrentPage, FallworkMarkup
from fallwork.site.mathml import to_mathml, to_rows

EXTENSIONS = ("attr_list", "tables", "md_in_html", "toc", "pymdownx.arithmatex")
TABLE = """
<figure markdown="1">
<figcaption markdown="span">Masses $m$</figcaption>

| Object | Mass | |
| --- | --- | --- |
| cart | 420 g | heavy |
| | 80 g | light |

</figure>
"""
FIGURE = """
<figure markdown="1" id="figure-sketch">
![A cart on a track.](figures/sketch.svg)
<figcaption markdown="span">The set-up.</figcaption>
</figure>
"""
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


@pytest.mark.parametrize(
    ("latex", "mathml"),
    [
        (r"\frac{a}{2}", "<math><mfrac><mi>a</mi><mn>2</mn></mfrac></math>"),
        (r"\underline{1.5}", '<math><mrow class="fw-guard"><mn>1.5</mn></mrow></math>'),
        (r"\boxed{7}", '<math><mrow class="fw-boxed"><mn>7</mn></mrow></math>'),
        (r"T < 2", "<math><mi>T</mi><mo>&lt;</mo><mn>2</mn></math>"),
        (r"\textcolor{blue}{T}", '<math><mi class="fw-tension">T</mi></math>'),
        (
            r"\textcolor{brown}{f_s}",
            '<math><msub class="fw-friction"><mi>f</mi><mi>s</mi></msub></math>',
        ),
        (r"\underset{k}{a}", "<math><munder><mi>a</mi><mi>k</mi></munder></math>"),
    ],
)
def test_a_formula_is_mathml(latex: str, mathml: str) -> None:
    assert to_mathml(latex, display=False) == mathml
    display = mathml.replace("<math", '<math display="block"')
    assert to_mathml(latex, display=True) == display


def test_nothing_outside_mathml_core_is_left_for_browsers_to_guess() -> None:
    formula = r"\boxed{\underline{1.2}\,\mathrm{m}} > \cos 8"
    tags = {part.tag for part in ElementTree.fromstring(to_mathml(formula, display=True)).iter()}
    assert tags <= {"math", "mi", "mn", "mo", "mrow", "mspace"}


ROWS = {  # a row: its cells, and in square brackets what stays together for as long as it can
    r"a &= b": "left a, right = b",
    r"&= b \allowbreak + c \allowbreak - d": "right [= b, + c, − d]",
    r"&a \allowbreak + b \allowbreak = c \allowbreak - d": "row [[a, + b], [= c, − d]]",
    r"a \allowbreak = b": "row [a, = b]",
    r"&= 2 \allowbreak \times (a \allowbreak - b) \allowbreak + c":
    "right [[= 2, [× ( a, − b )]], + c]",
    r"T &= \boxed{m (g \allowbreak - a)}": "left T, right [=, [[m ( g, − a )]]]",
    r"&= \boxed{7} \allowbreak \approx 8": "right [= 7, ≈ 8]",
}  # fmt: skip


@pytest.mark.parametrize(("code", "cells"), ROWS.items())
def test_a_row_breaks_at_its_loosest_places_first(code: str, cells: str) -> None:
    for latex, times in ((code, 1), (rf"\begin{{aligned}} {code} \\ {code} \end{{aligned}}", 2)):
        found = lxml.html.fragments_fromstring(to_rows(latex))
        assert ", ".join(map(shown, found)) == ", ".join([cells] * times)


def shown(part: HtmlElement) -> str:
    """A cell, a stretch or a piece as ``ROWS`` has it."""
    if part.tag == "math":
        return " ".join(text.strip() for text in part.itertext() if text.strip())
    inner = ", ".join(map(shown, part))
    name = part.get("class").removeprefix("fw-")
    return f"{name} {inner}" if name in ("left", "right", "row") else f"[{inner}]"


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
    page = render(TABLE)
    assert texts(page.xpath("//th[@scope='col']")) == ["Object", "Mass"]
    assert texts(page.xpath("//th[@scope='row']")) == ["cart"]
    plain = texts(page.xpath("//thead//td | //tbody/tr[2]/td"))
    assert plain == ["", "", "80 g", "light"]  # an empty head is a plain cell
    (box,) = page.xpath("//div[@class='fw-scroll']")
    assert texts(page.xpath("//table/caption")) == ["Masses m"]
    assert box.get("aria-labelledby") == page.xpath("//caption")[0].get("id")
    assert (box.get("tabindex"), box.get("role")) == ("0", "group")


def test_a_table_and_a_head_without_words_have_names_too() -> None:
    page = render("| $a$ |\n| --- |\n| $m_\\mathrm{c}$ |\n| $m$ and more |\n")
    assert page.xpath("//div[@class='fw-scroll']")[0].get("aria-label") == "Table 1"
    assert page.xpath("//th/span/math/@aria-label") == ["a", "m c"]


def test_a_drawing_stands_in_the_page_itself_and_a_picture_stays_one() -> None:
    page = render(f"{FIGURE}\n![A photo of the track.](track.png)")
    assert len(page.xpath("//figure[@id='figure-sketch']/div/svg")) == 1
    assert page.xpath("//svg/@id") == []  # a step of the page may have this id
    assert page.xpath("//img/@alt") == ["A photo of the track."]
    assert texts(page.xpath("//figure/figcaption")) == ["The set-up."]


CARD = """
<section class="fw-card" markdown="1">
<header markdown="1">

### The *tension* {#tension}

</header>
<details class="fw-fold" markdown="1">
<summary>Questions</summary>
<div id="tension-questions" markdown="1">
<div id="q-why" markdown="1">

**Why isn't $T$ larger?** Because.

</div>
</div>
</details>
</section>
"""


def test_each_heading_fold_and_question_has_a_link_to_it() -> None:
    links = {link.get("href"): link for link in render(CARD).xpath("//a")}
    assert {to: link.get("aria-label") for to, link in links.items()} == {
        "#tension": "Link to: The tension",
        "#tension-questions": "Link to: The tension: Questions",
        "#q-why": "Link to: Why isn't T larger?",
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
