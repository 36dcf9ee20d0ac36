"""Finds the Chromium that the browser tests drive, and run as a script installs one."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from fallwork.site.handouts import NAMED_BY, browser

PACKAGE = [
    ("apt-get", "update"),
    ("apt-get", "install", "--yes", "--no-install-recommends", "chromium"),
]
DOWNLOAD = [(sys.executable, "-m", "playwright", "install", "chromium")]


def find() -> Path | None:
    """The Chromium that prints handouts, or one that was downloaded earlier."""
    found, named = browser(), os.environ.get(NAMED_BY)
    if named and not found:
        sys.exit(f"{NAMED_BY} names {named}, which doesn't exist")
    return Path(found) if found else _downloaded()


def find_or_install() -> Path:
    """A Chromium; where there is none, one by the system's packages or the browser library."""
    may = shutil.which("apt-get") and os.geteuid() == 0
    for commands in ([], PACKAGE if may else [], DOWNLOAD):
        for command in commands:
            environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
            done = subprocess.run(command, stdout=sys.stderr, env=environment, check=False)
            if done.returncode:
                print(f"{' '.join(command)} failed", file=sys.stderr)
        if found := find():
            return found
    sys.exit(f"the browser tests need Chromium: install it, or name it in {NAMED_BY}")


def _downloaded() -> Path | None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        path = Path(playwright.chromium.executable_path)
    return path if path.is_file() else None


if __name__ == "__main__":
    print(find_or_install())
