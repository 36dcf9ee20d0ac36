"""What pages say about themselves to machines, and that titles are text and nothing else."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from democourse import NOW, Pages
from fallwork.site import plugin
from fallwork.site.publication import publish

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
ROOT = "https://example.org/mechanics/"
RESOURCE = {  # as https://schema.org/LearningResource has it (property names from memory)
    "@context": "https://schema.org",
    "@type": "LearningResource",
    "name": WILD,
    "description": WILD,
    "inLanguage": "en",
    "learningResourceType": "pre-laboratory reading",
    "about": "Mechanics",
    "isPartOf": {"@type": "Course", "name": f"Course {WILD}"},
    "url": f"{ROOT}term/lab.html",
}


@pytest.fixture
def site(config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A site at a known address, with a wild title and a page of an earlier term."""
    pages["term/lab.md"] = LAB
    pages["dates.md"] = "---\ntitle: Dates\nrobots: noindex\n---\n\n# Dates\n"
    pages["term/old.md"] = "---\ntitle: Old\nrobots: noindex\n---\n\n# Old\n"
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url=ROOT, title=f"Course {WILD}")
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
    listed = ("index.html", "reading.html", "safety.html", "term/lab.html")
    assert [each.text for each in tree.iter("{*}loc")] == [f"{ROOT}{page}" for page in listed]
    assert list(tree.iter("{*}lastmod")) == []
    assert not (site / "sitemap.xml.gz").exists()


def test_a_title_is_shown_as_it_was_written_and_never_read_as_markup(site: Path) -> None:
    for page in ("index.html", "term/lab.html", "reading.html", "404.html"):
        tree = etree.parse(site / page, etree.HTMLParser())
        assert tree.xpath("//*[@onerror] | //img[@src='x']") == []
    tree = etree.parse(site / "term/lab.html", etree.HTMLParser())
    assert tree.findtext(".//title") == f"{WILD} - Course {WILD}"
    assert tree.xpath("//meta[@name='description']/@content") == [WILD]
    assert WILD in "".join(tree.xpath("//nav//text()"))
