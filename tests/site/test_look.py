"""The colours of the page, what is taken along, and where links lead in both editions.

The students' pages are also read in a browser (tests/browser).
"""

import re
from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

import pytest
from lxml import etree

from democourse import own_course
from fallwork.figures.palette import palette
from fallwork.site import look
from fallwork.site.publication import publish
from pages.history import OVER

ROOT = "http://site.invalid/"


def test_every_colour_of_the_figures_is_a_variable_of_the_page_and_no_other_is_used() -> None:
    css = look.colours()
    for role in palette().values():
        assert f"--fw-{role.name}: {role.light};" in css
        assert f"--fw-{role.name}: {role.dark};" in css
    files = sorted([*look.ASSETS.glob("*.css"), *look.ASSETS.glob("*.js")])
    assert len(files) == 6
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
