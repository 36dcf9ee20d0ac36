"""A site of the tests' own: real settings, pages made up here instead of a course."""

import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from mkdocs.utils.meta import get_data

from democourse import NOW, Pages, own_course
from fallwork.pages.build import GENERAL
from fallwork.pages.heldback import Answer, HeldBack
from fallwork.pages.made import Listed
from fallwork.pages.markdown import PageFile
from fallwork.scenario import Course, CourseData
from fallwork.scenario.course import Contact
from fallwork.scenario.quantity import parse_quantity
from fallwork.site import plugin
from fallwork.site.publication import publish

COURSE = Course(
    title="Falling weights",
    time_zone="Europe/Zurich",
    significant_figures=3,
    gravity=parse_quantity("9.81 m/s²", "acceleration"),
    contact=Contact(who="the office", how="on <floor 3>"),
)
HOME = "---\ntitle: Home\nnav: true\n---\n\n# Home\n\nThe mass $m$. [To the lab](term/lab.md#now)\n"
CALENDAR = "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"
LAB = "---\ntitle: Lab\n---\n\n# Lab\n\n## Now {#now}\n\nText.\n"

NAMED = "---\ntitle: {0}\nnav: true\n---\n\n# {0}\n\n## Before {{#before}}\n\nLook.\n"

PAGES = {"index.md": HOME, "term/lab.md": LAB, "calendar.ics": CALENDAR}
PAGES |= {f"{name}.md": NAMED.format(name) for name in GENERAL}


def _give(patch: pytest.MonkeyPatch, written: Pages) -> None:
    """Let the plugin read a course that gives these pages."""

    class Course:
        addresses: Sequence[str] = ()
        on_paper: Sequence[str] = ()

        def __init__(self, *_: object, **more: object) -> None:
            """Takes what the real one does."""

        def checked(self) -> "Course":
            return self

        @property
        def listed(self) -> Iterator[Listed]:
            for path, text in written.items():
                body, front = get_data(text) if path.endswith(".md") else (text, {})
                yield Listed.of(PageFile(path=path, body=body, front=front))

    def load_course(root: Path) -> CourseData:
        return CourseData(root=root, course=COURSE, scenarios={})

    patch.setattr(plugin, "Pages", Course)
    patch.setattr(plugin, "load_course", load_course)


@pytest.fixture
def pages(monkeypatch) -> Pages:
    """The pages that the course gives: may be changed by a test."""
    written = dict(PAGES)
    _give(monkeypatch, written)
    return written


@pytest.fixture
def config_file(tmp_path) -> Path:
    """A copy of the project's own settings and hand-written pages, with an empty course."""
    return own_course(tmp_path, data=False)


@pytest.fixture(scope="session")
def _published_once(tmp_path_factory) -> Path:
    config_file = own_course(tmp_path_factory.mktemp("published"), data=False)
    with pytest.MonkeyPatch.context() as patch:
        _give(patch, PAGES)
        publish(config_file, now=NOW)
    return config_file.parent


@pytest.fixture
def published(config_file, pages, _published_once) -> Path:
    """The site of this course, published before."""
    for name in ("site", "site-data"):
        shutil.copytree(_published_once / name, config_file.parent / name, dirs_exist_ok=True)
    return config_file.parent / "site"


@pytest.fixture
def content(config_file, pages) -> Path:
    """The folder of the hand-written pages; nav needn't list what a test puts there."""
    settings = config_file.read_text("utf-8")
    config_file.write_text(settings.replace("    omitted_files: warn", "    omitted_files: info"))
    return config_file.parent / "content"


@pytest.fixture
def held(monkeypatch) -> None:
    """A solution is held back, whose tension is 0.66427893499 N."""
    held = HeldBack(
        what="solution of level in term",
        page="term/level/solution.html",
        files=(),
        answers=(Answer(quantity="tension", value=0.66427893499, unit="N"),),
    )
    monkeypatch.setattr(plugin, "held_back", lambda data, now: (held,))
