"""What a page says about itself to machines: what kind of resource it is, and where it stands.

Takes pages as they are read, and the course; gives schema.org data for each and the list of
addresses for search engines. Nothing in it depends on the day of the build.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, urljoin
from xml.sax.saxutils import escape

from mkdocs.structure.pages import Page

from fallwork.scenario import CourseData

_KINDS: Mapping[str, str] = {  # a page's kind -> learningResourceType, in plain words
    "overview": "laboratory overview",
    "prelab": "pre-laboratory reading",
    "example": "worked example",
    "data": "measured data",
    "report": "assignment",
    "solution": "worked solution",
}


@dataclass(frozen=True, kw_only=True)
class Described:
    """A page for the list of addresses."""

    url: str  # from the site's root on
    listed: bool  # whether search engines may know it


def describe(page: Page, data: CourseData) -> Described:
    """Put the page's schema.org data into its front matter, if it teaches something."""
    kind = _KINDS.get(str(page.meta.get("page", "")))
    if kind is not None:
        page.meta["fw_resource"] = _script(_resource(page, data, kind))
    return Described(url=page.url, listed="noindex" not in str(page.meta.get("robots", "")))


def write_sitemap(site: Path, root: str | None, pages: Sequence[Described]) -> None:
    """``sitemap.xml``, if the site knows its address; there is no standard for a relative one."""
    if not root:
        return
    listed = (
        escape(urljoin(root, quote(page.url)))
        for page in sorted(pages, key=lambda page: page.url)
        if page.listed
    )
    entries = "".join(f"  <url><loc>{address}</loc></url>\n" for address in listed)
    (site / "sitemap.xml").write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<urlset xmlns="http://www.sitemaps.org/schemas/sitemap/0.9">\n{entries}</urlset>\n',
        encoding="utf-8",
        newline="\n",
    )


def _resource(page: Page, data: CourseData, kind: str) -> dict[str, Any]:
    """schema.org/LearningResource."""
    address = {"url": page.canonical_url} if page.canonical_url else {}
    return {
        "@context": "https://schema.org",
        "@type": "LearningResource",
        "name": str(page.meta.get("title", "")),
        "description": str(page.meta.get("description", "")),
        "inLanguage": "en",
        "learningResourceType": kind,
        "about": "Mechanics",
        "isPartOf": {"@type": "Course", "name": data.course.title},
        **address,
    }


def _script(resource: Mapping[str, Any]) -> str:
    """JSON that can't end the element in which it stands."""
    text = json.dumps(resource, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
