"""``fallwork publish`` puts a whole site in place, or leaves what stands there."""

import socket
from pathlib import Path

import pytest

from democourse import Run, bytes_below, exchange, own_course

RUNNING = ("--as-of", "2026-10-02T10:00")


@pytest.fixture
def site_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The course with the settings for the docs builder, a year earlier."""
    folder = own_course(tmp_path, written=False).parent
    monkeypatch.chdir(folder)
    term = folder / "site-data/terms/2027-spring.yaml"
    exchange(term, "2027-02", "2026-10")
    return folder


def test_a_site_is_published_and_kept_when_the_next_one_fails(site_folder: Path, run: Run) -> None:
    status, output, messages = run("publish", *RUNNING)
    assert (status, messages) == (0, "")
    pages = sum(name.endswith(".html") for name in bytes_below(site_folder / "site"))
    assert output == (
        f"site: {pages} pages of the student edition, as of Friday 2 October 2026, 10:00\n"
        "Recorded in site-data/published: 2027-spring/level. Keep it with the course.\n"
        "Opens next: the solution of level in 2027-spring, on Thursday 15 October 2026, 00:00\n"
    )
    before = bytes_below(site_folder)
    assert "site/2027-spring/level/prelab.html" in before
    assert "site/2027-spring/level/solution.html" not in before
    course = site_folder / "site-data/course.yaml"
    right = course.read_bytes()
    course.write_text("title: Only a title\n", "utf-8")
    status, output, messages = run("publish", *RUNNING)
    course.write_bytes(right)
    assert (status, output) == (2, "")
    assert messages.startswith("site-data/course.yaml:1:1: ")
    assert bytes_below(site_folder) == before


def test_what_was_published_cannot_change_without_a_correction(site_folder: Path, run: Run) -> None:
    run("publish", *RUNNING)
    before = bytes_below(site_folder)
    term = site_folder / "site-data/terms/2027-spring.yaml"
    right = term.read_text("utf-8")
    term.write_text(right.replace("cart.mass: 512.0 g", "cart.mass: 507.3 g"), "utf-8")
    status, output, messages = run("publish", *RUNNING)
    assert (status, output) == (2, "")
    assert messages.splitlines()[0] == (
        "site-data/terms/2027-spring.yaml:4:26: level: cart.mass was published as 512.0 g ± 0.1 g "
        "and would now be 507.3 g ± 0.1 g; put it back, or add to the corrections in "
        "terms/2027-spring.yaml: "
        "{at: 2026-10-02, field: cart.mass, was: 512.0 g ± 0.1 g, because: …}"
    )
    term.write_text(right, "utf-8")
    assert bytes_below(site_folder) == before


def test_a_copy_elsewhere_or_for_staff_records_nothing(site_folder: Path, run: Run) -> None:
    for more, without_url in ((("--to", "elsewhere"), 0), (("--edition", "staff"), 1)):
        status, output, _ = run("publish", *RUNNING, *more)
        assert status == 0
        assert "Recorded" not in output
        assert not (site_folder / "site-data/published").exists()
        assert output.count("site-data/course.yaml: note: without url, ") == without_url


def test_a_port_that_is_taken_is_told_with_a_remedy(site_folder: Path, run: Run) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        status, output, messages = run("preview", "--port", str(port))
    assert (status, output) == (2, "")
    other = port + 1 if port < 65535 else 8001
    assert messages == (
        f"port {port} is taken, perhaps by another preview; choose another, e.g. fallwork preview "
        f"--port {other}\n"
    )
