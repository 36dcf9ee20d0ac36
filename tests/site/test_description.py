"""What pages say about themselves to machines, and that titles are text and nothing else."""

import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from lxml import etree

from fallwork.site import plugin
from fallwork.site.publication import publish

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
Pages = dict[str, str]
WILD = '<img src=x onerror=alert(1)> & "q" {{ c }} </script>'
LAB = f"""---
title: '{WILD}'
description: '{WILD}'
page: prelab
nav: true
---

# Lab

## Now {{#now}}

Text.
"""


@pytest.fixture
def site(config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A site at a known address, with a wild title and a page of an earlier term."""
    pages["term/lab.md"] = LAB
    pages["dates.md"] = "---\ntitle: Dates\nrobots: noindex\n---\n\n# Dates\n"
    pages["term/old.md"] = "---\ntitle: Old\nrobots: noindex\n---\n\n# Old\n"
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url="https://example.org/mechanics/", title=f"Course {WILD}")
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))
    return publish(config_file, now=NOW).site


def test_a_lab_page_is_a_learning_resource(site: Path) -> None:
    """As https://schema.org/LearningResource has it (property names from memory)."""
    text = (site / "term/lab.html").read_text("utf-8")
    scripts = re.findall(r'<script type="application/ld\+json">(.*?)</script>', text, re.DOTALL)
    assert [json.loads(script) for script in scripts] == [
        {
            "@context": "https://schema.org",
            "@type": "LearningResource",
            "name": WILD,
            "description": WILD,
            "inLanguage": "en",
            "learningResourceType": "pre-laboratory reading",
            "about": "Mechanics",
            "isPartOf": {"@type": "Course", "name": f"Course {WILD}"},
            "url": "https://example.org/mechanics/term/lab.html",
        }
    ]


def test_a_page_that_teaches_nothing_says_nothing(site: Path) -> None:
    assert "application/ld+json" not in (site / "index.html").read_text("utf-8")


def test_the_list_of_addresses_leaves_out_earlier_terms_and_dates(site: Path) -> None:
    tree = etree.parse(site / "sitemap.xml")
    root = "https://example.org/mechanics/"
    assert [element.text for element in tree.iter("{*}loc")] == [
        f"{root}{page}" for page in ("index.html", "reading.html", "safety.html", "term/lab.html")
    ]
    assert list(tree.iter("{*}lastmod")) == []
    assert not (site / "sitemap.xml.gz").exists()


def test_a_site_without_address_has_no_such_list(config_file: Path, pages: Pages) -> None:
    assert not (publish(config_file, now=NOW).site / "sitemap.xml").exists()


def test_search_engines_are_told_to_leave_earlier_terms_alone(site: Path) -> None:
    robots = '<meta name="robots" content="noindex">'
    assert robots in (site / "term/old.html").read_text("utf-8")
    assert robots not in (site / "term/lab.html").read_text("utf-8")


@pytest.mark.parametrize("page", ["index.html", "term/lab.html", "reading.html", "404.html"])
def test_a_title_is_never_read_as_markup(site: Path, page: str) -> None:
    tree = etree.parse(site / page, etree.HTMLParser())
    assert tree.xpath("//*[@onerror]") == []
    assert tree.xpath("//img[@src='x']") == []


def test_it_is_shown_as_it_was_written(site: Path) -> None:
    tree = etree.parse(site / "term/lab.html", etree.HTMLParser())
    assert tree.findtext(".//title") == f"{WILD} - Course {WILD}"
    assert tree.xpath("//meta[@name='description']/@content") == [WILD]
    assert WILD in "".join(tree.xpath("//nav//text()"))
