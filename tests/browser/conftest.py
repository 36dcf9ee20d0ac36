"""The demo course as students read it, everything open, and a browser to read it with."""

import shutil
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from browser.chromium import find
from browser.reading import Reader, Site
from fallwork.site.publication import publish

PROJECT = Path(__file__).parents[2]
ALL_OPEN = datetime(2100, 1, 1, tzinfo=UTC)


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *args: object) -> None:
        """The tests' output is not the server's log."""


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The built site in a folder, and the same folder served below a sub-path."""
    root = tmp_path_factory.mktemp("host")
    folder = root / "faculty" / "mechanics"
    publish(PROJECT / "mkdocs.yml", as_of=ALL_OPEN, now=ALL_OPEN, to=folder)
    handler = partial(_Quiet, directory=str(root))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        port = server.server_address[1]
        yield Site(folder=folder, address=f"http://127.0.0.1:{port}/faculty/mechanics/")
        server.shutdown()
    shutil.rmtree(root)


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
    return Reader(browser=chromium, site=site)
