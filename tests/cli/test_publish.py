"""``fallwork publish`` puts a whole site in place, or leaves what stands there."""

import hashlib
from pathlib import Path

import pytest

from cli.runner import Run

REPOSITORY = Path(__file__).parents[2]
RUNNING = ("--as-of", "2026-10-02T10:00")


@pytest.fixture
def site_folder(folder: Path) -> Path:
    """The course with the repository's settings for the docs builder, a year earlier."""
    settings = (REPOSITORY / "mkdocs.yml").read_text("utf-8")
    start = settings.index("nav:")
    end = settings.index("validation:")
    (folder / "mkdocs.yml").write_text(settings[:start] + settings[end:], "utf-8")
    (folder / "content").mkdir()
    term = folder / "site-data/terms/2027-spring.yaml"
    term.write_text(term.read_text("utf-8").replace("2027-02", "2026-10"), "utf-8")
    return folder


def files(root: Path) -> dict[str, str]:
    return {
        path.relative_to(root).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(root.rglob("*"))
        if path.is_file()
    }


def test_a_site_is_published_and_kept_when_the_next_one_fails(site_folder: Path, run: Run) -> None:
    status, output, messages = run("publish", *RUNNING)
    assert (status, messages) == (0, "")
    assert output == (
        "site: 5 pages of the student edition, as of Friday 2 October 2026, 10:00\n"
        "Opens next: the solution of level in 2027-spring, on Thursday 15 October 2026, 00:00\n"
    )
    before = files(site_folder)
    assert "site/2027-spring/level/prelab.html" in before
    assert "site/2027-spring/level/solution.html" not in before
    course = site_folder / "site-data/course.yaml"
    right = course.read_bytes()
    course.write_text("title: Only a title\n", "utf-8")
    status, output, messages = run("publish", *RUNNING)
    course.write_bytes(right)
    assert (status, output) == (2, "")
    assert messages.startswith("site-data/course.yaml:1:1: ")
    assert files(site_folder) == before
