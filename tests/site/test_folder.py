"""Whose folder a site may take; a whole site stands with its record, whatever fault is planted
where the interpreter reports a write (PEP 578, read), in a process of its own.
"""

import errno
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from cases import cases
from democourse import NOW, bytes_below
from fallwork.site import errors, folder, publication

REFUSED = cases(__file__, "folders")
CHANGES = {"os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.chmod", "os.utime", "os.truncate"}
SPREAD = 1  # of the writes of pages and of the removals of old ones, besides record and swaps
State = tuple[dict[str, bytes], dict[str, bytes]]


def make(path: Path, **files: str) -> Path:
    path.mkdir()
    for name, content in files.items():
        (path / name).write_text(content)
    return path


def held(path: Path) -> dict[str, str]:
    return {file.name: file.read_text() for file in sorted(path.iterdir())}


def names(path: Path) -> list[str]:
    return sorted(each.name for each in path.iterdir())


@pytest.fixture
def dead() -> int:
    """The number of a process that is gone."""
    process = subprocess.Popen(["true"])
    process.wait()
    return process.pid


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_ours_is_left_alone(tmp_path, name):
    (tmp_path / "file").write_text("a file")
    make(tmp_path / "another's", thesis="years of work")
    folder.mark(make(tmp_path / "students"), "student")
    (make(tmp_path / "spoiled") / folder.MARK).write_bytes(b"\xff\xfe")
    staff = make(tmp_path / "staff", page="old")
    folder.mark(staff, "staff")
    for added in (make(staff / ".git") / "a", staff / ".git" / "b", staff / "CNAME"):
        added.write_text("by hand")
    with pytest.raises(errors.PublicationError) as caught:
        folder.require_ours(tmp_path / name, "staff")
    assert str(caught.value) == REFUSED[name].format(site=tmp_path / name)


@pytest.mark.parametrize("in_one_step", [True, False])
def test_the_new_site_takes_the_place_of_the_old(tmp_path, monkeypatch, in_one_step):
    if not in_one_step:
        monkeypatch.setattr(folder, "_exchange", lambda one, other: False)
    site = tmp_path / "site"
    for page in ("old", "new"):  # the first needs no older one
        folder.swap_in((make(tmp_path / "fresh", **{page: page}), site))
        assert held(site) == {page: page}
        assert names(tmp_path) == ["site"]
    with pytest.raises(OSError, match=r"never-built|No such file"):
        folder.swap_in((tmp_path / "never-built", site))
    assert held(site) == {"new": "new"}


def test_what_a_killed_build_left_is_cleared_away_or_put_back(tmp_path, dead):
    make(tmp_path / f".site.building-{dead}", page="half")
    running = make(tmp_path / f".site.building-{os.getppid()}", page="half")
    fresh = folder.new_beside(tmp_path / "site")
    assert names(tmp_path) == sorted([fresh.name, running.name])
    assert held(fresh) == {}
    make(tmp_path / f".site.building-{dead}-old", page="old")  # a process had moved it aside
    folder.new_beside(tmp_path / "site")
    assert held(tmp_path / "site") == {"page": "old"}


def test_a_left_over_that_cannot_be_removed_stops_nothing(tmp_path, monkeypatch):
    def refused(path: Path, **options: object) -> None:
        assert options == {"ignore_errors": True}

    monkeypatch.setattr(folder.shutil, "rmtree", refused)
    site = make(tmp_path / "site", page="old")
    for page in ("new", "newer"):
        fresh = folder.new_beside(site)
        (fresh / "page").write_text(page)
        folder.swap_in((fresh, site))
        assert held(site) == {"page": page}


@pytest.mark.parametrize("stood", [True, False])
@pytest.mark.parametrize("aside", [True, False])
def test_what_was_killed_between_the_two_places_is_finished(tmp_path, dead, stood, aside):
    """``aside``: the site too had been moved from its place, on a system that can't swap."""
    record, waiting = make(tmp_path / "record", page="new"), tmp_path / f".site.building-{dead}"
    folder.mark(make(waiting, page="new"), "student", folder.notes_on(record, 7))
    make(tmp_path / f".record.building-{dead}", page="old")
    if stood:
        folder.mark(make(tmp_path / "site", page="old"), "student", ["recorded: 5", "record: x"])
        if aside:
            (tmp_path / "site").rename(tmp_path / f".site.building-{dead}-old")
    folder.put_right(record, tmp_path / "site")
    assert held(tmp_path / "site")["page"] == "new"
    assert folder.recorded(tmp_path / "site") == 7
    assert names(tmp_path) == ["record", "site"]


