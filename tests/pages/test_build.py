"""Which pages there are at which moment, what each of them says, and moments in words; whole
addresses and the calendar file, as RFC 5545 has it (from memory): 3.1 CRLF and folds after 75
octets, 3.3.11 escapes, 3.6.1 and 3.8.7.4 a DTSTAMP and a UID of its own.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import hypot, radians, sin
from zoneinfo import ZoneInfo

import pytest

from fallwork.lesson import document, stepfiles
from fallwork.pages import asked, context, made
from fallwork.pages import calendar as dates
from fallwork.pages.build import GENERAL, build_pages
from fallwork.pages.schedule import PRELAB, REPORT, day_in_words, in_words, state
from fallwork.scenario import CourseData, Section, Term, Withdrawal
from pages import history
from pages.history import BASE, DAY, LEVEL, OVER, RUNNING, lab, pages, start

LAB = "2027-spring/level"
OPENING = datetime(2027, 2, 14, 23, tzinfo=UTC)  # 15 February, 00:00 in Berlin
A_SECOND = timedelta(seconds=1)


def built(now: datetime) -> dict[str, str]:
    return pages(BASE, now)


def markdown(there: dict[str, str]) -> list[str]:
    """The pages, without those that only list where a step stands."""
    return [path for path in there if path.endswith(".md") and not path.startswith("step/")]


@pytest.mark.parametrize(
    ("now", "names", "said"),
    [
        (history.BEFORE, "", "coming"),
        (LEVEL.opens - A_SECOND, "", "coming"),
        (LEVEL.opens, "prelab example bench report", "running"),
        (LEVEL.due - A_SECOND, "prelab example bench report", "running"),
        (LEVEL.due, "prelab example bench report", "closed"),
        (OPENING - A_SECOND, "prelab example bench report", "closed"),
        (OPENING, "prelab example bench report solution", "solved"),
    ],
)
def test_each_page_comes_at_its_first_moment(now: datetime, names: str, said: str) -> None:
    there = [f"{LAB}/{name}.md" for name in ("index", *names.split())]
    assert markdown(built(now)) == [
        *("index.md", "2027-spring/index.md"),
        *there,
        *(f"{name}.md" for name in GENERAL),
    ]
    drawn = f"{LAB}/figures/solution-motion.svg" in built(now)
    assert drawn == any("solution" in path for path in built(now)) == ("solution" in names)
    assert any(path.startswith("step/") for path in built(now)) == bool(names)
    assert state(LEVEL, now).value == said


def test_steps_link_to_headings_that_pages_of_the_course_have() -> None:
    files = "".join(path.read_text("utf-8") for path in stepfiles.FOLDER.rglob("*.j2"))
    links = re.findall(r'link\("([\w-]+)#([\w-]+)"', files)
    assert {page for page, _ in links} == {"uncertainty"}
    there = built(RUNNING)
    assert [link for link in links if f"{{#{link[1]}}}" not in there[f"{link[0]}.md"]] == []


def test_the_example_of_an_uncertain_prediction_is_worked_out_right() -> None:
    """By Newton's second law for a cart on a track tilted by θ, and the sum of squares."""
    given = {"m_c": (0.4, 1e-4), "m_h": (0.08, 1e-4), "mu": (0.01, 2e-3), "tilt": (0.0, 0.05)}

    def acceleration(m_c: float, m_h: float, mu: float, tilt: float) -> float:
        return (m_h - mu * m_c - m_c * sin(radians(tilt))) * 9.80 / (m_c + m_h)

    base, page = {key: value for key, (value, _) in given.items()}, built(RUNNING)["uncertainty.md"]
    first, changes = acceleration(**base), []
    for key, (value, u) in given.items():
        found = acceleration(**{**base, key: value + u})
        changes.append(found - first)
        assert f"{found:.4f} | {changes[-1]:.4f}".replace("-", "−") in page, key
    assert f"$u$ = {hypot(*changes):.3f} m/s², so $a$ is {first:.3f}" in page.replace("\u00a0", " ")


