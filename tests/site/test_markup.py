"""What becomes of formulas, drawings, tables and headings (W3C: MathML Core, 2.2.1 and 3, read; Web
Accessibility Tutorials, "Tables Concepts", from memory); what is refused, as in ``refused.yaml``.
"""

import os
import re
from pathlib import Path

import lxml.html
import pytest
from lxml.html import HtmlElement
from markdown import Markdown

from cases import cases
from democourse import NOW, exchange, refusal
from fallwork.pages.made import Listed
from fallwork.pages.markdown import PageFile
from fallwork.site import addresses, errors, files, markup, publication, reading
from fallwork.site.mathml import to_mathml, to_pieces, to_rows

EXTENSIONS = ("attr_list", "tables", "md_in_html", "toc", "pymdownx.arithmatex")
CASES = cases(__file__, "markup")
DRAWING = '<svg role="img" id="sketch"><title id="sketch-title">Sketch</title></svg>'
REFUSED = cases(__file__, "refused")
HOME = "---\ntitle: Home\nnav: true\n---\n\n# Home\n\n{}\n"
A = "https://pictures.example.org/a"
LEAKS = cases(__file__, "leaks")


def render(text: str) -> HtmlElement:
    drawing = PageFile(path="term/lab/figures/sketch.svg", body=DRAWING)
    drawings = {drawing.path: Listed.of(drawing)}
    current = markup.CurrentPage(path="term/lab/prelab.md", drawings=drawings)
    markdown = Markdown(
        extensions=[*EXTENSIONS, markup.FallworkMarkup(current)],
        extension_configs={"pymdownx.arithmatex": {"generic": True}},
    )
    return lxml.html.fromstring(f"<div>{current.filled(markdown.convert(text))}</div>")


def texts(nodes: list[HtmlElement]) -> list[str]:
    return [" ".join(node.text_content().split()) for node in nodes]


@pytest.mark.parametrize(("latex", "mathml"), CASES["formulas"].items())
def test_a_formula_is_mathml(latex, mathml):
    assert to_mathml(latex, display=False) == mathml
    display = mathml.replace("<math", '<math display="block"')
    assert to_mathml(latex, display=True) == display


@pytest.mark.parametrize(("code", "cells"), CASES["rows"].items())
def test_a_row_breaks_at_its_loosest_places_first(code, cells):
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
def test_a_formula_in_a_sentence_breaks_before_signs_and_factors(code, pieces):
    assert ", ".join(map(shown, lxml.html.fragments_fromstring(to_pieces(code)))) == pieces


def test_no_line_ends_with_a_sign_in_words():
    words = "".join(render("So $f$ = 2 N ± 1 N, `a = b`.").itertext())
    assert words.strip() == "So f =\u00a02 N ±\u00a01 N, a = b."


def test_a_table_has_heads_and_a_name_and_scrolls_in_its_box():
    page = render(CASES["table"])
    assert texts(page.xpath("//th[@scope='col']")) == ["Object", "Mass"]
    assert texts(page.xpath("//th[@scope='row']")) == ["cart"]
    plain = texts(page.xpath("//thead//td | //tbody/tr[2]/td"))
    assert plain == ["", "", "80 g", "light"]  # an empty head is a plain cell
    (box,) = page.xpath("//div[@class='fw-scroll']")
    assert texts(page.xpath("//table/caption")) == ["Masses m"]
    assert box.get("aria-labelledby") == page.xpath("//caption")[0].get("id")
    assert (box.get("tabindex"), box.get("role")) == ("0", "group")


def test_each_cell_of_a_table_with_many_columns_knows_its_head():
    cells = "1 | 2 to $v$ | 0.002 (&#60; 1 %) | as long as a sentence can be"
    page = render(f"| Trial | a | $T$ in N | Note |\n|--|--|--|--|\n| {cells} |\n")
    (table,) = page.xpath("//table[@class='fw-grid fw-wide']")
    assert table.xpath(".//td/@data-head") == ["a", "Note"]
    assert texts(table.xpath(".//td/b[span/math]")) == ["T in N"]  # with its formula
    assert page.xpath("//td[@class='fw-long']/@data-head") == ["Note"]
    (whole,) = page.xpath("//td[@data-head='a']/*")  # is one item below its head
    assert whole.text_content() == "2 to v"
    page = render("| Trial | a | T | v |\n|--|--|--|--|\n| 1 | | | |\n")
    assert page.xpath("//table[@class='fw-grid fw-blank']")
    assert not page.xpath("//@data-head")


