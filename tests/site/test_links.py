"""Every link and every file that a page asks for is in the site, in both editions.

The students' pages are also read in a browser (tests/browser); this is what both have in common.
"""

from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

import pytest
from lxml import etree

from democourse import own_course
from fallwork.site.publication import publish
from pages.course_moments import OVER

ROOT = "http://site.invalid/"


@pytest.fixture(scope="module", params=["student", "staff"])
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An edition of the tests' own course with everything open."""
    folder = tmp_path_factory.mktemp("course")
    return publish(own_course(folder), edition=request.param, now=OVER).site


def test_every_link_leads_somewhere_in_the_site(site: Path) -> None:
    pages = {
        path.relative_to(site).as_posix(): etree.parse(path, etree.HTMLParser())
        for path in sorted(site.rglob("*.html"))
    }
    ids = {name: set(page.xpath("//@id")) for name, page in pages.items()}
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


def test_no_page_uses_an_id_twice(site: Path) -> None:
    for path in sorted(site.rglob("*.html")):
        found = etree.parse(path, etree.HTMLParser()).xpath("//@id")
        assert sorted(set(found)) == sorted(found), path.name
