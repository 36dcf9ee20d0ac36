"""Whose folder a site may take, and how it takes it."""

import os
import subprocess
from pathlib import Path

import pytest

from fallwork.site import folder
from fallwork.site.errors import PublicationError


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


def test_a_folder_that_is_absent_empty_or_of_the_edition_may_be_taken(tmp_path: Path) -> None:
    folder.require_ours(tmp_path / "absent", "student")
    folder.require_ours(make(tmp_path / "empty"), "student")
    folder.mark(make(tmp_path / "site", index="old"), "student")
    folder.require_ours(tmp_path / "site", "student")


REFUSED = {
    "spoiled": "{site}/.fallwork, which says whose this folder is, can't be read; name another "
    "folder, or empty this one",
    "another's": "{site} holds files that Fallwork didn't write; name another folder, or empty "
    "this one",
    "students": "{site} holds the student edition; name another folder for the staff edition",
    "file": "{site} is not a folder; name another one",
    "students/staff": "{site} lies in {site.parent}, which holds a site of its own; name a folder "
    "beside it",
    "staff": "{site} also holds .git, CNAME, which Fallwork didn't write and the next site would "
    "not hold; move it elsewhere, or put it into the folder of the hand-written pages, from where "
    "it goes along",
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_ours_is_left_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_text("a file")
    make(tmp_path / "another's", thesis="years of work")
    folder.mark(make(tmp_path / "students"), "student")
    (make(tmp_path / "spoiled") / folder.MARK).write_bytes(b"\xff\xfe")
    staff = make(tmp_path / "staff", page="old")
    folder.mark(staff, "staff")
    for added in (make(staff / ".git") / "a", staff / ".git" / "b", staff / "CNAME"):
        added.write_text("by hand")
    with pytest.raises(PublicationError) as caught:
        folder.require_ours(tmp_path / name, "staff")
    assert str(caught.value) == REFUSED[name].format(site=tmp_path / name)


@pytest.mark.parametrize("in_one_step", [True, False])
def test_the_new_site_takes_the_place_of_the_old(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool
) -> None:
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


def test_what_the_second_swap_refuses_undoes_the_first(tmp_path: Path) -> None:
    record, site = make(tmp_path / "record", page="old"), make(tmp_path / "site", page="old")
    fresh = make(tmp_path / "fresh", page="new")
    for first in (record, tmp_path / "first"):
        with pytest.raises(OSError, match="never-built"):
            folder.swap_in((fresh, first), (tmp_path / "never-built", site))
    assert [held(record), held(site)] == [{"page": "old"}] * 2
    assert not (tmp_path / "first").exists()


def test_what_a_killed_build_left_is_cleared_away_or_put_back(tmp_path: Path, dead: int) -> None:
    make(tmp_path / f".site.building-{dead}", page="half")
    running = make(tmp_path / f".site.building-{os.getppid()}", page="half")
    fresh = folder.new_beside(tmp_path / "site")
    assert names(tmp_path) == sorted([fresh.name, running.name])
    assert held(fresh) == {}
    make(tmp_path / f".site.building-{dead}-old", page="old")  # a process had moved it aside
    folder.new_beside(tmp_path / "site")
    assert held(tmp_path / "site") == {"page": "old"}


def test_a_left_over_that_cannot_be_removed_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
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
def test_what_was_killed_between_the_two_places_is_finished(
    tmp_path: Path, dead: int, stood: bool, aside: bool
) -> None:
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