def test_all_apostrophes_are_of_one_kind_but_in_code():
    page = render("It isn't **the cart's**, nor the objects' `it's`, 'said' 5' on.\n")
    assert texts(page.xpath("//p")) == ["It isn’t the cart’s, nor the objects’ it's, 'said' 5' on."]


def test_a_table_and_a_head_without_words_have_names_too():
    page = render("| $a$ |\n| --- |\n| $m_\\mathrm{c}$ |\n| $m$ and more |\n")
    assert page.xpath("//div[@class='fw-scroll']")[0].get("aria-label") == "Table 1"
    assert page.xpath("//th/span/math/@aria-label") == ["a", "m c"]


def test_a_drawing_stands_in_the_page_itself_and_a_picture_stays_one():
    page = render(f"{CASES['figure']}\n![A photo of the track.](track.png)")
    assert len(page.xpath("//figure[@id='figure-sketch']/div/svg")) == 1
    assert page.xpath("//svg/@id") == []  # a step of the page may have this id
    assert page.xpath("//img/@alt") == ["A photo of the track."]
    assert texts(page.xpath("//figure/figcaption")) == ["The set-up."]


def test_each_term_is_a_section_of_the_navigation_with_its_labs():
    titles = {"b/index.md": "B", "index.md": "Home", "a/index.md": "A", "a/lab/index.md": "Lab"}
    assert files.navigation(list(titles), titles) == [
        {"B": [{"B": "b/index.md"}]},
        {"Home": "index.md"},
        {"A": [{"A": "a/index.md"}, {"Lab": "a/lab/index.md"}]},
    ]
    assert files.navigation([], {}) == []


# ---- what is refused
def place(root: Path, file: str, text: str) -> str:
    content = (root / file).read_text("utf-8")
    before = content[: content.index(text)]
    return f"{root / file}:{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


@pytest.mark.parametrize("name", REFUSED)
@pytest.mark.usefixtures("held")
def test_it_is_told_and_changes_nothing(name, config_file, pages, published):
    case, root = REFUSED[name], config_file.parent
    pages |= {page: HOME.format(text) for page, text in case.get("course", {}).items()}
    for file, text in case.get("written", {}).items():
        (root / file).parent.mkdir(parents=True, exist_ok=True)
        (root / file).write_text(text, "utf-8")
    for file, (old, new) in case.get("exchanged", {}).items():
        exchange(root / file, old, new.replace("{folder}", str(root)))
    for file, text in case.get("added", {}).items():
        (root / file).write_text(f"{(root / file).read_text('utf-8')}{text}", "utf-8")
    for file in case.get("removed", ()):
        (root / file).unlink()
    asked = {"to": root / case["to"]} if "to" in case else {}
    told = refusal(config_file, **asked, **case.get("asked", {}))
    expected = [
        re.sub(r"<(\S+\.\w+) ([^>]+)>", lambda found: place(root, *found.groups()), each).replace(
            "{folder}", str(root)
        )
        for each in case.get("tells") or [case["says"]]
    ]
    if "says" in case:
        assert {*told.splitlines()} == {*expected[0].splitlines()}
    else:
        assert [each for each in expected if each not in told] == []


@pytest.mark.usefixtures("held")
def test_an_answer_that_is_none_is_declared_and_one_for_staff_is_none(config_file, published):
    page = config_file.parent / "content" / "room.md"
    page.write_text(page.read_text("utf-8") + "\nYou get 0.664 N.\n", "utf-8")
    publication.publish(config_file, edition="staff", now=NOW)
    said, _, entry = refusal(config_file).splitlines()[-1].partition(": harmless: ")
    assert said.endswith(", below fallwork, in place of the entry harmless that stands there")
    text = config_file.read_text("utf-8")
    before, after = text.index("harmless:"), text.index("markdown_extensions:")
    config_file.write_text(f"{text[:before]}harmless: {entry}\n\n{text[after:]}", "utf-8")
    publication.publish(config_file, now=NOW)


