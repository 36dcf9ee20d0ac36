"""Whatever happens to a build, a whole site stands in its place: the one before, or the new one."""

import os
import random
import resource
import signal
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
KILLS = 20
Pages = dict[str, str]
FilesOf = Callable[[Path], dict[str, bytes]]


def child(work: Callable[[], object]) -> int:
    """Start ``work`` in a process of its own, silently.

    Its status is 0 if it didn't raise, and 1 if it raised what is told in a sentence.
    """
    process = os.fork()
    if process:
        return process
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        work()
        os._exit(0)
    except PublicationError:
        os._exit(1)
    except BaseException:
        os._exit(2)


def status(process: int) -> int:
    """As ``waitstatus_to_exitcode`` gives it: minus the signal where one ended the process."""
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def test_builds_that_are_killed_at_any_moment_leave_a_whole_site(
    config_file: Path, pages: Pages, files_of: FilesOf
) -> None:
    site = publish(config_file, now=NOW).site
    old = files_of(site)
    pages["index.md"] += "\nNew.\n"
    start = time.monotonic()
    new = files_of(publish(config_file, now=NOW, to=site.with_name("new")).site)
    usual = time.monotonic() - start
    assert old != new
    moments, killed = random.Random(20270301), 0
    for _ in range(KILLS):
        process = child(lambda: publish(config_file, now=NOW))
        time.sleep(moments.uniform(0.0, usual))
        os.kill(process, signal.SIGKILL)
        killed += status(process) == -signal.SIGKILL
        assert files_of(site) in (old, new)
    assert killed > KILLS / 2
    publish(config_file, now=NOW)
    assert files_of(site) == new
    names = sorted(path.name for path in site.parent.iterdir())
    assert names == ["content", "mkdocs.yml", "new", "site", "site-data"]  # nothing half-built


@pytest.mark.parametrize("room", [0, 2_000, 40_000, 200_000])
def test_a_disk_without_room_leaves_the_site_as_it_was(
    config_file: Path, pages: Pages, files_of: FilesOf, room: int
) -> None:
    publish(config_file, now=NOW)
    before = files_of(config_file.parent)
    pages["index.md"] += "\nNew.\n"

    def without_room() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # so that writing raises, as on a full disk
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        publish(config_file, now=NOW)

    assert status(child(without_room)) == 1
    pages["index.md"] = pages["index.md"].removesuffix("\nNew.\n")
    assert files_of(config_file.parent) == before
