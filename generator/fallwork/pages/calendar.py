"""The dates of the terms that are on, as a calendar file and as a page to copy from.

Takes the context; gives ``calendar.ics`` (RFC 5545) and, where the course says where its site
stands, ``dates.md`` with whole addresses. Only pages that are open are named by their address.
"""

import re
from collections.abc import Iterator
from datetime import UTC
from urllib.parse import urlsplit

from fallwork.errors import table
from fallwork.pages import schedule
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.markdown import PageFile
from fallwork.pages.schedule import Event

_LONGEST_LINE = 75  # octets, RFC 5545, 3.1


def dates_page(site: Context) -> PageFile:
    """Each lab that is on, with its dates and its pages that are open to students."""
    about = "Whole addresses and dates of the labs, to copy to another place"
    front = {"title": "Links and dates", "description": about}
    on = [given for given in site.labs() if not given.earlier and not given.withdrawn]
    dates = ((schedule.events_of(given.term, site.now), given) for given in on)
    labs = [(given, [each for each in events if each.lab is given.lab]) for events, given in dates]
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
    for term in (each for each in site.terms if not site.is_earlier(each)):
        for event in sorted(schedule.events_of(term, site.now), key=lambda event: event.at):
            given = GivenLab(term=event.term, lab=event.lab, site=site)
            section = event.section.id if event.section else "all"
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
