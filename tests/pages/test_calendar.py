"""The calendar file and the page of whole addresses.

What a calendar file has to look like is RFC 5545, Internet Calendaring and Scheduling (from
memory): 3.1 content lines end in CRLF and are folded after 75 octets, 3.3.11 escapes in text,
3.6.1 an event has a UID and a DTSTAMP, 3.8.7.4 a UID is unique.
"""

import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from fallwork.scenario import Section, Withdrawal
from pages.history import DAY, course, lab, pages, start, term

DUE = datetime(2027, 2, 13, 16, tzinfo=UTC)
FRIDAY = Section(
    id="friday", title="Friday, early; or late", opens=start(2), data_opens=None, due=DUE
)
SPRING = term("2027-spring", lab("level", start(2), sections={"friday": FRIDAY}))
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g", title="Ünïcödé " * 12))
PLAIN = course(SPRING, AUTUMN)
KNOWN = replace(PLAIN, course=replace(PLAIN.course, url="https://lab.example.org/mechanics"))
RUNNING = start(2) + DAY


def raw(now: datetime = RUNNING) -> str:
    return pages(PLAIN, now)["calendar.ics"]


def events(now: datetime = RUNNING) -> list[dict[str, str]]:
    """The events as a calendar reads them: unfolded, name and value apart."""
    text = re.sub("\r\n[ \t]", "", raw(now))
    blocks = re.findall("BEGIN:VEVENT\r\n(.*?)END:VEVENT\r\n", text, re.DOTALL)
    return [dict(line.split(":", 1) for line in block.split("\r\n")[:-1]) for block in blocks]


def test_every_line_ends_in_crlf_and_none_is_too_long() -> None:
    lines = raw().split("\r\n")
    assert lines[-1] == ""
    assert "\n" not in "".join(lines)
    assert max(len(line.encode("utf-8")) for line in lines) <= 75
    assert any(line.startswith(" ") for line in lines)  # something had to be folded


def test_the_file_is_one_calendar() -> None:
    lines = raw().split("\r\n")
    assert lines[:2] == ["BEGIN:VCALENDAR", "VERSION:2.0"]
    assert lines[-2] == "END:VCALENDAR"


def test_every_date_is_an_event_in_universal_time() -> None:
    level = [each for each in events() if "Cart" in each["SUMMARY"]]
    assert [(each["DTSTART"], each["SUMMARY"].split(":")[0]) for each in level] == [
        ("20270201T000000Z", "Prelab and worked example open"),
        ("20270212T000000Z", "Report due"),
        ("20270213T160000Z", r"Report due (Friday\, early\; or late)"),
        ("20270215T000000Z", "Solution opens"),
    ]


def test_every_event_has_a_uid_of_its_own_that_stays() -> None:
    now, later = ([each["UID"] for each in events(at)] for at in (RUNNING, RUNNING + DAY))
    assert now == later
    assert len(set(now)) == len(now) == 7


def test_the_uid_names_the_date_and_the_site() -> None:
    assert "due.friday.level.2027-spring@mechanics-laboratory" in [one["UID"] for one in events()]
    text = pages(KNOWN, RUNNING)["calendar.ics"].replace("\r\n ", "")
    assert "UID:due.friday.level.2027-spring@lab.example.org.mechanics\r\n" in text


def test_every_event_has_a_time_stamp() -> None:
    assert all(re.fullmatch(r"\d{8}T\d{6}Z", each["DTSTAMP"]) for each in events())


def test_an_earlier_term_is_not_in_the_calendar() -> None:
    assert not any("Cart" in each["SUMMARY"] for each in events(start(9) + DAY))


def test_a_lab_that_is_taken_down_has_no_more_dates() -> None:
    taken = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
    data = course(replace(SPRING, labs=(replace(SPRING.labs[0], withdrawn=taken),)))
    counts = [pages(data, at)["calendar.ics"].count("BEGIN:VEVENT") for at in (RUNNING, taken.at)]
    assert counts == [4, 1]


def test_events_lead_to_the_site_where_it_is_known() -> None:
    assert "URL" not in events()[0]
    text = pages(KNOWN, RUNNING)["calendar.ics"].replace("\r\n ", "")
    assert "URL:https://lab.example.org/mechanics/2027-spring/level/index.html\r\n" in text


def test_whole_addresses_are_given_only_where_the_site_is_known() -> None:
    assert "dates.md" not in pages(PLAIN, RUNNING)
    assert "[whole addresses and dates to copy](dates.md)" in pages(KNOWN, RUNNING)["index.md"]


def test_whole_addresses_are_those_of_open_pages() -> None:
    page = pages(KNOWN, RUNNING)["dates.md"].replace("&#58;", ":")
    spring = page.split("## ")[2]
    found = re.findall(r'<a href="(.*?)">\1</a>', spring)
    base = "https://lab.example.org/mechanics/2027-spring/level/"
    names = ("index", "prelab", "example", "report")
    assert found == [f"{base}{name}.html" for name in names]


@pytest.mark.parametrize("line", ["- Report due: Friday 12 February 2027, 01:00\n"])
def test_dates_stand_beside_the_addresses(line: str) -> None:
    assert line in pages(KNOWN, RUNNING)["dates.md"]


def test_home_links_the_calendar() -> None:
    assert "All dates: [calendar file](calendar.ics)\n" in pages(PLAIN, RUNNING)["index.md"]
