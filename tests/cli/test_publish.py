"""``fallwork publish`` and ``fallwork emit`` put a whole in place, or leave what stands there."""

import socket
from pathlib import Path

import pytest

from democourse import Run, bytes_below, exchange, own_course
from fallwork.site.handouts import NAMED_BY

RUNNING = ("--as-of", "2026-10-02T10:00")


@pytest.fixture
def site_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The course with the settings for the docs builder, a year earlier."""
    folder = own_course(tmp_path, written=False).parent
    monkeypatch.chdir(folder)
    term = folder / "site-data/terms/2027-spring.yaml"
    exchange(term, "2027-02", "2026-10")
    return folder


SPOILT = (  # file below site-data, text, its replacement, how the message begins
    ("course.yaml", "time_zone: Europe/Berlin\n", "", "course.yaml:1:1: "),
    (
        *("terms/2027-spring.yaml", "cart.mass: 512.0 g", "cart.mass: 507.3 g"),
        "terms/2027-spring.yaml:4:26: level: cart.mass was published as 512.0 g ± 0.1 g and would "
        "now be 507.3 g ± 0.1 g; put it back, or add to the corrections in terms/2027-spring.yaml: "
        "{at: 2026-10-02, field: cart.mass, was: 512.0 g ± 0.1 g, because: …}\n",
    ),
)


def test_a_site_is_published_and_kept_when_the_next_one_fails_or_would_change_what_was_published(
    site_folder: Path, run: Run
) -> None:
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
    for file, old, new, told in SPOILT:
        exchange(site_folder / "site-data" / file, old, new)
        status, output, messages = run("publish", *RUNNING)
        assert (status, output) == (2, "")
        assert messages.startswith(f"site-data/{told}")
        (site_folder / "site-data" / file).write_bytes(before[f"site-data/{file}"])
        assert bytes_below(site_folder) == before


def test_a_copy_elsewhere_or_for_staff_records_nothing(site_folder: Path, run: Run) -> None:
    for more, without_url in ((("--to", "elsewhere"), 0), (("--edition", "staff"), 1)):
        status, output, _ = run("publish", *RUNNING, *more)
        assert status == 0
        assert "Recorded" not in output
        assert not (site_folder / "site-data/published").exists()
        assert (
            output.count("site-data/course.yaml: note: the links that staff copy ") == without_url
        )


def test_handouts_are_counted_and_found(
    site_folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program stands for the browser, whose prints tests/browser looks at."""
    program = site_folder / "prints"
    program.write_text(
        '#!/bin/sh\nfor last; do test "${last#--print-to-pdf=}" = "$last" || '
        'echo %PDF > "${last#--print-to-pdf=}"; done\n',
        "utf-8",
    )
    program.chmod(0o755)
    monkeypatch.setenv(NAMED_BY, str(program))
    there = "2027-spring/level/prelab.pdf"
    assert run("publish", *RUNNING, "--to", "out", "--handouts")[1].splitlines()[1] == (
        f"Handouts: 2 PDF files, each beside its page, e.g. out/{there}"
    )
    assert (site_folder / "out" / there).is_file()


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


# ---- emit: over an empty folder or one of its own only

JUST_BEFORE = ("--as-of", "2027-02-14T22:59:59+00:00")
OVER = ("--as-of", "2027-02-20")


def test_pages_and_drawings_are_written_and_replaced_as_a_whole(folder: Path, run: Run) -> None:
    (folder / "out").mkdir()
    run("emit", "out", *OVER)
    status, output, messages = run("emit", "out", *JUST_BEFORE)
    written = [name for name in bytes_below(folder / "out") if name != ".fallwork"]
    pages, drawings = (sum(name.endswith(end) for name in written) for end in (".md", ".svg"))
    assert (status, messages) == (0, "")
    assert output == f"out: {pages} pages, {drawings} drawings and 1 data file written\n"
    assert (pages > 30, drawings > 3) == (True, True)
    assert {"calendar.ics", "2027-spring/level/prelab.md"} < {*written}
    assert "2027-spring/level/solution.md" not in written
    run("emit", "fresh", *JUST_BEFORE)
    assert bytes_below(folder / "out") == bytes_below(folder / "fresh")
    assert sorted(path.name for path in folder.iterdir()) == ["fresh", "out", "site-data"]


def test_bad_input_leaves_the_pages_of_before_and_a_date_is_its_first_moment(
    folder: Path, run: Run
) -> None:
    run("emit", "out", "--as-of", "2027-02-15")
    before = bytes_below(folder / "out")
    assert "2027-spring/level/solution.md" in before  # it opens at 00:00 in Berlin
    exchange(folder / "site-data/scenarios/level.yaml", "80.0 g", "-80.0 g")
    assert run("emit", "out", *OVER) == (
        2,
        "",
        'site-data/scenarios/level.yaml:4:33: the mass "-80.0 g ± 0.1 g"; '
        "a mass must be more than zero\n",
    )
    assert bytes_below(folder / "out") == before
    assert sorted(path.name for path in folder.iterdir()) == ["out", "site-data"]


def test_a_folder_that_can_t_be_made_is_told(folder: Path, run: Run) -> None:
    (folder / "file").write_text("", "utf-8")
    status, output, messages = run("emit", "file/out", *JUST_BEFORE)
    assert (status, output) == (2, "")
    assert "Traceback" not in messages
    assert "file" in messages
