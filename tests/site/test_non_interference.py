"""Nothing in the built students' site depends on what is held back, not one byte: neither pages, as
``tests/pages/test_non_interference.py`` shows, nor what the builder adds.
"""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from democourse import bytes_below, own_course
from fallwork.scenario import CourseData, Measured
from fallwork.site import plugin
from fallwork.site.publication import publish
from pages.history import DAY, in_spring, lab, mean, start
from pages.interference import differences

NOW = start(2) + DAY
MEAN = mean("acceleration", "1.41 m/s² ± 0.01 m/s²", 9)
pytestmark = pytest.mark.usefixtures("lessons_once")
LABS = (
    lab("level", start(2), measured=Measured(acceleration=MEAN)),
    lab("later", start(3), "533.0 g"),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return own_course(tmp_path, data=False).parent


def the_course(root: Path) -> CourseData:
    data = in_spring(*LABS)
    known = replace(data.course, url="https://lab.example.org/mechanics/")
    return replace(data, course=known, root=root / "site-data")


def different(folder: Path, patch: pytest.MonkeyPatch) -> list[str]:
    """The files that differ once everything that is held back is replaced."""

    def made(data: CourseData, now: datetime) -> dict[str, bytes]:
        patch.setattr(plugin, "load_course", lambda root: data)
        return bytes_below(publish(folder / "mkdocs.yml", now=now, to=folder / "built").site)

    return differences(the_course(folder), NOW, 1.37, patch, made)


def test_no_byte_of_the_site_depends_on_what_is_held_back(folder, monkeypatch):
    assert different(folder, monkeypatch) == []
    assert (folder / "built/sitemap.xml").is_file()