# ---- whatever happens
def writes(event: str, args: tuple[object, ...]) -> bool:
    if event == "open":
        path, mode, flags = args
        opened = isinstance(flags, int) and bool(flags & (os.O_WRONLY | os.O_RDWR))
        return not str(path).startswith("/dev/") and (
            opened or any(letter in str(mode or "") for letter in "wax+")
        )
    return event in CHANGES or (event == "ctypes.dlsym" and args[1] == "renameat2")


def child(work: Callable[[], object]) -> int:
    """The exit of ``work`` in its own process: 0 done, 1 told in a sentence, 2 other, or minus a
    signal.
    """
    process = os.fork()
    if process:
        return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        work()
        os._exit(0)
    except errors.PublicationError:
        os._exit(1)
    except BaseException:
        os._exit(2)


def written(config_file: Path, notes: Path) -> list[str]:
    """Every write of a publication, in order, as lines that tell what is written."""

    def noted() -> None:
        out = os.open(notes, os.O_WRONLY | os.O_CREAT)

        def note(event: str, args: tuple[object, ...]) -> None:
            if writes(event, args):
                os.write(out, f"{event} {args[0]!r}\n".encode())

        sys.addaudithook(note)
        publication.publish(config_file, now=NOW)

    assert child(noted) == 0
    return notes.read_text("utf-8").splitlines()


def struck(config_file: Path, at: int, fault: str) -> int:
    """A publication that meets with a fault at its n-th write."""
    seen = 0

    def strike(event: str, args: tuple[object, ...]) -> None:
        nonlocal seen
        if not writes(event, args):
            return
        seen += 1
        if seen == at and fault == "killed":
            os.kill(os.getpid(), signal.SIGKILL)
        full = fault == "full" and seen >= at and event in ("open", "os.mkdir")
        if full or (fault == "forbidden" and seen == at):
            number = errno.ENOSPC if full else errno.EACCES
            raise OSError(number, os.strerror(number), str(args[0]))

    def publishing() -> None:
        sys.addaudithook(strike)
        publication.publish(config_file, now=NOW)

    return child(publishing)


@pytest.mark.parametrize("fault", ["full", "forbidden", "killed"])
def test_a_fault_at_any_write_leaves_the_old_or_the_new(
    config_file, content, pages, fault, tmp_path, thorough
):
    site, record = config_file.parent / "site", config_file.parent / "site-data/published"

    def state() -> State:
        return bytes_below(site), bytes_below(record)

    def start() -> None:
        for place in (site, record):
            shutil.rmtree(place)
            shutil.copytree(tmp_path / "kept" / place.name, place)

    publication.publish(config_file, now=NOW)
    old = state()
    for place in (site, record):
        shutil.copytree(place, tmp_path / "kept" / place.name)
    (content / "new.md").write_text("# New\n\n## Here\n", "utf-8")
    steps = written(config_file, tmp_path / "notes")
    new = state()
    assert old[0] != new[0]
    assert old[1] != new[1]
    first = min(n for n, step in enumerate(steps, 1) if ".published." in step)
    swaps = [n for n, step in enumerate(steps, 1) if "dlsym" in step]
    assert len(swaps) == 2
    spread = len(steps) if thorough else SPREAD
    pages_of = range(1, first, max(1, first // spread))
    cleaning = range(swaps[1] + 1, len(steps) + 1, max(1, (len(steps) - swaps[1]) // spread))
    mixed = 0
    for at in [*pages_of, *range(first, swaps[1] + 1), *cleaning]:
        start()
        status = struck(config_file, at, fault)
        left = state()
        allowed = {0: (new,), 1: (old,), -signal.SIGKILL: (old, new, (old[0], new[1]))}
        assert left in allowed[status], (at, steps[at - 1], status)
        if left == (old[0], new[1]):
            mixed += 1
            folder.put_right(record, site)  # before anything else, in the next publish or preview
            assert state() == new
        publication.publish(config_file, now=NOW)
        assert state() == new
    assert mixed <= 1  # killed between the two swaps, which no system makes one
    left_over = [path.name for path in config_file.parent.rglob(".*.building-*")]
    assert left_over == []


def test_two_publications_at_once_wait_for_each_other(config_file, pages):
    """The second starts while the first is at its swap, and finds its record complete."""
    publication.publish(config_file, now=NOW)
    processes = []
    for _ in range(3):
        process = os.fork()
        if not process:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
            pages["index.md"] += f"\nBy {os.getpid()}.\n"
            publication.publish(config_file, now=NOW)
            os._exit(0)
        processes.append(process)
    assert [os.waitstatus_to_exitcode(os.waitpid(one, 0)[1]) for one in processes] == [0, 0, 0]
    home = (config_file.parent / "site/index.html").read_text("utf-8")
    assert sum(f"By {one}." in home for one in processes) == 1
    assert list(config_file.parent.rglob(".*.building-*")) == []
