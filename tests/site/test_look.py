"""The colours of the page, where links lead in both editions, what pages say about themselves to
machines, and that titles are text and nothing else.
"""

import json
import re
from dataclasses import replace
from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

import pytest
from lxml import etree

from democourse import NOW, Pages, own_course
from fallwork.figures import palette
from fallwork.pages import GENERAL
from fallwork.site import look, plugin
from fallwork.site.publication import publish
from pages.history import OVER

ROOT = "http://site.invalid/"


def test_every_colour_of_the_figures_is_a_variable_of_the_page_and_no_other_is_used() -> None:
    css = look.colours()
    for role in palette().values():
        assert f"--fw-{role.name}: {role.light};" in css
        assert f"--fw-{role.name}: {role.dark};" in css
    files = sorted([*look.ASSETS.glob("*.css"), *look.ASSETS.glob("*.js")])
    assert len(files) == 7
    styles = "".join(file.read_text("utf-8") for file in files)
    assert set(re.findall(r"var\(--fw-([a-z0-9-]+)", styles)) <= set(palette())
    assert re.findall(r"https?:|//[a-z]", styles) == []  # no other host


def test_the_font_lies_beside_its_licence() -> None:
    fonts = look.ASSETS / "fonts"
    # The signature of WOFF2: W3C, WOFF File Format 2.0, section 4.1 (from memory).
    assert (fonts / "stix-two-math.woff2").read_bytes()[:4] == b"wOF2"
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts / "OFL.txt").read_text("utf-8")


def test_without_a_search_there_is_no_index_of_it(tmp_path: Path) -> None:
    look.write_script(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("edition", ["student", "staff"])
def test_every_link_leads_somewhere_in_the_site_and_no_id_is_used_twice(
    edition: str, tmp_path: Path
) -> None:
    """The tests' own course with everything open."""
    site = publish(own_course(tmp_path), edition=edition, now=OVER).site
    pages = {
        path.relative_to(site).as_posix(): etree.parse(path, etree.HTMLParser())
        for path in sorted(site.rglob("*.html"))
    }
    ids = {name: page.xpath("//@id") for name, page in pages.items()}
    assert [name for name, found in ids.items() if len(set(found)) < len(found)] == []
    links = [
        (name, str(link))
        for name, page in pages.items()
        for link in page.xpath("//@href | //@src | //@poster | //@action")
    ]
    assert len(links) > 500
    for name, link in links:
        address = urlsplit(urljoin(f"{ROOT}{name}", link))
        target = unquote(address.path).lstrip("/")
        assert address.netloc == "site.invalid", f"{name}: {link}"
        assert (site / target).is_file(), f"{name}: {link}"
        anchor = unquote(address.fragment)
        assert not anchor or anchor in ids[target], f"{name}: {link}"


# ---- what pages say about themselves

WILD = '<img src=x onerror=alert(1)> & "q" {{ c }} </script>'
FRONT = f"title: '{WILD}'\ndescription: '{WILD}'\npage: prelab\nnav: true\n"
LAB = f"---\n{FRONT}---\n\n# Lab\n\n## Now {{#now}}\n\nText.\n"
HOST = "https://example.org/mechanics/"
RESOURCE = {  # as https://schema.org/LearningResource has it (property names from memory)
    "@context": "https://schema.org",
    "@type": "LearningResource",
    "name": WILD,
    "description": WILD,
    "inLanguage": "en",
    "learningResourceType": "pre-laboratory reading",
    "about": "Mechanics",
    "isPartOf": {"@type": "Course", "name": f"Course {WILD}"},
    "url": f"{HOST}term/lab.html",
}


@pytest.fixture
def site(config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A site at a known address, with a wild title and a page of an earlier term."""
    pages["term/lab.md"] = LAB
    pages["dates.md"] = "---\ntitle: Dates\nrobots: noindex\n---\n\n# Dates\n"
    pages["term/old.md"] = "---\ntitle: Old\nrobots: noindex\n---\n\n# Old\n"
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url=HOST, title=f"Course {WILD}")
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))
    return publish(config_file, now=NOW).site


def test_a_page_that_teaches_says_so_and_search_engines_find_what_is_of_now(site: Path) -> None:
    text = (site / "term/lab.html").read_text("utf-8")
    scripts = re.findall(r'<script type="application/ld\+json">(.*?)</script>', text, re.DOTALL)
    assert [json.loads(script) for script in scripts] == [RESOURCE]
    assert "application/ld+json" not in (site / "index.html").read_text("utf-8")
    robots = '<meta name="robots" content="noindex">'
    assert robots in (site / "term/old.html").read_text("utf-8")
    assert robots not in text
    tree = etree.parse(site / "sitemap.xml")
    listed = sorted(["index.html", "room.html", "term/lab.html", *(f"{g}.html" for g in GENERAL)])
    assert [each.text for each in tree.iter("{*}loc")] == [f"{HOST}{page}" for page in listed]
    assert list(tree.iter("{*}lastmod")) == []
    assert not (site / "sitemap.xml.gz").exists()


def test_a_title_is_shown_as_it_was_written_and_never_read_as_markup(site: Path) -> None:
    for page in ("index.html", "term/lab.html", "room.html", "404.html"):
        tree = etree.parse(site / page, etree.HTMLParser())
        assert tree.xpath("//*[@onerror] | //img[@src='x']") == []
    tree = etree.parse(site / "term/lab.html", etree.HTMLParser())
    assert tree.findtext(".//title") == f"{WILD} - Course {WILD}"
    assert tree.xpath("//meta[@name='description']/@content") == [WILD]
    assert WILD in "".join(tree.xpath("//nav//text()"))


@pytest.mark.parametrize(("page", "what"), [("index", "page"), ("prelab", "true")])
def test_menu_and_foot_mark_the_page_or_the_lab_that_it_belongs_to(
    page: str, what: str, config_file: Path, pages: Pages
) -> None:
    front = "---\ntitle: Lab\nterm: term\nlab: level\nnav: {}\n---\n\n# Lab\n"
    pages["term/level/index.md"] = front.format("true")
    pages["term/level/prelab.md"] = front.format("false")
    site = publish(config_file, now=NOW).site
    tree = etree.parse(site / f"term/level/{page}.html", etree.HTMLParser())
    for menu in ("contains(@class, 'md-nav--primary')", "@aria-label = 'Site'"):
        marked = tree.xpath(f"//nav[{menu}]//*[@aria-current]")
        assert [(a.get("href"), a.get("aria-current")) for a in marked] == [("index.html", what)]
