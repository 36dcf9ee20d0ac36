"""An address that was given out is never lost without a word."""

from datetime import timedelta
from pathlib import Path

import pytest

from democourse import NOW, Pages, bytes_below, exchange
from fallwork.pages import Address
from fallwork.scenario import CourseData
from fallwork.site import plugin
from fallwork.site.addresses import Batch, extended, read_record, record_path, record_text
from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish

DAY = timedelta(days=1)
REMEDY = (
    "declare the step under former_steps in its scenario, or leave "
    '<span id="now"></span> where a heading of your own stood'
)
GONE = "without it nobody knows which addresses must be kept; restore it from version control"


@pytest.fixture
def given_out(monkeypatch: pytest.MonkeyPatch) -> list[Address]:
    """The addresses that the course's pages give out: may be changed by a test."""
    given = [Address(path="index.html"), Address(path="term/lab.html", anchor="now")]
    monkeypatch.setattr(plugin, "course_addresses", lambda data, now, known: tuple(given))
    return given


@pytest.fixture
def recorded(config_file: Path, pages: Pages, given_out: list[Address]) -> Path:
    """A course that has been published once."""
    publish(config_file, now=NOW)
    return record_path(config_file.parent / "site-data")


def refused(config_file: Path) -> str:
    before = bytes_below(config_file.parent)
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    assert bytes_below(config_file.parent) == before
    return str(caught.value)


def later(pages: Pages, given_out: list[Address]) -> None:
    pages["term/lab.md"] += "\n## Later {#later}\n"
    given_out.append(Address(path="term/lab.html", anchor="later"))


def test_the_record_holds_all_addresses_and_grows_below(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[Address]
) -> None:
    before = recorded.read_text("utf-8")
    lines = before.splitlines()
    since = ["- since: '2027-03-01T12:00:00+00:00'", "  addresses:"]
    assert lines[2:6] == [*since, "  - index.html", "  - reading.html"]
    assert {"  - reading.html#digits", "  - term/lab.html#now"} < {*lines}
    publish(config_file, now=NOW + DAY)
    assert recorded.read_text("utf-8") == before
    later(pages, given_out)
    publish(config_file, now=NOW + DAY)
    assert recorded.read_text("utf-8") == before + (
        "- since: '2027-03-02T12:00:00+00:00'\n  addresses:\n  - term/lab.html#later\n"
    )


def test_a_step_that_is_gone_stops_the_build_unless_an_anchor_keeps_its_place(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[Address]
) -> None:
    pages["index.md"] = pages["index.md"].replace("#now", "#then")
    pages["term/lab.md"] = pages["term/lab.md"].replace("#now", "#then")
    given_out[1] = Address(path="term/lab.html", anchor="then")
    lost = "term/lab.html#now has been published and would lead nowhere"
    assert refused(config_file) == f"{lost}; {REMEDY}"
    pages["term/lab.md"] += '<span id="now"></span>\n'
    publish(config_file, now=NOW)


def test_a_page_that_is_gone_stops_the_build(
    config_file: Path, recorded: Path, pages: Pages
) -> None:
    (config_file.parent / "content" / "safety.md").unlink()
    exchange(config_file, "  - safety.md\n", "")
    first, *more = refused(config_file).splitlines()
    assert first == (
        "safety.html has been published and would lead nowhere; put the page back; to take down "
        "a lab, give it `withdrawn: {at: …, because: …}`"
    )
    assert more
    assert all(line.startswith("safety.html#") for line in more)


@pytest.mark.parametrize(
    ("file", "remedy"),
    [
        ("calendar.ics", "put the page back; to take down a lab, give it `withdrawn: {at: …, "),
        ("dates.html", "put `url` back into course.yaml: the page holds whole addresses"),
    ],
)
def test_a_calendar_and_a_page_of_dates_that_were_given_out_are_not_lost(
    config_file: Path, pages: Pages, given_out: list[Address], file: str, remedy: str
) -> None:
    source = file.replace("html", "md")
    pages[source] = "BEGIN:VCALENDAR\r\n" if source == file else "---\ntitle: Dates\n---\n# Dates\n"
    given_out.append(Address(path=file))
    publish(config_file, now=NOW)
    del pages[source], given_out[-1]
    told = refused(config_file)
    assert told.startswith(f"{file} has been published and would lead nowhere; {remedy}")


def test_an_address_that_the_pages_promise_must_be_there_the_first_time_too(
    config_file: Path, pages: Pages, given_out: list[Address]
) -> None:
    given_out.append(Address(path="term/lab.html", anchor="nosuch"))
    assert refused(config_file).startswith("term/lab.html#nosuch has been published and would")


def test_an_earlier_moment_built_elsewhere_needs_only_what_was_out_by_then(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[Address]
) -> None:
    before = pages["term/lab.md"]
    later(pages, given_out)
    publish(config_file, now=NOW + DAY)
    pages["term/lab.md"] = before
    del given_out[-1]
    publish(config_file, now=NOW + DAY, as_of=NOW, to=config_file.parent / "before")
    first, second = refused(config_file).splitlines()
    assert first == (
        "students have already seen the site as of 2027-03-02T12:00+00:00, and this build shows an "
        "earlier moment: see that the clock is right, or name another folder with --to"
    )
    assert second.startswith("term/lab.html#later has been published")


@pytest.mark.parametrize("lab_alone", [False, True])  # only a lab's record tells that there was one
def test_a_record_that_was_deleted_stops_the_build(
    config_file: Path, recorded: Path, monkeypatch: pytest.MonkeyPatch, lab_alone: bool
) -> None:
    recorded.unlink()
    if lab_alone:
        (config_file.parent / "site/.fallwork").write_text("student\n")
        root, course = config_file.parent / "site-data", plugin.load_course(recorded).course
        known = {("term", "lab"): None}
        data = CourseData(root=root, course=course, scenarios={}, published=known)  # type: ignore[arg-type]
        monkeypatch.setattr(plugin, "load_course", lambda root: data)
    told = refused(config_file)
    assert told == f"{recorded} is gone, though pages have been published: {GONE}"


def test_a_record_from_which_addresses_are_gone_stops_the_build(
    config_file: Path, recorded: Path
) -> None:
    before = recorded.read_text("utf-8")
    for text, left in ((before.replace("  - reading.html\n", ""), "12"), ("", "0")):
        recorded.write_text(text, "utf-8")
        assert refused(config_file) == (
            f"{recorded} holds {left} addresses, and more than that have been published; restore "
            "it from version control"
        )


def test_a_record_that_was_spoiled_stops_the_build(config_file: Path, recorded: Path) -> None:
    for text in ("{", "[{since: soon, addresses: []}]", "[1]", "[{since: x}]", "[" * 5000):
        recorded.write_text(text, "utf-8")
        assert refused(config_file) == (
            f"{recorded} is not as the program wrote it; restore it from version control"
        )


def test_the_record_reads_as_it_was_written(pages: Pages, tmp_path: Path) -> None:
    record = extended((), ["b.html", "a.html#ü", "a.html"], NOW)
    assert record == (Batch(since=NOW, addresses=("a.html", "a.html#ü", "b.html")),)
    record_path(tmp_path).parent.mkdir()
    record_path(tmp_path).write_text(record_text(record), "utf-8")
    assert read_record(plugin.load_course(tmp_path)) == record


def test_the_staff_edition_is_not_on_record(config_file: Path, pages: Pages) -> None:
    publish(config_file, edition="staff", now=NOW)
    assert not record_path(config_file.parent / "site-data").exists()
