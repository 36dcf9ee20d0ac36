"""A reader with a browser, who opens pages of the built site and notes what they are like."""

import fcntl
import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from playwright.sync_api import Browser, Locator, Page, Request, Response

PHONE, DESK = 320, 1280  # px, the two widths at which everything must be readable
Place = Literal["folder", "server"]
Scheme = Literal["light", "dark"]

_OWN = ("data:", "blob:", "about:")  # addresses that reach no other computer


def script(name: str) -> str:
    """What a page is asked; it stands in a file beside the tests."""
    return Path(__file__).with_name(f"{name}.js").read_text("utf-8")


@dataclass(frozen=True, kw_only=True)
class Site:
    """The built site."""

    folder: Path
    address: str = ""  # of the same folder on a server, with a slash at the end
    whole: bool = False  # whether every page is looked at

    @cached_property
    def pages(self) -> tuple[str, ...]:
        """Every page, e.g. ``2026-autumn/level-track/prelab.html``."""
        found = (str(path.relative_to(self.folder)) for path in self.folder.rglob("*.html"))
        return tuple(sorted(found))

    @cached_property
    def long_tour(self) -> tuple[str, ...]:
        """Every page, or what each lab has in symbols and with numbers, and a few more."""
        names = ("/prelab.html", "/solution.html")
        more = [name for name in self.pages if self.whole or name.endswith(names)]
        found = {*self.short_tour, *(name for name in more if not name.startswith("step/"))}
        return tuple(sorted(found))

    @cached_property
    def short_tour(self) -> tuple[str, ...]:
        """The pages about one lab with trials, and those that belong to no lab."""
        kept = ("2026-autumn/level-track/", "step/level-track/te")
        return tuple(name for name in self.pages if name.startswith(kept) or name.count("/") < 2)


@dataclass(frozen=True, kw_only=True)
class Way:
    """A way to read the site."""

    place: Place = "folder"
    width: int = DESK
    scheme: Scheme = "light"
    scripts: bool = True


@dataclass(frozen=True, kw_only=True)
class Window:
    """An open window, and what the browser said meanwhile."""

    page: Page
    base: str
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def open(self, name: str) -> Page:
        self.page.goto(self.base + name)
        return self.page

    def copied(self, words: str) -> str:
        """What is in the clipboard once the page has said so."""
        self.status(words).wait_for()
        text: str = self.page.evaluate("navigator.clipboard.readText()")
        return text

    def status(self, words: str) -> Locator:
        return self.page.get_by_role("status").get_by_text(words, exact=True)

    @property
    def reach(self) -> str:
        """What is said of a copied address that nobody else can follow."""
        return " It leads to a file on this device." if self.base.startswith("file:") else ""

    @property
    def trouble(self) -> list[str]:
        """Complaints, and requests for anything that isn't part of the site."""
        foreign = [url for url in self.requests if not url.startswith((self.base, *_OWN))]
        return [*foreign, *self.complaints]


@dataclass(frozen=True, kw_only=True)
class Reader:
    """Opens windows, and makes each tour once."""

    browser: Browser
    site: Site
    notes: Path  # a folder that all processes of the tests share

    @contextmanager
    def window(self, way: Way) -> Iterator[Window]:
        """An empty page that remembers nothing of others."""
        context = self.browser.new_context(
            viewport={"width": way.width, "height": 800},
            color_scheme=way.scheme,
            java_script_enabled=way.scripts,
            permissions=["clipboard-read", "clipboard-write"],
        )
        context.set_default_timeout(10_000)
        folder = f"{self.site.folder.as_uri()}/"
        base = folder if way.place == "folder" else self.site.address
        window = Window(page=context.new_page(), base=base)
        _listen(window)
        yield window
        context.close()

    def tour(self, way: Way) -> tuple[dict[str, dict[str, Any]], list[str]]:
        """What facts.js finds on each page, and the trouble on the way; seen once by all processes.
        The long tour is made without scripts, which take most time.
        """
        long = not way.scripts and way.place == "folder"
        notes = self.notes / f"{re.sub('[^A-Za-z0-9]+', '-', str(way))}.json"
        with notes.with_suffix(".lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not notes.exists():
                with self.window(way) as window:
                    facts = {
                        name: window.open(name).evaluate(script("facts"))
                        for name in (self.site.long_tour if long else self.site.short_tour)
                    }
                notes.write_text(json.dumps([facts, window.trouble]), "utf-8")
            return tuple(json.loads(notes.read_text("utf-8")))


def _listen(window: Window) -> None:
    def failed(request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":  # that was us, on our way to the next page
            window.complaints.append(f"{request.failure}: {request.url}")

    def answered(response: Response) -> None:
        if response.status >= 400:
            window.complaints.append(f"{response.status}: {response.url}")

    window.page.on("request", lambda request: window.requests.append(request.url))
    window.page.on("requestfailed", failed)
    window.page.on("response", answered)
    window.page.on("console", lambda message: window.complaints.append(message.text))
    window.page.on("pageerror", lambda error: window.complaints.append(str(error)))
