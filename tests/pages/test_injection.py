"""Titles and texts of the YAML files come out as they are, never as HTML, Markdown or formulas."""

import html
import re

import markdown
import pytest
import yaml
from lxml import html as lxml_html

from pages.course_moments import OVER, Build

NASTY = "<img src=x onerror=alert(1)> [a](https://example.org) *b* $x^2$ {{ c }} | d & `e`"
TITLES = {
    "course": ("title: Mechanics laboratory", f"title: '{NASTY}'"),
    "scenario": (
        "title: Cart pulled along a level track by a falling weight",
        f"title: '{NASTY}'",
    ),
    "term": ("term: Spring 2027", f"term: '{NASTY}'"),
    "system": ("title: The cart alone", f"title: '{NASTY}'"),
    "contact": ("how: room 114", f"how: '{NASTY}'"),
}
LISTING = ("hide", "search")  # of the pages that list where a step stands
EXTENSIONS = ["tables", "attr_list", "md_in_html", "admonition", "def_list", "pymdownx.arithmatex"]


def rendered(page: str) -> lxml_html.HtmlElement:
    body = page.split("\n---\n", 1)[1]
    config = {"pymdownx.arithmatex": {"generic": True}}
    source = markdown.markdown(body, extensions=EXTENSIONS, extension_configs=config)
    return lxml_html.fragment_fromstring(source, create_parent="div")


@pytest.mark.parametrize("place", TITLES)
def test_a_text_is_shown_as_it_is(build: Build, place: str) -> None:
    shown = 0
    for path, content in build(OVER, TITLES[place]).items():
        if not path.endswith(".md"):
            continue
        tree = rendered(content)
        assert not tree.xpath("//script | //*[@onerror]")
        assert not tree.xpath("//img[not(starts-with(@src, 'figures/'))]")
        assert not tree.xpath("//a[contains(@href, 'example.org')]")
        assert "x^2" not in "".join(tree.xpath("//*[contains(@class, 'arithmatex')]//text()"))
        shown += tree.text_content().count(NASTY)
    assert shown > 0


@pytest.mark.parametrize("place", TITLES)
def test_front_matter_stays_yaml(build: Build, place: str) -> None:
    for path, content in build(OVER, TITLES[place]).items():
        if path.endswith(".md"):
            head = yaml.safe_load(re.match(r"---\n(.*?)\n---\n", content, re.DOTALL)[1])
            assert set(head) <= {*("title", "description", "page", "term", "lab", "nav"), *LISTING}


def test_a_title_with_signs_of_html_is_whole_in_the_front_matter(build: Build) -> None:
    page = build(OVER, TITLES["scenario"])["2027-spring/level/index.md"]
    head = yaml.safe_load(page.split("---\n")[1])
    assert html.unescape(head["title"]) == NASTY
