"""The dates of labs; those of the terms that are on as a calendar file and as a page to copy from.

Takes the context; gives dates, ``calendar.ics`` (RFC 5545) and, where the course says where its
site stands, ``dates.md`` with whole addresses. Only pages that are open are named by their address.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from itertools import chain
from urllib.parse import urlsplit

from fallwork.errors import table
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.markdown import PageFile
from fallwork.scenario import Section, Term

_LONGEST_LINE = 75  # octets, RFC 5545, 3.1


@dataclass(frozen=True)
class Event:
    """A date of a lab."""

    at: datetime
    what: str  # "opens", "data", "due" or "solution"
    given: GivenLab
    section: Section | None = None  # that it is for; None: for everybody else, or all


def events(site: Context, term: Term | None = None) -> list[Event]:
    """Every date, soonest first; at one moment in the order of files."""
    found = chain.from_iterable(map(events_of, site.labs(term)))
    return sorted(found, key=lambda event: event.at)


def events_of(given: GivenLab) -> Iterator[Event]:
    """A lab's dates; one that has been taken down has no more of them than it had had."""
    lab, now = given.lab, given.site.now
    later = [section for section in lab.sections.values() if section.due != lab.due]
    dates: list[tuple[datetime | None, str, Section | None]] = [
        (lab.opens_first, "opens", None),
        (lab.data_opens_last, "data", None),
        (lab.due, "due", None),
        *((section.due, "due", section) for section in later),
        (lab.solution_opens, "solution", None),
    ]
    for at, what, section in dates:
        if at and (lab.withdrawn is None or min(now, at) < lab.withdrawn.at):
            yield Event(at, what, given, section)


def this_week(site: Context, term: Term) -> list[Event]:
    """The dates of a term's labs from Monday to Sunday of this week."""
    zone = site.data.course.zone
    today = site.now.astimezone(zone).date()
    monday = datetime.combine(today - timedelta(days=today.weekday()), time(), zone)
    return [e for e in events(site, term) if monday <= e.at < monday + timedelta(days=7)]


def dates_page(site: Context) -> PageFile:
    """Each lab that is on, with its dates and its pages that are open to students."""
    about = "Whole addresses and dates of the labs, to copy to another place"
    front = {"title": "Links and dates", "description": about}
    on = (given for given in site.labs() if not given.earlier and not given.withdrawn)
    labs = [(given, list(events_of(given))) for given in on]
    return site.page("dates.md", "dates", front, searched=False, labs=labs, words=_what)


def calendar(site: Context) -> str:
    """Every date of the terms that aren't earlier ones, as iCalendar text."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Fallwork//Lab dates//EN",
        f"X-WR-CALNAME:{_text(site.data.course.title)}",
    ]
    url = urlsplit(site.data.course.url)  # tells the events of this course from those of others
    words = "-".join(re.findall(r"\w+", site.data.course.title.lower()))
    host = f"{url.hostname}{url.path.rstrip('/').replace('/', '.')}" if url.hostname else words
    on = (term for term in site.terms if not site.is_earlier(term))
    for event in (event for term in on for event in events(site, term)):
        given, section = event.given, event.section.id if event.section else "all"
        at, to = f"{event.at.astimezone(UTC):%Y%m%dT%H%M%SZ}", f"{given.folder}/index.html"
        lines += [
            "BEGIN:VEVENT",
            f"UID:{event.what}.{section}.{given.lab.id}.{given.term.id}@{host}",
            f"DTSTAMP:{at}",
            f"DTSTART:{at}",
            f"SUMMARY:{_text(f'{_what(event)}: {given.title}')}",
            *([f"URL:{site.absolute(to)}"] if site.data.course.url else []),
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _what(event: Event) -> str:
    section = f" ({event.section.title})" if event.section else ""
    return f"{table('pages', 'words')['dates'][event.what]}{section}"


def _text(words: str) -> str:
    """A value of type TEXT (RFC 5545, 3.3.11)."""
    return re.sub(r"([\\;,])", r"\\\1", words).replace("\n", "\\n")


def _folded(line: str) -> Iterator[str]:
    """A line as several, each but the first after a blank, none too long and no letter cut."""
    start, size = "", 0
    for sign in line:
        octets = len(sign.encode("utf-8"))
        if size + octets > _LONGEST_LINE:
            yield start
            start, size = " ", 1
        start, size = start + sign, size + octets
    yield start
