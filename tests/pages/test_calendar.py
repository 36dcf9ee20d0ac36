"""The calendar file and the page of whole addresses.

What a calendar file has to look like is RFC 5545, Internet Calendaring and Scheduling (from
memory): 3.1 content lines end in CRLF and are folded after 75 octets, 3.3.11 escapes in text,
3.6.1 an event has a UID and a DTSTAMP, 3.8.7.4 a UID is unique.
"""

import re
from dataclasses import replace
from datetime import UTC, datetime

from fallwork.scenario import CourseData, Section, Withdrawal
from pages.history import DAY, course, in_spring, lab, pages, start, term

DUE = datetime(2027, 2, 13, 16, tzinfo=UTC)
FRIDAY = Section(
    id="friday", title="Friday, early; or late", opens=start(2), data_opens=None, due=DUE
)
SPRING = term("2027-spring", lab("level", start(2), sections={"friday": FRIDAY}))
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g", title="Ünïcödé " * 12))
PLAIN = course(SPRING, AUTUMN)
KNOWN = replace(PLAIN, course=replace(PLAIN.course, url="https://lab.example.org/mechanics"))
RUNNING = start(2) + DAY


def raw(now: datetime = RUNNING, data: CourseData = PLAIN) -> str:
    return pages(data, now)["calendar.ics"]


def events(now: datetime = RUNNING, data: CourseData = PLAIN) -> list[dict[str, str]]:
    """The events as a calendar reads them: unfolded, name and value apart."""
    text = re.sub("\r\n[ \t]", "", raw(now, data))
    blocks = re.findall("BEGIN:VEVENT\r\n(.*?)END:VEVENT\r\n", text, re.DOTALL)
    return [dict(line.split(":", 1) for line in block.split("\r\n")[:-1]) for block in blocks]


def test_the_file_is_one_calendar_of_lines_that_end_in_crlf_none_too_long() -> None:
    *lines, last = raw().split("\r\n")
    assert last == ""
    assert lines[:2] == ["BEGIN:VCALENDAR", "VERSION:2.0"]
    assert lines[-1] == "END:VCALENDAR"
    assert "\n" not in "".join(lines)
    assert max(len(line.encode("utf-8")) for line in lines) <= 75
    assert any(line.startswith(" ") for line in lines)  # something had to be folded


def test_every_date_is_an_event_in_universal_time() -> None:
    level = [each for each in events() if "Cart" in each["SUMMARY"]]
    assert [(each["DTSTART"], each["SUMMARY"].split(":")[0]) for each in level] == [
        ("20270201T000000Z", "Prelab and worked example open"),
        ("20270212T000000Z", "Report due"),
        ("20270213T160000Z", r"Report due (Friday\, early\; or late)"),
        ("20270215T000000Z", "Solution opens"),
    ]


def test_every_event_has_a_uid_of_its_own_that_stays_and_a_time_stamp() -> None:
    now, later = ([each["UID"] for each in events(at)] for at in (RUNNING, RUNNING + DAY))
    assert now == later
    assert len(set(now)) == len(now) == 7
    assert "due.friday.level.2027-spring@mechanics-laboratory" in now
    assert all(re.fullmatch(r"\d{8}T\d{6}Z", each["DTSTAMP"]) for each in events())


def test_an_earlier_term_and_a_lab_that_is_taken_down_have_no_more_dates() -> None:
    assert not any("Cart" in each["SUMMARY"] for each in events(start(9) + DAY))
    taken = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
    data = in_spring(replace(SPRING.labs[0], withdrawn=taken))
    assert [len(events(at, data)) for at in (RUNNING, taken.at)] == [4, 1]


def test_where_the_site_is_known_events_and_addresses_lead_to_it() -> None:
    assert "URL" not in events()[0]
    assert "dates.md" not in pages(PLAIN, RUNNING)
    base = "https://lab.example.org/mechanics/2027-spring/level/"
    first = next(each for each in events(data=KNOWN) if "Cart" in each["SUMMARY"])
    assert first["URL"] == f"{base}index.html"
    assert first["UID"] == "opens.all.level.2027-spring@lab.example.org.mechanics"
    spring = pages(KNOWN, RUNNING)["dates.md"].replace("&#58;", ":").split("## ")[2]
    found = re.findall(r'<a href="(.*?)">\1</a>', spring)
    assert found == [
        f"{base}{name}.html" for name in ("index", "prelab", "example", "bench", "report")
    ]
