"""A small course of the tests' own: one scenario, given in one term."""

import shutil
from datetime import datetime
from pathlib import Path

import pytest

from fallwork.pages import PageFile, build_pages, worked
from fallwork.scenario import load_course
from pages.course_moments import COURSE, Build, Pages


@pytest.fixture(scope="session")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    """Pages of the course at a moment, with some texts of its files exchanged."""
    built: dict[object, Pages] = {}

    def pages(now: datetime, *exchanged: tuple[str, str]) -> Pages:
        key = (now, exchanged, worked.draw)  # with drawings, or with frames in their place
        if key not in built:
            root = tmp_path_factory.mktemp("course") / "site-data"
            shutil.copytree(COURSE, root)
            for old, new in exchanged:
                _exchange(root, old, new)
            built[key] = by_path(build_pages(load_course(root), now=now, edition="student"))
        return built[key]

    return pages


def by_path(pages: tuple[PageFile, ...]) -> Pages:
    assert len({page.path for page in pages}) == len(pages)
    return {page.path: page.content for page in pages}


def _exchange(root: Path, old: str, new: str) -> None:
    changed = 0
    for path in sorted(root.rglob("*.yaml")):
        text = path.read_text("utf-8")
        if old in text:
            path.write_text(text.replace(old, new), "utf-8")
            changed += 1
    assert changed, f"nothing reads {old!r}"
