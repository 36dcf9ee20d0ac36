"""What course.yaml says."""

import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from importlib.resources import files
from typing import Annotated
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fallwork.errors import Place
from fallwork.scenario.model import RIGHT_ANGLE, TITLE
from fallwork.scenario.quantity import Given
from fallwork.scenario.records import Items, Named, Record
from fallwork.scenario.report import Report, UnreadableError, shown, unknown
from fallwork.scenario.shapes import MOMENT, OrWord, Reading, measure, text, text_of, whole
from fallwork.scenario.tree import Mapping as MappingNode
from fallwork.scenario.tree import Node

# Where a site stands: no query, no account, and nothing that means more than itself in HTML.
_ADDRESS = re.compile(r"https?://(?:[\w.-]+|\[[0-9A-Fa-f:.]+\])(?::\d{1,5})?(?:/[\w.~%+,;=:@/-]*)?")
_NO_ZONE = "UTC"  # stands in for a zone that can't be read


def _zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        names = files("tzdata").joinpath("zones").read_text("utf-8").split()
        words = unknown("time zone", text, names, "write an IANA name, e.g. Europe/Zurich")
        raise UnreadableError("unknown", **words) from None
    return text


def site_url(text: str) -> str:
    """The address of a site, if it is one; raises UnreadableError."""
    if _ADDRESS.fullmatch(text):
        return text
    raise UnreadableError("no-site", text=shown(text))


@dataclass(frozen=True, kw_only=True)
class Contact:
    """Whom to call when something goes wrong in the lab: never a person's private number."""

    who: Annotated[str, text("a role or office", "the lab office")]
    how: Annotated[str, text("a way to reach it", "room 114")]


def _pattern(text: str, what: str) -> str:
    """A path from the folder of the hand-written pages on."""
    if text.startswith("/") or ".." in text.split("/") or "\\" in text or not text.strip():
        raise UnreadableError("pattern-of-attachment", what=what, text=shown(text))
    return text


_Moments = Mapping[str, datetime | None]
_ALWAYS = OrWord("always", MOMENT, "a date", "write always, or a date, e.g. 2027-02-08")
_ATTACHMENTS = Named("the file", "a date or always", _ALWAYS, _pattern, pattern="^[^/]")


_POLE = "a latitude must lie between −90 and 90 deg"
_LATITUDE = measure("angle", _POLE, at_least=-RIGHT_ANGLE, at_most=RIGHT_ANGLE)
_HEIGHT = measure("length", "it must lie between −500 and 9000 m", at_least=-500, at_most=9000)
_GRAVITY = measure("acceleration", "it must be more than zero", above=0)
_SENTENCE = text("a sentence", "Units everywhere")
_RUBRIC = Items("the rubric", "[Sketch and forces complete, Units everywhere]", _SENTENCE)


@dataclass(frozen=True, kw_only=True)
class Course:
    """course.yaml."""

    title: Annotated[str, TITLE]
    gravity: Annotated[Given, _GRAVITY] = None
    latitude: Annotated[Given, _LATITUDE] = None
    height: Annotated[Given, _HEIGHT] = None
    time_zone: Annotated[str, text("a time zone", "Europe/Zurich", _zone, _NO_ZONE)]
    significant_figures: Annotated[int, whole("the number of significant figures", 2, 6, 3)] = 3
    contact: Annotated[Contact | None, Record("a contact", Contact)] = None
    rubric: Annotated[tuple[str, ...], _RUBRIC] = ()
    url: Annotated[str, text("an address", "https://lab.example.org/", site_url)] = ""
    # Pattern of a file beside the hand-written pages -> from when on; None: always.
    attachments: Annotated[_Moments, _ATTACHMENTS] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where values stand in the file, by key

    @property
    def zone(self) -> ZoneInfo:
        """Its time zone."""
        return ZoneInfo(self.time_zone)


COURSE = Record("a course", Course)


def read_course(node: Node, report: Report) -> Course | None:
    """The course that a tree gives; dates are meant in the zone that it names (UTC where that
    can't be told), and there is exactly one way to say how strong gravity is.
    """
    entries = node.entries if isinstance(node, MappingNode) else ()
    zone = ZoneInfo(_NO_ZONE)
    if named := [text_of(value) for key, value in entries if key.text == "time_zone"]:
        with suppress(ZoneInfoNotFoundError, ValueError, OSError):
            zone = ZoneInfo(named[0])
    reading = Reading(report=report, zone=zone)
    course: Course | None = COURSE.read(node, (), reading)
    if course is None:
        return None
    by_place = {"latitude": course.latitude, "height": course.height}
    given = [key for key, quantity in by_place.items() if quantity is not None]
    place = reading.keys[(given[0],)] if given else reading.values[()]
    if course.gravity is not None and given:
        report.refuse(place, "gravity-twice", key=given[0])
    elif course.gravity is None and len(given) < 2:
        found = f"{given[0]} alone" if given else "a course without gravity"
        report.refuse(place, "no-gravity", found=found)
    return replace(course, places=reading.places())