def test_a_line_of_steps_told_elsewhere_leads_to_one_page(monkeypatch: pytest.MonkeyPatch) -> None:
    def untold(page: context.LabPage) -> Iterator[asked.Printed]:
        for each in asked.printed(page):
            step = document.Step(id=each.step.id, title=each.step.title, idea=(), blocks=())
            there = (PRELAB, REPORT)[each.number // 3 % 2]
            yield asked.Printed(number=each.number, step=step, argued=there)

    monkeypatch.setattr(made, "printed", untold)
    files = build_pages(BASE, now=OPENING, edition="student")
    page = history.by_path(files)[f"{LAB}/solution.md"]
    lines = re.findall(r'<p class="fw-elsewhere".*?>In the (\w+): (.*?)</p>', page, re.DOTALL)
    assert [name for name, _ in lines[:4]] == ["prelab", "report", "prelab", "report"]
    for name, links in lines:
        assert set(re.findall(r"\]\((\w+)\.md#", links)) == {name}


def test_steps_stand_in_parts_that_the_contents_name() -> None:
    page = built(RUNNING)[f"{LAB}/prelab.md"]
    step = r"<section .*>\n\n<header .*>\n\n\[.*\n\n### .* \{#(.*) \.fw-step\}"
    parts = re.findall(rf"^## (.*) \{{#part-(.*)\}}$\n\n{step}$", page, re.M)
    assert [name for _, name, _ in parts] == [first for _, _, first in parts]
    assert len(parts) > 2
    for title, _, _ in parts:
        assert re.search(rf"\n\n\*\*{re.escape(title)}\*\*\n\n- \d+&ensp;\[", page)


def test_no_number_of_a_step_is_missing_where_some_are_told_elsewhere():
    for name in ("example", "solution"):
        page = built(OVER)[f"{LAB}/{name}.md"]
        numbers = re.findall(r"\[(\d+)(?: of (\d+)\]\(#contents|\.&nbsp;)", page)
        last = next(int(whole) for _, whole in numbers if whole)
        assert [int(number) for number, _ in numbers] == list(range(1, last + 1))


def test_pages_with_numbers_explain_the_guard_digits() -> None:
    there = built(OVER)
    legend = r"Underlined digits, as in \$(\\underline{[\d.]+})"
    for name in ("example", "solution"):
        page = re.sub("{([^{}]*)[\U000f0000-\U000ffffd]}", r"\1", there[f"{LAB}/{name}.md"])
        sample = re.search(legend, page)
        assert sample
        assert f" | ${sample[1]}$ |\n" in page  # it is the value of a symbol of the page
    assert "underline" not in there[f"{LAB}/prelab.md"]


def test_every_figure_on_a_page_is_there_and_every_drawing_is_shown() -> None:
    there = built(OVER)
    shown = [
        f"{path.rpartition('/')[0]}/{source}"
        for path in markdown(there)
        for source in re.findall(r"!\[.+\]\((.+\.svg)\)", there[path])
    ]
    assert sorted(shown) == sorted(path for path in there if path.endswith(".svg"))


def test_coming_events_are_told_soonest_first_across_labs_and_terms() -> None:
    later = replace(LEVEL, id="two", opens=datetime(2027, 2, 13, tzinfo=UTC))
    terms = (Term(id="b", title="B", labs=(later,)), Term(id="a", title="A", labs=(LEVEL,)))
    site = context.Context(replace(BASE, terms=terms), LEVEL.due)
    told = [f"{e.given.lab.id} {e.what}" for e in dates.events(site) if e.at > site.now]
    assert told == ["two opens", "two solution", "level solution"]


def test_a_moment_is_told_in_english_and_in_the_zone_of_the_course() -> None:
    night, noon = (datetime(2026, *at, tzinfo=UTC) for at in ((12, 13, 23, 30), (7, 1, 10, 30)))
    berlin = ZoneInfo("Europe/Berlin")
    assert in_words(night, berlin) == "Monday 14 December 2026, 00:30"
    assert in_words(night, ZoneInfo("America/Los_Angeles")) == "Sunday 13 December 2026, 15:30"
    assert in_words(noon, berlin) == "Wednesday 1 July 2026, 12:30"  # summer time
    for first in (datetime(2026, month, 1, tzinfo=UTC) for month in range(1, 13)):
        assert day_in_words(first, ZoneInfo("UTC")) == f"{first:%A} 1 {first:%B %Y}"


# ---- the calendar

DUE = datetime(2027, 2, 13, 16, tzinfo=UTC)
FRIDAY = Section(
    id="friday", title="Friday, early; or late", opens=start(2), data_opens=None, due=DUE
)
SPRING = history.term("2027-spring", lab("level", start(2), sections={"friday": FRIDAY}))
AUTUMN = history.term("2027-autumn", lab("level", start(9), "533.0 g", title="Ünïcödé " * 12))
PLAIN = history.course(SPRING, AUTUMN)
KNOWN = replace(PLAIN, course=replace(PLAIN.course, url="https://lab.example.org/mechanics"))
ON = start(2) + DAY


def raw(now: datetime = ON, data: CourseData = PLAIN) -> str:
    return pages(data, now)["calendar.ics"]


def events(now: datetime = ON, data: CourseData = PLAIN) -> list[dict[str, str]]:
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
    now, later = ([each["UID"] for each in events(at)] for at in (ON, ON + DAY))
    assert now == later
    assert len(set(now)) == len(now) == 7
    assert "due.friday.level.2027-spring@mechanics-laboratory" in now
    assert all(re.fullmatch(r"\d{8}T\d{6}Z", each["DTSTAMP"]) for each in events())


def test_an_earlier_term_and_a_lab_that_is_taken_down_have_no_more_dates() -> None:
    assert not any("Cart" in each["SUMMARY"] for each in events(start(9) + DAY))
    taken = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
    data = history.in_spring(replace(SPRING.labs[0], withdrawn=taken))
    assert [len(events(at, data)) for at in (ON, taken.at)] == [4, 1]


def test_where_the_site_is_known_events_and_addresses_lead_to_it() -> None:
    assert "URL" not in events()[0]
    assert "dates.md" not in pages(PLAIN, ON)
    base = "https://lab.example.org/mechanics/2027-spring/level/"
    first = next(each for each in events(data=KNOWN) if "Cart" in each["SUMMARY"])
    assert first["URL"] == f"{base}index.html"
    assert first["UID"] == "opens.all.level.2027-spring@lab.example.org.mechanics"
    spring = pages(KNOWN, ON)["dates.md"].replace("&#58;", ":").split("## ")[2]
    found = re.findall(r'<a href="(.*?)">\1</a>', spring)
    assert found == [
        f"{base}{name}.html" for name in ("index", "prelab", "example", "bench", "report")
    ]
