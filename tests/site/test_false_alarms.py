"""The audit finds nothing in the demo course at any moment: what is open is no leak.

Pages are set without the theme's frame, in which no number of a lab stands, and each only once.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from markdown import Markdown

from democourse import PROJECT
from fallwork.pages import PageFile, build_pages, held_back, open_numbers
from fallwork.pages.schedule import events_of
from fallwork.scenario import CourseData, load_course
from fallwork.site.audit import AuditError, audit
from fallwork.site.markup import CurrentPage, FallworkMarkup
from pages.interference import worked_once

# One lab of each kind that brings its own numbers, with records, typed values and free fall.
LABS = ("two-weights", "pulley-on-a-string", "level-track-frictionless", "level-track-make-up")
EXTENSIONS = ("attr_list", "tables", "md_in_html", "toc", "pymdownx.arithmatex")


def some_labs(data: CourseData) -> CourseData:
    """The demo course with these labs alone."""
    terms = (
        replace(term, labs=tuple(lab for lab in term.labs if lab.id in LABS)) for term in data.terms
    )
    return replace(data, terms=tuple(terms))


DEMO = some_labs(load_course(PROJECT / "site-data"))
EVENTS = sorted({e.at for term in DEMO.terms for e in events_of(term, datetime.min)})
MOMENTS = [EVENTS[0] - timedelta(days=1), *EVENTS]
_SET: dict[PageFile, str] = {}


@pytest.fixture(scope="module", autouse=True)
def _quick() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch, worked_once(patch):
        yield


def html(page: PageFile, drawings: dict[str, str]) -> str:
    if page not in _SET:
        current = CurrentPage(path=page.path, drawings=drawings)
        markdown = Markdown(
            extensions=[*EXTENSIONS, FallworkMarkup(current)],
            extension_configs={"pymdownx.arithmatex": {"generic": True}},
        )
        _SET[page] = markdown.convert(page.content.split("---\n", 2)[2])
    return _SET[page]


def write(root: Path, pages: tuple[PageFile, ...]) -> None:
    """The site without frames; drawings stand in the pages."""
    drawings = {page.path: page.content for page in pages if page.path.endswith(".svg")}
    for page in (page for page in pages if page.path not in drawings):
        text = html(page, drawings) if page.path.endswith(".md") else page.content
        path = root / page.path.replace(".md", ".html")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")


def test_the_labs_are_there() -> None:
    assert sorted(lab.id for term in DEMO.terms for lab in term.labs) == sorted(LABS)
    assert len(MOMENTS) > 8


@pytest.mark.parametrize("now", MOMENTS, ids=lambda now: f"{now:%m-%dT%H}")
def test_nothing_is_found(tmp_path: Path, now: datetime) -> None:
    write(tmp_path, build_pages(DEMO, now=now, edition="student"))
    held = held_back(DEMO, now)
    audit(tmp_path, held=held, open_numbers=open_numbers(DEMO, now), packaged=lambda address: None)


def test_a_page_that_comes_too_early_would_be_found(tmp_path: Path) -> None:
    write(tmp_path, build_pages(DEMO, now=EVENTS[-1], edition="student"))
    now = EVENTS[-1] - timedelta(minutes=1)
    numbers = open_numbers(DEMO, now)
    with pytest.raises(AuditError) as caught:
        audit(tmp_path, held=held_back(DEMO, now), open_numbers=numbers, packaged=lambda _: None)
    assert "level-track-make-up/solution.html" in str(caught.value)
