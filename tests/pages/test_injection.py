"""Whatever somebody writes in a YAML file reads on the page as exactly these characters."""

import html
import shutil
import unicodedata
from collections import Counter
from dataclasses import replace
from functools import reduce
from pathlib import Path

import markdown
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from lxml import html as lxml_html

from fallwork.pages.markdown import plain
from fallwork.scenario import Correction, Excluded, Lab, Measured, Section, Withdrawal, load_course
from fallwork.scenario.model import FormerStep
from pages.history import BASE, COURSE, DAY, OVER, head, in_spring, lab, pages, start, taken

pytestmark = pytest.mark.drawn

NASTY = "<img src=x onerror=alert(1)> [a](https://example.org) *b* $x^2$ {{ c }} | d & `e`"
TITLES = {
    "course": "title: Mechanics laboratory",
    "scenario": "title: Cart pulled along a level track by a falling weight",
    "term": "term: Spring 2027",
    "system": "title: The cart alone",
    "contact": "how: room 114",
}
SPOILED = [
    (right, f"{right.partition(':')[0]}: '{NASTY} {place}'") for place, right in TITLES.items()
]
LISTING = ("hide", "search")  # of the pages that list where a step stands
EXTENSIONS = ["tables", "attr_list", "md_in_html", "admonition", "def_list", "pymdownx.arithmatex"]


def rendered(page: str) -> lxml_html.HtmlElement:
    body = page.split("\n---\n", 1)[1]
    config = {"pymdownx.arithmatex": {"generic": True}}
    source = markdown.markdown(body, extensions=EXTENSIONS, extension_configs=config)
    return lxml_html.fragment_fromstring(source, create_parent="div")


def test_every_title_is_shown_as_it_is_and_front_matter_stays_yaml(tmp_path: Path) -> None:
    known = {
        *("title", "description", "page", "term", "lab", "nav", "fw_data", "fw_scripts"),
        *LISTING,
    }
    shown: Counter[str] = Counter()
    root = tmp_path / "site-data"
    shutil.copytree(COURSE, root)
    for path in root.rglob("*.yaml"):
        path.write_text(reduce(lambda text, pair: text.replace(*pair), SPOILED, path.read_text()))
    built = pages(load_course(root), OVER)
    for content in (content for path, content in built.items() if path.endswith(".md")):
        assert set(yaml.safe_load(head(content))) <= known
        text = rendered(content).text_content()
        assert shown_as_it_is(content) == text.count(NASTY)
        shown.update({place: text.count(f"{NASTY} {place}") for place in TITLES})
    assert min(shown.values()) > 0, shown
    title = yaml.safe_load(head(built["2027-spring/level/index.md"]))["title"]
    assert html.unescape(title) == f"{NASTY} scenario"


def shown_as_it_is(content: str) -> int:
    """How often the text stands on a page, as text and nothing else."""
    tree = rendered(content)
    assert not tree.xpath("//script | //*[@onerror]")
    assert not tree.xpath("//img[not(starts-with(@src, 'figures/'))]")
    assert not tree.xpath("//a[contains(@href, 'example.org')]")
    assert "x^2" not in "".join(tree.xpath("//*[contains(@class, 'arithmatex')]//text()"))
    return tree.text_content().count(NASTY)


def wild_lab(**more: object) -> Lab:
    """A lab with the text wherever a term file may hold one."""
    values = taken("acceleration", "1.39 m/s²", "1.41 m/s²", "1.90 m/s²")
    section = Section(id="a", title=NASTY, opens=start(2), data_opens=None, due=start(2) + 10 * DAY)
    return lab(
        "level",
        start(2),
        title=NASTY,
        sections={"a": section},
        corrections=(Correction(at=start(2) + DAY, field="measured", because=NASTY),),
        measured=Measured(acceleration=values, excluded=(Excluded(trial="3", because=NASTY),)),
        **more,
    )


@pytest.mark.parametrize("edition", ["student", "staff"])
def test_texts_of_a_term_are_shown_as_they_are_in_both_editions(edition: str) -> None:
    former = (FormerStep(id="pull", because=NASTY),)
    scenario = replace(BASE.scenarios["level"], former_steps=former)
    data = in_spring(wild_lab(), scenario=scenario)
    built = pages(data, start(2) + 20 * DAY, edition)
    shown = {path: shown_as_it_is(page) for path, page in built.items() if path.endswith(".md")}
    names = ["index", "prelab", "data", "solution"] + (["notes"] if edition == "staff" else [])
    for name in names:
        assert shown[f"2027-spring/level/{name}.md"] > 1, name
    assert shown["step/level/pull.md"] > 0
    gone = Withdrawal(at=start(2) + 5 * DAY, because=NASTY)
    built = pages(in_spring(wild_lab(withdrawn=gone)), start(3))
    assert shown_as_it_is(built["2027-spring/level/prelab.md"]) > 1


# ---- any text

MANY = [
    *("tables", "attr_list", "md_in_html", "admonition", "def_list", "footnotes", "abbr"),
    *("pymdownx.magiclink", "pymdownx.emoji", "pymdownx.tilde", "pymdownx.caret"),
    *("pymdownx.mark", "pymdownx.betterem", "pymdownx.arithmatex"),
    *("pymdownx.details", "pymdownx.critic", "pymdownx.keys", "pymdownx.inlinehilite"),
]
WRITTEN = yaml.safe_load(Path(__file__).with_name("texts.yaml").read_text("utf-8"))


def as_html(source: str) -> lxml_html.HtmlElement:
    return lxml_html.fragment_fromstring(
        markdown.markdown(source, extensions=MANY), create_parent="div"
    )


def as_read(text: str) -> str:
    """The text on one line, without what nobody can see."""
    hidden = {"Cc", "Zl", "Zp"}
    seen = "".join(" " if unicodedata.category(sign) in hidden else sign for sign in text)
    return " ".join(part for part in seen.split(" ") if part)


@pytest.mark.parametrize("text", WRITTEN["texts"])
def test_nothing_but_text_comes_out(text: str) -> None:
    for context, (source, path) in WRITTEN["contexts"].items():
        (element,) = as_html(source.format(plain(text))).xpath(path)
        assert list(element) == [], context
        assert " ".join(element.text_content().split(" ")).strip() == as_read(text), context


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Co", "Cn", "Cf"]), max_size=40))
def test_any_text_reads_as_itself_in_a_table_cell(text: str) -> None:
    (cell,) = as_html(f"| a |\n|---|\n| x{plain(text)}x |").xpath("//td")
    assert list(cell) == []
    assert cell.text_content() == as_read(f"x{text}x")


def test_everyday_text_stays_readable() -> None:
    for text in ("Cart, weight, string (and Earth): 17:00 – don't wait!", "0.664\u00a0N"):
        assert plain(text) == text
    assert plain("a\u202eb") == "a b"  # which would turn the direction round
