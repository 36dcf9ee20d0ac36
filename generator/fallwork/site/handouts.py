"""Handouts: pages of the built site printed to PDF by a Chromium of the machine.

Takes the folder of a site that is built and not yet in place; adds a PDF beside each page that is
handed out. The same site gives the same bytes: what hangs on the moment of printing is taken out of
each file.
"""

import os
import re
import shutil
import subprocess
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import urljoin

from fallwork.site.errors import PublicationError, said

NAMED_BY = "FALLWORK_CHROMIUM"  # the variable that says where it is
_KNOWN_AS = ("chromium", "chromium-browser")
_OPTIONS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer"),
    *("--disable-background-networking", "--disable-sync", "--disable-component-update"),
)
_PATIENCE = 120  # seconds for one page
_LINK = re.compile(r'(<a\b[^>]*?\s)href="(?!#|https?:)([^"]*)"')  # to another page of the site
_CELL = re.compile(rb"\(node[0-9]{8}\)")  # a cell of a table, numbered by a counter of the program
_PRINTED_AT = re.compile(rb"/(?:CreationDate|ModDate) \(D:[^)]*\)")  # ISO 32000-1, 7.9.4


def browser() -> str | None:
    """The program that is named, or else known; None where there is none."""
    named = os.environ.get(NAMED_BY) or next(filter(None, map(shutil.which, _KNOWN_AS)), "")
    return named if Path(named).is_file() else None


def print_all(site: Path, pages: Iterable[str], address: str) -> tuple[str, ...]:
    """Print pages, e.g. ``2027-spring/level-track/bench.html``, each beside itself; gives the paths
    in the site. Their links lead to the site at its public ``address``; where that is unknown, they
    are words.
    """
    program, printed_to = browser(), list[str]()
    if program is None:
        raise PublicationError(said("no-browser", variable=NAMED_BY))
    for page in pages:
        here, public = site / page, urljoin(address, page) if address else ""
        paper, copy = here.with_suffix(".pdf"), here.with_suffix(".print.html")
        copy.write_text(_LINK.sub(partial(_led, public), here.read_text("utf-8")), "utf-8")
        with TemporaryDirectory() as profile:
            command = [
                *(program, *_OPTIONS, f"--user-data-dir={profile}"),
                *(f"--print-to-pdf={paper}", copy.resolve().as_uri()),
            ]
            try:
                subprocess.run(command, check=True, capture_output=True, timeout=_PATIENCE)
                printed = paper.read_bytes()
            except (OSError, subprocess.SubprocessError) as error:
                raise PublicationError(said("not-printed", page=page, why=error)) from error
        copy.unlink()
        paper.write_bytes(_settled(printed))
        printed_to.append(paper.relative_to(site).as_posix())
    return tuple(printed_to)


def _led(public: str, link: re.Match[str]) -> str:
    return f'{link[1]}href="{urljoin(public, link[2])}"' if public else link[1]


def _settled(pdf: bytes) -> bytes:
    """Without the moment of printing, and cells numbered as they come; no length changes."""
    cells: dict[bytes, bytes] = {}

    def numbered(found: re.Match[bytes]) -> bytes:
        return cells.setdefault(found[0], b"(node%08d)" % len(cells))

    return _CELL.sub(numbered, _PRINTED_AT.sub(lambda at: re.sub(rb"\d", b"0", at[0]), pdf))
