"""An address that was given out is never lost without a word."""

from datetime import timedelta
from pathlib import Path

import pytest

from democourse import NOW, Pages, exchange, refusal
from fallwork.pages import Address
from fallwork.scenario import CourseData
from fallwork.site import plugin
from fallwork.site.addresses import Site, record_path
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
    assert {"  - room.html#rules", "  - safety.html#before", "  - term/lab.html#now"} < {*lines}
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
    assert refusal(config_file) == f"{lost}; {REMEDY}"
    pages["term/lab.md"] += '<span id="now"></span>\n'
    publish(config_file, now=NOW)


@pytest.mark.parametrize(
    ("written", "kept"),
    [
        ('<span class="a" id="now"></span>', True),
        ("<span hidden ID = now></span>", True),
        ('<!-- <span id="now"></span> -->', False),
        ("<span title='<b id=\"now\">'></span>", False),
        ("<span id=then title='<b id=\"now\">'></span>", False),
        ('<script>"<b id=now>"</script>', False),
        ('<span data-id="now"></span>', False),
    ],
)
def test_an_anchor_is_one_however_it_is_written_and_what_looks_like_one_is_none(
    tmp_path: Path, written: str, kept: bool
) -> None:
    (tmp_path / "page.html").write_text(f"<body><p>{written}</p></body>", "utf-8")
    assert Site(tmp_path).has("page.html#now") is kept


def test_a_page_that_is_gone_stops_the_build(
    config_file: Path, recorded: Path, pages: Pages
) -> None:
    (config_file.parent / "content" / "room.md").unlink()
    exchange(config_file, "  - room.md\n", "")
    first, *more = refusal(config_file).splitlines()
    assert first == (
        "room.html has been published and would lead nowhere; put the page back; to take down "
        "a lab, give it `withdrawn: {at: …, because: …}`"
    )
    assert more
    assert all(line.startswith("room.html#") for line in more)


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
    told = refusal(config_file)
    assert told.startswith(f"{file} has been published and would lead nowhere; {remedy}")


def test_an_address_that_the_pages_promise_must_be_there_the_first_time_too(
    config_file: Path, pages: Pages, given_out: list[Address]
) -> None:
    given_out.append(Address(path="term/lab.html", anchor="nosuch"))
    assert refusal(config_file).startswith("term/lab.html#nosuch has been published and would")


def test_an_earlier_moment_built_elsewhere_needs_only_what_was_out_by_then(
    config_file: Path, recorded: Path, pages: Pages, given_out: list[Address]
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
    told = refusal(config_file)
    assert told == f"{recorded} is gone, though pages have been published: {GONE}"


def test_a_record_from_which_addresses_are_gone_stops_the_build(
    config_file: Path, recorded: Path
) -> None:
    before = recorded.read_text("utf-8")
    others = before.count("\n  - ") - 1
    for text, left in ((before.replace("  - room.html\n", ""), others), ("", 0)):
        recorded.write_text(text, "utf-8")
        assert refusal(config_file) == (
            f"{recorded} holds {left} addresses, and more than that have been published; restore "
            "it from version control"
        )


def test_a_record_that_was_spoiled_stops_the_build(config_file: Path, recorded: Path) -> None:
    for text in ("{", "[{since: soon, addresses: []}]", "[1]", "[{since: x}]", "[" * 5000):
        recorded.write_text(text, "utf-8")
        assert refusal(config_file) == (
            f"{recorded} is not as the program wrote it; restore it from version control"
        )
