"""Whatever somebody writes in a YAML file reads on the page as exactly these characters."""

import unicodedata
from pathlib import Path

import markdown
import pytest
import yaml
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
TEXTS = yaml.safe_load(Path(__file__).with_name("texts.yaml").read_text("utf-8"))
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
    seen = "".join(" " if unicodedata.category(sign) in hidden else sign for sign in text)
    return " ".join(part for part in seen.split(" ") if part)


@pytest.mark.parametrize("text", TEXTS)
def test_nothing_but_text_comes_out(text: str) -> None:
    for context, (source, path) in CONTEXTS.items():
        (element,) = rendered(source.format(plain(text))).xpath(path)
        assert list(element) == [], context
        assert " ".join(element.text_content().split(" ")).strip() == as_read(text), context


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Co", "Cn", "Cf"]), max_size=40))
def test_any_text_reads_as_itself_in_a_table_cell(text: str) -> None:
    (cell,) = rendered(f"| a |\n|---|\n| x{plain(text)}x |").xpath("//td")
    assert list(cell) == []
    assert cell.text_content() == as_read(f"x{text}x")


def test_everyday_text_stays_readable() -> None:
    for text in ("Cart, weight, string (and Earth): 17:00 – don't wait!", "0.664\u00a0N"):
        assert plain(text) == text
    assert plain("a\u202eb") == "a b"  # which would turn the direction round
