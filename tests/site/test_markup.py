"""What becomes of formulas, drawings, tables and headings of a page.

Row and column heads, captions: W3C, Web Accessibility Tutorials, "Tables Concepts" (from memory).
"""

from collections.abc import Mapping

import lxml.html
import pytest
from lxml.html import HtmlElement
from markdown import Markdown

from fallwork.site.errors import PublicationError
from fallwork.site.markup import CurrentPage, FallworkMarkup

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
DRAWINGS = {"term/lab/figures/sketch.svg": DRAWING}


def render(text: str, drawings: Mapping[str, str] | None = None) -> HtmlElement:
    current = CurrentPage(path="term/lab/prelab.md", drawings=drawings or {})
    markdown = Markdown(
        extensions=[*EXTENSIONS, FallworkMarkup(current)],
        extension_configs={"pymdownx.arithmatex": {"generic": True}},
    )
    return lxml.html.fromstring(f"<div>{markdown.convert(text)}</div>")


def texts(nodes: list[HtmlElement]) -> list[str]:
    return [" ".join(node.text_content().split()) for node in nodes]


def test_a_formula_in_a_sentence_is_mathml() -> None:
    page = render("The mass $m$ counts.")
    assert [node.text_content() for node in page.xpath("//p/span/math")] == ["m"]
    assert page.text_content().strip() == "The mass m counts."


def test_a_formula_on_its_own_is_a_block_that_the_search_leaves_out() -> None:
    page = render("Text.\n\n$$\na < b\n$$\n")
    (block,) = page.xpath("//div[@class='fw-formula']")
    assert block.get("data-search-exclude") == "true"
    assert block.xpath("math[@display='block']")[0].text_content() == "a<b"


def test_no_latex_is_left() -> None:
    html = lxml.html.tostring(render(r"$\frac{1}{2}$" + "\n\n$$\n\\frac{1}{2}\n$$"))
    assert b"\\" not in html
    assert b"$" not in html


def test_a_wrong_formula_names_page_and_formula() -> None:
    with pytest.raises(PublicationError) as caught:
        render(r"The $\nosuch$ is wrong.")
    assert str(caught.value) == (
        r"""term/lab/prelab.md: the formula $\nosuch$ can't be set: unknown command "\nosuch"; """
        "write it with other LaTeX commands"
    )


def test_the_first_row_and_the_first_column_are_heads() -> None:
    page = render(TABLE)
    assert texts(page.xpath("//th[@scope='col']")) == ["Object", "Mass"]
    assert texts(page.xpath("//th[@scope='row']")) == ["cart"]


def test_an_empty_head_is_a_plain_cell() -> None:
    assert texts(render(TABLE).xpath("//thead//td | //tbody/tr[2]/td")) == ["", "", "80 g", "light"]


def test_the_caption_names_the_table_and_its_scrolling_box() -> None:
    page = render(TABLE)
    (box,) = page.xpath("//div[@class='fw-scroll']")
    assert texts(page.xpath("//table/caption")) == ["Masses m"]
    assert box.get("aria-labelledby") == page.xpath("//caption")[0].get("id")
    assert (box.get("tabindex"), box.get("role")) == ("0", "group")


def test_a_table_without_caption_has_a_name_too() -> None:
    page = render("| a | b |\n| --- | --- |\n| c | d |\n")
    assert page.xpath("//div[@class='fw-scroll']")[0].get("aria-label") == "Table 1"


def test_a_head_that_is_a_formula_has_a_name_in_words() -> None:
    page = render("| $a$ |\n| --- |\n| $m_\\mathrm{c}$ |\n| $m$ and more |\n")
    assert page.xpath("//th/span/math/@aria-label") == ["a", "m c"]


def test_a_drawing_stands_in_the_page_itself() -> None:
    page = render(FIGURE, DRAWINGS)
    assert len(page.xpath("//figure[@id='figure-sketch']/div/svg")) == 1
    assert page.xpath("//svg/@id") == []  # a step of the page may have this id
    assert page.xpath("//img") == []
    assert texts(page.xpath("//figure/figcaption")) == ["The set-up."]


def test_an_image_of_the_authors_own_stays_an_image() -> None:
    page = render("![A photo of the track.](track.png)", DRAWINGS)
    assert page.xpath("//img/@alt") == ["A photo of the track."]


def test_an_image_without_text_alternative_is_an_error() -> None:
    with pytest.raises(PublicationError) as caught:
        render("![](figures/sketch.svg)", DRAWINGS)
    assert str(caught.value) == (
        "term/lab/prelab.md: the image 'figures/sketch.svg' has no text alternative; "
        "say between the square brackets what it shows"
    )


def test_beside_a_heading_stands_a_link_to_it() -> None:
    page = render("# Page\n\n## The *tension* {#tension}\n")
    (link,) = page.xpath("//a")
    assert link.get("href") == "#tension"
    assert link.get("aria-label") == "Link to: The tension"
    assert link.getprevious().get("id") == "tension"
