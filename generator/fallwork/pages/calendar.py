"""The dates of the terms that are on, as a calendar file and as a page to copy from.

Takes the context; gives ``calendar.ics`` (RFC 5545) and, where the course says where its site
stands, ``dates.md`` with whole addresses. Only pages that are open are named by their address.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from urllib.parse import urlsplit

from markupsafe import Markup

from fallwork.pages import schedule
from fallwork.pages.context import Context
from fallwork.pages.environment import page
from fallwork.pages.escape import plain
from fallwork.pages.given import GivenLab
from fallwork.pages.meta import UNSEARCHED, course_meta
from fallwork.pages.model import PageFile
from fallwork.pages.schedule import Event
from fallwork.pages.standing import standing

CALENDAR, DATES = "calendar.ics", "dates.md"
_LONGEST_LINE = 75  # octets, RFC 5545, 3.1
_WORDS: Mapping[str, str] = {
    "opens": "Prelab and worked example open",
    "data": "Trials open",
    "due": "Report due",
    "solution": "Solution opens",
}


def calendar_pages(context: Context) -> Iterator[PageFile]:
    """The calendar, and the page with whole addresses if the site's own is known."""
    yield PageFile(path=CALENDAR, content=calendar(context))
    if context.data.course.url:
        yield _dates_page(context)


def calendar_addresses(context: Context) -> Iterator[str]:
    """Where both stand on the site: others subscribe to the one and link to the other."""
    yield CALENDAR
    if context.data.course.url:
        yield f"{DATES.removesuffix('.md')}.html"


def calendar(context: Context) -> str:
    """Every date of the terms that aren't earlier ones, as iCalendar text."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Fallwork//Lab dates//EN",
        f"X-WR-CALNAME:{_text(context.data.course.title)}",
    ]
    for event in _events(context):
        lines += _entry(context, event)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _events(context: Context) -> Iterator[Event]:
    for term in context.terms:
        if not context.is_earlier(term):
            yield from sorted(schedule.events_of(term, context.now), key=lambda event: event.at)


def _entry(context: Context, event: Event) -> Iterator[str]:
    given = GivenLab(term=event.term, lab=event.lab)
    section = event.section.id if event.section else "all"
    yield "BEGIN:VEVENT"
    yield f"UID:{event.what}.{section}.{given.lab.id}.{given.term.id}@{_host(context)}"
    yield f"DTSTAMP:{_utc(event.at)}"
    yield f"DTSTART:{_utc(event.at)}"
    yield f"SUMMARY:{_text(f'{_what(event)}: {given.title}')}"
    if context.data.course.url:
        yield f"URL:{_overview(context, given)}"
    yield "END:VEVENT"


def _host(context: Context) -> str:
    """What tells the events of this course from those of others."""
    url = urlsplit(context.data.course.url)
    if url.hostname:
        return f"{url.hostname}{url.path.rstrip('/').replace('/', '.')}"
    return "-".join(re.findall(r"\w+", context.data.course.title.lower()))


def _what(event: Event) -> str:
    section = f" ({event.section.title})" if event.section else ""
    return f"{_WORDS[event.what]}{section}"


def _overview(context: Context, given: GivenLab) -> str:
    return context.absolute(f"{given.folder}/index.html")


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(words: str) -> str:
    """A value of type TEXT (RFC 5545, 3.3.11)."""
    for sign in ("\\", ";", ","):
        words = words.replace(sign, f"\\{sign}")
    return words.replace("\n", "\\n")


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


def _dates_page(context: Context) -> PageFile:
    title = "Links and dates"
    lines = list(_lines(context))
    return page(
        DATES,
        "dates",
        meta=course_meta(
            context,
            "dates",
            title=title,
            description="Whole addresses and dates of the labs, to copy to another place",
            nav=False,
        )
        | dict(UNSEARCHED),
        title=title,
        course=context.data.course,
        labs=lines,
    )


def _lines(context: Context) -> Iterator[dict[str, object]]:
    for given in context.labs():
        if context.is_earlier(given.term) or schedule.is_withdrawn(given.lab, context.now):
            continue
        events = [
            each for each in schedule.events_of(given.term, context.now) if each.lab is given.lab
        ]
        links = [("Overview", _overview(context, given))]
        links += [
            (there.sub.title, context.absolute(there.address))
            for there in standing(context, given)
            if schedule.is_open(there.sub, given.lab, context.now)
        ]
        yield {
            "title": given.title,
            "term": given.term.title,
            "dates": [
                {"what": _what(each), "at": context.say(each.at)}
                for each in events
                if each.lab is given.lab
            ],
            "links": [{"words": words, "address": _link(address)} for words, address in links],
        }


def _link(address: str) -> Markup:
    """An address that is shown and can be followed."""
    return Markup(f'<a href="{plain(address)}">{plain(address)}</a>')
