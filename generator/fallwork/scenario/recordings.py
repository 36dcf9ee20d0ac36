"""Recordings of a lab: where they stand, since when students have them, what they show when."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated
from urllib.parse import urlsplit

from fallwork.scenario.model import TITLE
from fallwork.scenario.nouns import lab_id
from fallwork.scenario.records import Items, Key, Named, Record
from fallwork.scenario.report import UnreadableError, shown
from fallwork.scenario.shapes import MOMENT, text

_SIGNS = r"[\w.~%+,;=:@/-]"  # none that means more than itself in HTML
_HOST = r"[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?"
_ADDRESS = re.compile(
    rf"https://{_HOST}(?::\d{{1,5}})?/{_SIGNS}*(?:\?(?:{_SIGNS}|[?&])*)?", re.ASCII
)
_MOMENT = re.compile(rf"[?&#](?:{_SIGNS}|&)*\{{seconds\}}(?:{_SIGNS}|&)*", re.ASCII)
_TIME = re.compile(r"(?:(\d{1,2}):(?=\d\d:))?(\d{1,3}):([0-5]\d)", re.ASCII)
_FRAGMENT = "#t={seconds}"  # Media Fragments URI 1.0, 4.2.1 (from memory)


def _address(given: str) -> str:
    if _ADDRESS.fullmatch(given):
        return given
    raise UnreadableError("no-recording", text=shown(given))


def _seconds(given: str) -> int:
    found = _TIME.fullmatch(given)
    if found is None or (found[1] and int(found[2]) > 59):
        raise UnreadableError("no-time", text=shown(given))
    hours, minutes, seconds = (int(each or 0) for each in found.groups())
    return 3600 * hours + 60 * minutes + seconds


def _host(given: str, what: str) -> str:
    if not re.fullmatch(_HOST, given):
        raise UnreadableError("no-host", what=what, text=shown(given))
    return given


def _pattern(given: str) -> str:
    if not _MOMENT.fullmatch(given):
        raise UnreadableError("no-moment-of-recording", text=shown(given))
    return given


def time_in_words(seconds: int) -> str:
    """As it was given: ``3:10``, ``1:02:30``."""
    hours, rest = divmod(seconds, 3600)
    minutes, last = divmod(rest, 60)
    return f"{hours}:{minutes:02}:{last:02}" if hours else f"{minutes}:{last:02}"


_MARKS = Named("the step", "a time", text("a time", '"3:10"', _seconds, 0), lab_id)


@dataclass(frozen=True, kw_only=True)
class Recording:
    """A recording that stands elsewhere; pages only lead to it."""

    title: Annotated[str, TITLE]
    address: Annotated[str, text("an address", "https://media.example.org/run-1", _address)]
    at: Annotated[datetime, Key(MOMENT, key="from")]  # from when on students have it
    marks: Annotated[Mapping[str, int], _MARKS] = field(default_factory=dict)  # step -> seconds

    @property
    def host(self) -> str:
        """The name of the site where it stands."""
        return urlsplit(self.address).hostname or ""

    def moment(self, seconds: int, patterns: Mapping[str, str]) -> str:
        """The address that leads to a time; ``patterns``: by host, what is put after an address."""
        ending = patterns.get(self.host, _FRAGMENT).format(seconds=seconds)
        again = ending.startswith("?") and "?" in self.address
        return self.address + (f"&{ending[1:]}" if again else ending)


RECORDINGS = Items(
    "the recordings",
    "[{title: The trials, address: https://media.example.org/run-1, from: 2027-02-08}]",
    Record("a recording", Recording),
)
_PATTERN = text("what leads to a time", '"?start={seconds}"', _pattern)
PATTERNS = Named("the host", "what leads to a time", _PATTERN, _host, pattern=f"^{_HOST}$")
