"""The demo course as students read it, everything open, and a browser to read it with."""

import json
import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from browser.chromium import find
from browser.reading import Reader, Site
from fallwork.pages.scriptdata import words_for
from fallwork.site.look import ASSETS, own_file


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *args: object) -> None:
        """The tests' output is not the server's log."""


@pytest.fixture(scope="session")
def site(everything_open: Path, thorough: bool) -> Iterator[Site]:
    """The built site in a folder, and the same folder served below a sub-path."""
    root = everything_open.parents[1]
    handler = partial(_Quiet, directory=str(root))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        port = server.server_address[1]
        below = everything_open.relative_to(root).as_posix()
        address = f"http://127.0.0.1:{port}/{below}/"
        yield Site(folder=everything_open, address=address, whole=thorough)
        server.shutdown()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    program = find()
    assert program, "no Chromium: `make test` sets one up, FALLWORK_CHROMIUM names one"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=program, args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def reader(chromium: Browser, site: Site) -> Reader:
    return Reader(browser=chromium, site=site, notes=site.folder.parents[2])


@pytest.fixture(scope="session")
def scripts(chromium: Browser) -> Iterator[Page]:
    """An empty page with the scripts that calculate."""
    with chromium.new_context() as context:
        page = context.new_page()
        data = json.dumps({"words": words_for(("relations", "working"))})
        page.set_content(f'<script type="application/json" id="fw-data">{data}</script>')
        for name in ("elements", "trees", "own", "relations", "working"):
            page.add_script_tag(content=own_file(ASSETS / f"{name}.js").decode())
        yield page
