"""How course.yaml is laid out.

Takes nothing; gives the record that reads it into a Course.
"""

import math
import re
from importlib.resources import files
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fallwork.scenario.layout import TITLE
from fallwork.scenario.model import Contact, Course
from fallwork.scenario.quantity import UnreadableError
from fallwork.scenario.records import Field, Items, Record
from fallwork.scenario.report import meant, shown
from fallwork.scenario.shapes import Count, Measure, Text

# Where a site stands: no query, no account, and nothing that means more than itself in HTML.
_ADDRESS = re.compile(r"https?://(?:[\w.-]+|\[[0-9A-Fa-f:.]+\])(?::\d{1,5})?(?:/[\w.~%+,;=:@/-]*)?")
_NO_ZONE = "UTC"  # stands in for a zone that can't be read


def _zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        names = files("tzdata").joinpath("zones").read_text("utf-8").split()
        raise UnreadableError(
            f"unknown time zone {shown(text)}",
            meant(text, names, "write an IANA name, e.g. Europe/Zurich"),
        ) from None
    return text


def site_url(text: str) -> str:
    """The address of a site, if it is one; raises UnreadableError."""
    if _ADDRESS.fullmatch(text):
        return text
    raise UnreadableError(
        f"{shown(text)} is not the address of a site", "write e.g. https://lab.example.org/"
    )


def _course(*, significant_figures: int = 3, **values: Any) -> Course:
    return Course(significant_figures=significant_figures, **values)


CONTACT = Record(
    what="a contact",
    make=Contact,
    fields={
        "who": Field(
            shape=Text(what="a role or office", example="the lab office"),
            says="A role or office, not a person",
            required=True,
        ),
        "how": Field(
            shape=Text(what="a way to reach it", example="room 114"),
            says="How it is reached",
            required=True,
        ),
    },
)

COURSE = Record(
    what="a course",
    make=_course,
    fields={
        "title": Field(shape=TITLE, says="What the pages call the course", required=True),
        "gravity": Field(
            shape=Measure(kind="acceleration", above=0, bound="it must be more than zero"),
            says="Local acceleration of free fall; otherwise give latitude and height",
        ),
        "latitude": Field(
            shape=Measure(
                kind="angle",
                at_least=-math.pi / 2,
                at_most=math.pi / 2,
                bound="a latitude must lie between −90 and 90 deg",
            ),
            says="Geographic latitude of the lab, north positive",
        ),
        "height": Field(
            shape=Measure(
                kind="length",
                at_least=-500,
                at_most=9000,
                bound="it must lie between −500 and 9000 m",
            ),
            says="Height of the lab above sea level",
        ),
        "time_zone": Field(
            shape=Text(what="a time zone", example="Europe/Zurich", check=_zone, stand_in=_NO_ZONE),
            says="The IANA name of the time zone in which all dates are meant",
            required=True,
        ),
        "significant_figures": Field(
            shape=Count(
                what="the number of significant figures", at_least=2, at_most=6, stand_in=3
            ),
            says="To how many significant figures results are given; 3 if left out",
        ),
        "contact": Field(shape=CONTACT, says="Whom to call when something goes wrong in the lab"),
        "rubric": Field(
            shape=Items(
                what="the rubric",
                example="[Sketch and forces complete, Units everywhere]",
                item=Text(what="a sentence", example="Units everywhere"),
            ),
            says="How a report is judged",
        ),
        "url": Field(
            shape=Text(what="an address", example="https://lab.example.org/", check=site_url),
            says="Where the site will stand, if known",
        ),
    },
)
