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


def dead_process() -> int:
    process = subprocess.Popen(["true"])
    process.wait()
    return process.pid


def test_a_folder_that_is_absent_or_empty_is_free(tmp_path: Path) -> None:
    folder.require_ours(tmp_path / "absent", "student")
    folder.require_ours(make(tmp_path / "empty"), "student")


def test_a_site_of_the_same_edition_may_be_replaced(tmp_path: Path) -> None:
    site = make(tmp_path / "site", index="old")
    folder.mark(site, "student")
    folder.require_ours(site, "student")


def test_a_folder_with_other_files_is_refused(tmp_path: Path) -> None:
    site = make(tmp_path / "site", thesis="years of work")
    with pytest.raises(PublicationError) as caught:
        folder.require_ours(site, "student")
    assert str(caught.value) == (
        f"{site} holds files that Fallwork didn't write; name another folder, or empty this one"
    )


def test_the_staff_edition_never_replaces_the_students(tmp_path: Path) -> None:
    site = make(tmp_path / "site")
    folder.mark(site, "student")
    with pytest.raises(PublicationError) as caught:
        folder.require_ours(site, "staff")
    assert str(caught.value) == (
        f"{site} holds the student edition; name another folder for the staff edition"
    )


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "site").write_text("a file")
    with pytest.raises(PublicationError) as caught:
        folder.require_ours(tmp_path / "site", "student")
    assert str(caught.value) == f"{tmp_path / 'site'} is not a folder; name another one"


@pytest.mark.parametrize("in_one_step", [True, False])
def test_the_new_site_takes_the_place_of_the_old(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool
) -> None:
    if not in_one_step:
        monkeypatch.setattr(folder, "_exchange", lambda one, other: False)
    site, fresh = make(tmp_path / "site", page="old", gone="old"), make(tmp_path / "f", page="new")
    folder.swap_in(fresh, site)
    assert held(site) == {"page": "new"}
    assert list(tmp_path.iterdir()) == [site]


def test_the_first_site_needs_no_old_one(tmp_path: Path) -> None:
    folder.swap_in(make(tmp_path / "fresh", page="new"), tmp_path / "site")
    assert held(tmp_path / "site") == {"page": "new"}


def test_a_folder_that_cannot_be_replaced_keeps_its_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folder, "_exchange", lambda one, other: False)
    site = make(tmp_path / "site", page="old")
    with pytest.raises(FileNotFoundError):
        folder.swap_in(tmp_path / "never-built", site)
    assert held(site) == {"page": "old"}


def test_what_a_killed_build_left_is_cleared_away(tmp_path: Path) -> None:
    left = make(tmp_path / f".site.building-{dead_process()}", page="half")
    running = make(tmp_path / f".site.building-{os.getppid()}", page="half")
    fresh = folder.new_beside(tmp_path / "site")
    assert sorted(tmp_path.iterdir()) == sorted([fresh, running])
    assert not left.exists()
    assert held(fresh) == {}
