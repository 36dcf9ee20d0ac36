"""An address that was given out is never lost without a word."""

import re
from datetime import timedelta
from pathlib import Path

import pytest

from democourse import NOW, Pages, exchange, refusal
from fallwork.scenario import CourseData
from fallwork.site import plugin
from fallwork.site.addresses import record_path
from fallwork.site.publication import publish

DAY = timedelta(days=1)
REMEDY = (
    "declare the step under former_steps in its scenario, or leave "
    '<span id="now"></span> where a heading of your own stood'
)


@pytest.fixture
def given_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The addresses that the course's pages give out: may be changed by a test."""
    given = ["index.html", "term/lab.html#now"]
    monkeypatch.setattr(plugin.pages, "addresses", lambda data, now, known: tuple(given))
    return given


@pytest.fixture
def recorded(config_file: Path, pages: Pages, given_out: list[str]) -> Path:
    """A course that has been published once."""
    publish(config_file, now=NOW)
    return record_path(config_file.parent / "site-data")


def later(pages: Pages, given_out: list[str]) -> None:
    pages["term/lab.md"] += "\n## Later {#later}\n"
    given_out.append("term/lab.html#later")


def test_the_record_holds_all_addresses_and_grows_below(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[str]
) -> None:
    before = recorded.read_text("utf-8")
    lines = before.splitlines()
    since = ["- since: '2027-03-01T12:00:00+00:00'", "  addresses:"]
    assert lines[2:6] == [*since, "  - index.html", "  - reading.html"]
    assert {"  - room.html#rules", "  - safety.html#before", "  - term/lab.html#now"} < {*lines}
    publish(config_file, now=NOW + DAY)
    assert recorded.read_text("utf-8") == before
    later(pages, given_out)
    publish(config_file, now=NOW + DAY)
    assert recorded.read_text("utf-8") == before + (
        "- since: '2027-03-02T12:00:00+00:00'\n  addresses:\n  - term/lab.html#later\n"
    )


def test_a_step_that_is_gone_stops_the_build_unless_an_anchor_keeps_its_place(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[str]
) -> None:
    pages["index.md"] = pages["index.md"].replace("#now", "#then")
    pages["term/lab.md"] = pages["term/lab.md"].replace("#now", "#then")
    given_out[1] = "term/lab.html#then"
    lost = "term/lab.html#now has been published and would lead nowhere"
    assert refusal(config_file) == f"{lost}; {REMEDY}"
    pages["term/lab.md"] += '<!-- <span id="now"></span> --><span title="<i id=\'now\'>"></span>\n'
    assert refusal(config_file) == f"{lost}; {REMEDY}"
    pages["term/lab.md"] += "<span hidden ID = now></span>\n"
    publish(config_file, now=NOW)


def test_headings_of_pages_of_ones_own_are_kept_however_they_are_written(
    config_file: Path, pages: Pages
) -> None:
    exchange(config_file, "permalink: false", "toc_depth: 3")
    room = config_file.parent / "content/room.md"
    before = room.read_text("utf-8")
    room.write_text(f'{before}\n<h2 id="own">Own</h2>\n\n#### Deep down {{#deep}}\n', "utf-8")
    publish(config_file, now=NOW)
    record = record_path(config_file.parent / "site-data")
    room.write_text(before, "utf-8")
    told = refusal(config_file).splitlines()
    assert [line.partition(" has been published")[0] for line in told] == [
        "room.html#deep",
        "room.html#own",
    ]
    exchange(config_file, "  - room.md\n", "")
    room.unlink()
    ids = re.findall(r" - room\.html#(\S+)", record.read_text("utf-8"))
    kept = "".join(f'<p id="{each}"></p>' for each in ids)
    room.with_suffix(".html").write_text(f"<!doctype html>\n<title>Room</title>{kept}", "utf-8")
    publish(config_file, now=NOW)


@pytest.mark.parametrize(
    ("file", "remedy"),
    [
        ("calendar.ics", "put the page back; to take down a lab, give it `withdrawn: {at: …, "),
        ("dates.html", "put `url` back into course.yaml: the page holds whole addresses"),
    ],
)
def test_a_calendar_and_a_page_of_dates_that_were_given_out_are_not_lost(
    config_file: Path, pages: Pages, given_out: list[str], file: str, remedy: str
) -> None:
    source = file.replace("html", "md")
    pages[source] = "BEGIN:VCALENDAR\r\n" if source == file else "---\ntitle: Dates\n---\n# Dates\n"
    given_out.append(file)
    publish(config_file, now=NOW)
    del pages[source], given_out[-1]
    told = refusal(config_file)
    assert told.startswith(f"{file} has been published and would lead nowhere; {remedy}")


def test_an_address_that_the_pages_promise_must_be_there_the_first_time_too(
    config_file: Path, pages: Pages, given_out: list[str]
) -> None:
    given_out.append("term/lab.html#nosuch")
    assert refusal(config_file).startswith("term/lab.html#nosuch has been published and would")


def test_an_earlier_moment_built_elsewhere_needs_only_what_was_out_by_then(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[str]
) -> None:
    before = pages["term/lab.md"]
    later(pages, given_out)
    publish(config_file, now=NOW + DAY)
    pages["term/lab.md"] = before
    del given_out[-1]
    publish(config_file, now=NOW + DAY, as_of=NOW, to=config_file.parent / "before")
    first, second = refusal(config_file).splitlines()
    assert first == (
        "students have already seen the site as of 2027-03-02T12:00+00:00, and this build shows an "
        "earlier moment: see that the clock is right, or name another folder with --to"
    )
    assert second.startswith("term/lab.html#later has been published")


def test_a_record_of_which_only_that_of_a_lab_is_left_stops_the_build(
    config_file: Path, recorded: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recorded.unlink()
    (config_file.parent / "site/.fallwork").write_text("student\n")
    root, course = config_file.parent / "site-data", plugin.load_course(recorded).course
    known = {("term", "lab"): None}
    data = CourseData(root=root, course=course, scenarios={}, published=known)  # type: ignore[arg-type]
    monkeypatch.setattr(plugin, "load_course", lambda root: data)
    assert refusal(config_file).startswith(f"{recorded} is gone, though pages have been published:")


def test_a_record_that_was_spoiled_stops_the_build(config_file: Path, recorded: Path) -> None:
    for text in ("{", "[{since: soon, addresses: []}]", "[1]", "[{since: x}]", "[" * 5000):
        recorded.write_text(text, "utf-8")
        assert refusal(config_file) == (
            f"{recorded} is not as the program wrote it; restore it from version control"
        )
