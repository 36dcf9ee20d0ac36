"""Whatever somebody writes in a YAML file reads on the page as exactly these characters."""

import unicodedata

import markdown
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import html

from fallwork.pages.markdown import plain

EXTENSIONS = [
    *("tables", "attr_list", "md_in_html", "admonition", "def_list", "footnotes", "abbr"),
    *("pymdownx.magiclink", "pymdownx.emoji", "pymdownx.tilde", "pymdownx.caret"),
    *("pymdownx.mark", "pymdownx.betterem", "pymdownx.arithmatex"),
    *("pymdownx.details", "pymdownx.critic", "pymdownx.keys", "pymdownx.inlinehilite"),
]
CONTEXTS = {
    "paragraph": ("{}", "//p"),
    "heading": ("## {} {{#here}}", "//h2[@id='here']"),
    "list item": ("- {}", "//li"),
    "table cell": ("| a | b |\n|---|---|\n| {} | c |", "//td[1]"),
    "link": ("[{}](prelab.md)", "//a[@href='prelab.md']"),
    "strong": ("a **{}** b", "//strong"),
    "summary": ("<details markdown='1'>\n<summary>{}</summary>\n\nx\n\n</details>", "//summary"),
}


def rendered(source: str) -> html.HtmlElement:
    return html.fragment_fromstring(
        markdown.markdown(source, extensions=EXTENSIONS), create_parent="div"
    )


def as_read(text: str) -> str:
    """The text on one line, without what nobody can see."""
    hidden = {"Cc", "Zl", "Zp"}
    seen = (" " if unicodedata.category(sign) in hidden else sign for sign in text)
    return " ".join("".join(seen).split(" ")).strip()


@pytest.mark.parametrize(
    "text",
    [
        '<script>alert("x")</script>',
        "</p><img src=x onerror=alert(1)>",
        "&lt;b&gt; &amp; &#60;",
        "[a link](https://example.org)",
        "![a picture](x.png)",
        "https://example.org and www.example.org and me@example.org",
        "$x^2$ and $$y$$ and \\(z\\) and \\[w\\]",
        "{{ config.site_name }} {% include 'x' %} {# note #}",
        "*a* **b** _c_ __d__ ~~e~~ ^^f^^ ==g== `h` ++ctrl++",
        ":smile: :+1: --> -- ---",
        "a | b || c",
        "text { .class #id onclick='x' }",
        "text {: #id }",
        "\\* \\_ \\<",
        "# no heading #",
        "2. no list",
        "- no list",
        "!!! note no box",
        "??? note no box",
        ": no definition",
        "*[abbr]: no",
        "[^1]: no note",
        "---",
        "===",
        "{++added++} {>>comment<<}",
        "x\x02wzxhzdk:0\x03x",
    ],
)
def test_nothing_but_text_comes_out(text: str) -> None:
    for context, (source, path) in CONTEXTS.items():
        (element,) = rendered(source.format(plain(text))).xpath(path)
        assert list(element) == [], context
        assert element.text_content().strip() == as_read(text), context


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Co", "Cn", "Cf"]), max_size=40))
def test_any_text_reads_as_itself_in_a_table_cell(text: str) -> None:
    (cell,) = rendered(f"| a |\n|---|\n| x{plain(text)}x |").xpath("//td")
    assert list(cell) == []
    hidden = {"Cc", "Zl", "Zp"}
    seen = "".join(" " if unicodedata.category(s) in hidden else s for s in f"x{text}x")
    assert cell.text_content() == " ".join(part for part in seen.split(" ") if part)


def test_everyday_text_stays_readable() -> None:
    text = "Cart, weight, string (and Earth): 17:00 – don't wait!"
    assert plain(text) == text


def test_a_space_that_keeps_number_and_unit_together_stays() -> None:
    assert plain("0.664\u00a0N") == "0.664\u00a0N"


def test_text_can_not_turn_its_direction_round() -> None:
    assert plain("a\u202eb") == "a b"
