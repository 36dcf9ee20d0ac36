"""Finds the Chromium that the browser tests drive, and sets one up where there is none.

Takes the environment (FALLWORK_CHROMIUM, PATH); gives the path of the program. Run as a script it
installs what is missing and prints the path; ``find`` alone installs nothing.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

_NAMES = ("chromium", "chromium-browser")


class ChromiumMissingError(Exception):
    """No Chromium, and no way to get one."""


def find() -> Path | None:
    """The Chromium named by FALLWORK_CHROMIUM, on the PATH, or downloaded earlier."""
    named = os.environ.get("FALLWORK_CHROMIUM")
    if named:
        if not Path(named).is_file():
            raise ChromiumMissingError(f"FALLWORK_CHROMIUM names {named}, which doesn't exist")
        return Path(named)
    for name in _NAMES:
        found = shutil.which(name)
        if found:
            return Path(found)
    return _downloaded()


def find_or_install() -> Path:
    """A Chromium, installed first where there is none."""
    for step in (None, _install_package, _download):
        if step is not None:
            step()
        found = find()
        if found is not None:
            return found
    raise ChromiumMissingError(
        "the browser tests need Chromium: install it, put it on the PATH, or name it in "
        "FALLWORK_CHROMIUM"
    )


def _install_package() -> None:
    """With the system's package manager, where we may."""
    if shutil.which("apt-get") and os.geteuid() == 0:
        _run("apt-get", "update")
        _run("apt-get", "install", "--yes", "--no-install-recommends", "chromium")


def _download() -> None:
    """With the browser library's own means."""
    _run(sys.executable, "-m", "playwright", "install", "chromium")


def _run(*command: str) -> None:
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    result = subprocess.run(command, stdout=sys.stderr, env=environment, check=False)
    if result.returncode != 0:
        print(f"{' '.join(command)} failed", file=sys.stderr)


def _downloaded() -> Path | None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        path = Path(playwright.chromium.executable_path)
    return path if path.is_file() else None


if __name__ == "__main__":
    try:
        print(find_or_install())
    except ChromiumMissingError as error:
        sys.exit(str(error))
