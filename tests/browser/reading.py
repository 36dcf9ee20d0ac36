"""A reader with a browser: opens pages of the built site and notes what the browser complains of.

Takes a browser and the site; gives open pages. Knows nothing of what the pages say.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Literal

from playwright.sync_api import Browser, BrowserContext, Page, Request

PHONE, DESK = 320, 1280  # px, the two widths at which everything must be readable
Place = Literal["folder", "server"]
Scheme = Literal["light", "dark"]


@dataclass(frozen=True, kw_only=True)
class Site:
    """The built site."""

    folder: Path
    address: str  # of the same folder on a server, with a slash at the end

    @property
    def pages(self) -> list[str]:
        """Every page, e.g. ``2026-autumn/level-track/prelab.html``."""
        return sorted(str(path.relative_to(self.folder)) for path in self.folder.rglob("*.html"))

    def base(self, place: Place) -> str:
        """What every address of the site begins with."""
        return f"{self.folder.as_uri()}/" if place == "folder" else self.address


@dataclass(kw_only=True)
class Reader:
    """Opens pages in fresh windows and collects complaints."""

    browser: Browser
    site: Site
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)
    _windows: list[BrowserContext] = field(default_factory=list)

    def __enter__(self) -> "Reader":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for window in self._windows:
            window.close()

    def window(self, *, width: int = DESK, scheme: Scheme = "light", scripts: bool = True) -> Page:
        """An empty page in a window of its own."""
        context = self.browser.new_context(
            viewport={"width": width, "height": 800},
            color_scheme=scheme,
            java_script_enabled=scripts,
        )
        self._windows.append(context)
        context.set_default_timeout(5000)
        page = context.new_page()
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("requestfailed", self._failed)
        page.on(
            "response",
            lambda response: (
                response.status < 400
                or self.complaints.append(f"{response.status}: {response.url}")
            ),
        )
        page.on("request", lambda request: self.requests.append(request.url))
        return page

    def every_page(
        self,
        *,
        place: Place = "folder",
        width: int = DESK,
        scheme: Scheme = "light",
        scripts: bool = True,
    ) -> Iterator[tuple[str, Page]]:
        """All pages one after the other in one window, with their names."""
        page = self.window(width=width, scheme=scheme, scripts=scripts)
        for name in self.site.pages:
            page.goto(self.site.base(place) + name)
            yield name, page

    def _failed(self, request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":  # that was us, on our way to the next page
            self.complaints.append(f"{request.failure}: {request.url}")
