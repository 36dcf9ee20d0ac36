"""Serving a site on this machine while it is being written. Nothing is published or recorded.

Takes the course's mkdocs.yml; rebuilds as files change. What can't be built leaves the last page
that could, with the message on top of it.
"""

import errno
import html
import shutil
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.livereload import LiveReloadServer

from fallwork.errors import FallworkError
from fallwork.scenario import from_here
from fallwork.scenario.frozen import PUBLISHED
from fallwork.site import folder
from fallwork.site.errors import PublicationError, said
from fallwork.site.publication import built, configuration, plugin_of

_HOST = "127.0.0.1"  # nobody else's machine
_BOX = Path(__file__).with_name("not-built.html.in").read_text("utf-8")  # for what is wrong
_REFUSED = {errno.EADDRINUSE: "port-taken", errno.EACCES: "port-closed"}


def preview(
    config_file: Path,
    *,
    edition: str = "student",
    as_of: datetime | None = None,
    port: int = 8000,
    only: str | None = None,
) -> None:
    """Serve the site until interrupted, rebuilding as files change; ``only`` of the lab of this id.

    ``as_of`` is aware; without it, each build shows the moment at which it begins. Raises
    ``PublicationError`` for a port on which nothing can be served, and ``FallworkError`` where not
    even the first build succeeds.
    """
    config = configuration(config_file, strict=False)
    data = from_here(Path(plugin_of(config).config.site_data))
    folder.put_right(data / PUBLISHED, Path(config.site_dir))

    def build() -> MkDocsConfig:
        """Aside, and show it."""
        for old in Path(place).iterdir():  # but what is shown: a reader may be fetching from it
            if str(old) != server.root:
                shutil.rmtree(old, ignore_errors=True)
        fresh = mkdtemp(dir=place)
        config = configuration(config_file, strict=False, site=Path(fresh))
        plugin = plugin_of(config)
        plugin.config.edition, plugin.moment, plugin.only = edition, as_of, only
        plugin.target = Path(server.root)
        for warning in built(config, command="serve"):
            print(warning, flush=True)
        server.root, server.message = fresh, ""
        return config

    with TemporaryDirectory(prefix="fallwork-") as place, _served(place, port) as server:
        config = build()
        server.builder = lambda: _build_again(build, server)
        for path in (config.docs_dir, config_file, plugin_of(config).config.site_data):
            server.watch(str(path))
        told = f"The {edition} edition, for you alone: {server.url} (Ctrl-C ends it)"
        print(told, flush=True)
        server.serve()  # type: ignore[no-untyped-call]  # MkDocs has no hint there


class _Server(LiveReloadServer):
    """The docs builder's server, which puts a message on top of pages."""

    message = ""
    bound = False

    def server_bind(self) -> None:
        """Take the port; a second call changes nothing."""
        if not self.bound:
            super().server_bind()
            self.bound = True

    def _inject_js_into_html(self, content: bytes, epoch: int) -> bytes:
        whole = on_top(content, self.message)
        return bytes(super()._inject_js_into_html(whole, epoch))  # type: ignore[no-untyped-call]

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A browser that has gone away is no mistake."""
        if not isinstance(sys.exc_info()[1], ConnectionError):
            super().handle_error(request, client_address)


def _build_again(build: Callable[[], object], server: _Server) -> None:
    """What is wrong goes on top of every page; the pages that there are must go on."""
    try:
        build()
    except FallworkError as error:
        server.message = str(error)
    except Exception as error:
        traceback.print_exc()
        server.message = f"{type(error).__name__}: {error}"
    print(server.message or "Built again.", flush=True)


@contextmanager
def _served(place: str, port: int) -> Iterator[_Server]:
    """A server that has its port before anything is built."""
    server = _Server(builder=lambda: None, host=_HOST, port=port, root=place)
    server.error_handler = lambda _: on_top(b"There is no such page.", server.message)
    try:
        with suppress(KeyboardInterrupt):
            server.server_bind()
            yield server
    except OSError as error:
        if server.bound or error.errno not in _REFUSED:
            raise
        other, why = port + 1 if 1024 <= port < 65535 else 8001, said(_REFUSED[error.errno])
        raise PublicationError(said("port", port=port, why=why, other=other)) from None
    finally:
        server.shutdown()


def on_top(page: bytes, message: str) -> bytes:
    """The page with a message as the first thing in it; without one, the page."""
    if not message:
        return page
    box = _BOX.format(message=html.escape(message)).rstrip("\n").encode()
    start = page.find(b"<body")
    at = page.find(b">", start) + 1 if start >= 0 else 0
    return page[:at] + box + page[at:]