def test_what_is_fetched_may_be_allowed(config_file, published):
    page = config_file.parent / "content/room.md"
    page.write_text(f"{page.read_text('utf-8')}\n![A cart](https://a.example.org/a)\n", "utf-8")
    exchange(config_file, "harmless:", "elsewhere: [https://a.example]\n      harmless:")
    publication.publish(config_file, now=NOW)


def test_a_draft_may_say_what_is_held_back(content, held):
    draft, settings = content / "later.md", content.parent / "mkdocs.yml"
    draft.write_text("# Later\n\nThe tension is 0.664 N.\n", "utf-8")
    assert "0.664 N" in refusal(settings)
    settings.write_text(f"draft_docs: later.md\n{settings.read_text('utf-8')}", "utf-8")
    assert not (publication.publish(settings, now=NOW).site / "later.html").exists()


# ---- whatever lies in the folder, a publication ends, with a message or with a site
@pytest.mark.parametrize(
    ("name", "put", "why"),
    [*CASES["not read"], (os.fsdecode(b"\xfcbung.pdf"), "", CASES["no name"])],
)
def test_what_cannot_be_read_or_copied_is_named(content, name, put, why):
    if put is None:
        os.mkfifo(content / name)
    else:
        (content / name).write_bytes(put.encode("latin-1"))
    shown = os.fsencode(name).decode(errors="replace")
    assert refusal(content.parent / "mkdocs.yml").startswith(f"{content}/{shown}: {why}")


def test_odd_files_go_along(content):
    """A page for wrong addresses is given to nobody; names may hold other ends of a line."""
    (content / "sub").mkdir()
    for page in ("404.md", "sub/404.md"):
        (content / page).write_text("# Gone\n\n## Here\n", "utf-8")
    for name in ("a\u2028b.txt", "a\x85b.txt", "a\rb.txt"):
        (content / name).write_bytes(b"")
    for _ in range(2):  # the second knows the files of the first again
        site = publication.publish(content.parent / "mkdocs.yml", now=NOW).site
    record = addresses.record_path(content.parent / "site-data").read_text("utf-8")
    assert "sub/404.html#here" in record
    assert "- 404.html" not in record
    assert (site / "a\u2028b.txt").is_file()


@pytest.mark.parametrize("page", ["x.html", "x.md"])
@pytest.mark.parametrize("text", ["<![x y>", "<div><![", "<svg><![if x>a</svg>"])
def test_what_is_no_markup_stops_nothing(content, page, text):
    """The docs builder can't read some of it in Markdown."""
    (content / page).write_text(f"# Mine\n\n{text}\n", "utf-8")
    if page == "x.md" and "if" not in text:
        assert refusal(content.parent / "mkdocs.yml").startswith("Error reading page 'x.md': ")
        return
    assert (publication.publish(content.parent / "mkdocs.yml", now=NOW).site / "x.html").is_file()


def test_settings_nested_too_deep_are_refused(content):
    settings = content.parent / "mkdocs.yml"
    settings.write_text(f"{settings.read_text('utf-8')}\nextra_css: {'[' * 5000}", "utf-8")
    assert refusal(content.parent / "mkdocs.yml").startswith(
        f"{settings}: thousands of brackets inside one another; "
    )


# ---- what a page would fetch from another host
@pytest.mark.parametrize(("kind", "found"), [("fetched", True), ("followed", False)])
def test_what_is_fetched_is_found_and_not_what_is_only_followed_or_said(kind, found):
    for text in LEAKS[kind]:
        assert bool([*reading.in_markup(text)]) == found, text


@pytest.mark.parametrize(("name", "text"), LEAKS["files that fetch"].items())
def test_files_beside_the_pages_are_looked_at(tmp_path, name, text):
    (tmp_path / name).write_text(text)
    with pytest.raises(errors.PublicationError, match="would be fetched from elsewhere"):
        reading.require_nothing_fetched((), tmp_path / name)
    reading.require_nothing_fetched([A], tmp_path / name)
