"""A site is published whole or not at all; no address is lost; attachments open in time."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from lxml import etree

from democourse import NOW, Pages, bytes_below, exchange, refusal
from fallwork import errors, scenario
from fallwork.pages.build import GENERAL
from fallwork.scenario.quantity import parse_quantity
from fallwork.site import addresses, plugin
from fallwork.site import files as site_files
from fallwork.site.publication import publish, refused_ahead

DAY = timedelta(days=1)
GRAVITY = parse_quantity("9.81 m/s²", "acceleration")
WEIGHTS = scenario.Course(title="Falling weights", time_zone="Europe/Zurich", gravity=GRAVITY)
FILE = Path("course.yaml")
SOON = datetime(2027, 2, 1, 12, tzinfo=UTC)
OPENS = datetime(2027, 2, 8, tzinfo=UTC)
PHOTOS = ("photos/bench.png", "photos/floor.png")
DECLARED = {"*a*": OPENS, "photos/*": None, "photos/bench.png": OPENS}  # *a*: no page for all that
SHOWN = ["hand out.pdf", "hand%20out.pdf#page=2", *PHOTOS, *PHOTOS]
NO_TEXT = "it is no text, so nobody can read it for answers"
LATER = "(opens on Monday 8 February 2027, 01:00)"


@pytest.fixture
def at_home(config_file, pages, monkeypatch) -> None:
    """The course knows where its site stands."""
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url="https://example.org/mechanics/")
    pages["dates.md"] = "# Links and dates\n"
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))


def test_the_pages_of_the_course_and_those_written_by_hand_are_built(config_file, pages):
    result = publish(config_file, now=NOW)
    assert result.site == config_file.parent / "site"
    assert result.pages == 3 + len(GENERAL)
    for page in ("index.html", "term/lab.html", "room.html", "safety.html"):
        text = (result.site / page).read_text()
        assert " - Falling weights</title>" in text
        assert "Questions? Ask the office, on &lt;floor 3&gt;." in text
    for name in ("404.html", "sitemap.xml"):  # they would have to know where the site stands
        assert not (result.site / name).exists()
    names = sorted(path.name for path in config_file.parent.iterdir())
    assert names == ["content", "mkdocs.yml", "site", "site-data"]
    assert staff_address(publish(config_file, edition="staff", now=NOW).site) == ["room.html"]


def staff_address(site: Path) -> list[str]:
    page = (site / "room.html").read_text("utf-8")
    return re.findall(r'name="fw-address" content="(.*?)"', page)


@pytest.mark.parametrize("nav", ["- room.md", "- safety.md\n  - room.md"])
def test_a_page_of_the_author_takes_the_place_of_a_general_one(nav, config_file, pages):
    (config_file.parent / "content/safety.md").write_text("# Our rules\n\nAsk first.\n", "utf-8")
    exchange(config_file, "- room.md", nav)
    site = publish(config_file, now=NOW).site
    assert "Ask first." in (site / "safety.html").read_text("utf-8")
    foot = (site / "index.html").read_text("utf-8").partition('<nav aria-label="Site">')[2]
    links = re.findall(r'href="([^"]+)"[^>]*>([^<]+)', foot)
    assert [title for page, title in links if page == "safety.html"] == ["Our rules"]
    assert links[-1] == ("room.html", "The lab room")


def test_a_site_that_knows_its_address_says_so(config_file, at_home):
    site = publish(config_file, now=NOW).site
    assert 'href="/mechanics/assets/fallwork/text.css"' in (site / "404.html").read_text()
    assert staff_address(site) == []
    staff = publish(config_file, edition="staff", now=NOW).site
    assert staff_address(staff) == ["https://example.org/mechanics/room.html"]


def test_a_record_behind_a_link_stays_where_it_is(config_file, pages, tmp_path_factory):
    kept = tmp_path_factory.mktemp("kept") / "record"
    record = config_file.parent / "site-data/published"
    record.symlink_to(kept)
    page = config_file.parent / "content/room.md"
    for heading in ("One", "Two"):
        page.write_text(f"{page.read_text('utf-8')}\n## {heading}\n", "utf-8")
        publish(config_file, now=NOW)
    assert record.is_symlink()
    assert "room.html#two" in (kept / "addresses.yaml").read_text("utf-8")
    there = [path.name for path in (*kept.parent.iterdir(), *record.parent.iterdir())]
    assert there == ["record", "published"]


def test_hidden_files_that_servers_ask_for_go_along(content):
    asked = {".nojekyll", ".htaccess", ".well-known/security.txt"}
    for name in (*asked, ".git/config", ".notes"):
        (content / name).parent.mkdir(exist_ok=True)
        (content / name).write_text("a")
    for _ in range(2):
        site = publish(content.parent / "mkdocs.yml", now=NOW).site
    assert {name for name in bytes_below(site) if name.startswith(".")} == {*asked, ".fallwork"}


def test_the_staff_edition_stands_beside_it_and_says_so_on_every_page(config_file, published):
    before = bytes_below(published)
    staff = publish(config_file, edition="staff", now=NOW).site
    assert staff == published.with_name("site-staff")
    pages = sorted(staff.rglob("*.html"))
    assert len(pages) == 3 + len(GENERAL)
    for page in pages:
        text = page.read_text("utf-8")
        assert "<title>Staff: " in text
        assert '<meta name="robots" content="noindex, nofollow">' in text
        assert "<strong>Staff edition.</strong>" in text
    assert bytes_below(published) == before


# ---- an address that was given out is never lost without a word
REMEDY = (
    "declare the step under former_steps in its scenario, or leave "
    '<span id="now"></span> where a heading of your own stood'
)


@pytest.fixture
def given_out(monkeypatch) -> list[str]:
    """The addresses that the course's pages give out: may be changed by a test."""
    given = ["index.html", "term/lab.html#now"]
    monkeypatch.setattr(plugin.Pages, "addresses", given)
    return given


@pytest.fixture
def recorded(config_file, pages, given_out) -> Path:
    publish(config_file, now=NOW)
    return addresses.record_path(config_file.parent / "site-data")


def later(pages: Pages, given_out: list[str]) -> None:
    pages["term/lab.md"] += "\n## Later {#later}\n"
    given_out.append("term/lab.html#later")


def test_the_record_holds_all_addresses_and_grows_below(config_file, recorded, pages, given_out):
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
    config_file, recorded, pages, given_out
):
    pages["index.md"] = pages["index.md"].replace("#now", "#then")
    pages["term/lab.md"] = pages["term/lab.md"].replace("#now", "#then")
    given_out[1] = "term/lab.html#then"
    lost = "term/lab.html#now has been published and would lead nowhere"
    assert refusal(config_file) == f"{lost}; {REMEDY}"
    pages["term/lab.md"] += '<!-- <span id="now"></span> --><span title="<i id=\'now\'>"></span>\n'
    assert refusal(config_file) == f"{lost}; {REMEDY}"
    pages["term/lab.md"] += "<span hidden ID = now></span>\n"
    publish(config_file, now=NOW)


def test_headings_of_pages_of_ones_own_are_kept_however_they_are_written(config_file, pages):
    exchange(config_file, "permalink: false", "toc_depth: 3")
    room = config_file.parent / "content/room.md"
    before = room.read_text("utf-8")
    room.write_text(f'{before}\n<h2 id="own">Own</h2>\n\n#### Deep down {{#deep}}\n', "utf-8")
    publish(config_file, now=NOW)
    record = addresses.record_path(config_file.parent / "site-data")
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
    config_file, pages, given_out, file, remedy
):
    source = file.replace("html", "md")
    pages[source] = "BEGIN:VCALENDAR\r\n" if source == file else "---\ntitle: Dates\n---\n# Dates\n"
    given_out.append(file)
    publish(config_file, now=NOW)
    del pages[source], given_out[-1]
    told = refusal(config_file)
    assert told.startswith(f"{file} has been published and would lead nowhere; {remedy}")


def test_an_address_that_the_pages_promise_must_be_there_the_first_time_too(
    config_file, pages, given_out
):
    given_out.append("term/lab.html#nosuch")
    assert refusal(config_file).startswith("term/lab.html#nosuch has been published and would")


def test_an_earlier_moment_built_elsewhere_needs_only_what_was_out_by_then(
    config_file, recorded, pages, given_out
):
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
    config_file, recorded, monkeypatch
):
    recorded.unlink()
    (config_file.parent / "site/.fallwork").write_text("student\n")
    root, course = config_file.parent / "site-data", plugin.load_course(recorded).course
    known = {("term", "lab"): None}
    data = scenario.CourseData(root=root, course=course, scenarios={}, published=known)
    monkeypatch.setattr(plugin, "load_course", lambda root: data)
    assert refusal(config_file).startswith(f"{recorded} is gone, though pages have been published:")


def test_a_record_that_was_spoiled_stops_the_build(config_file, recorded):
    for text in ("{", "[{since: soon, addresses: []}]", "[1]", "[{since: x}]", "[" * 5000):
        recorded.write_text(text, "utf-8")
        assert refusal(config_file) == (
            f"{recorded} is not as the program wrote it; restore it from version control"
        )


# ---- files beside the pages that aren't text: declared, and held back until they open
PAGE = """\
# Tips

See the [handout](hand%20out.pdf#page=2) and ![the bench](photos/bench.png).

![the floor](photos/floor.png)
"""


def declare(course: Path, declared: dict[str, datetime | None], patch: pytest.MonkeyPatch) -> None:
    said = replace(WEIGHTS, attachments=declared)
    data = scenario.CourseData(root=course.parent / "site-data", course=said, scenarios={})
    patch.setattr(plugin, "load_course", lambda root: data)


@pytest.fixture
def course(content, monkeypatch) -> Path:
    """The settings of a course with a page that shows attachments, which its file declares."""
    (content / "photos").mkdir()
    for name in ("hand out.pdf", *PHOTOS):
        (content / name).write_bytes(b"\x00\x01")
    (content / "tips.md").write_text(PAGE, "utf-8")
    declare(content.parent / "mkdocs.yml", DECLARED, monkeypatch)
    return content.parent / "mkdocs.yml"


@pytest.mark.parametrize(
    ("edition", "moment", "words", "there"),
    [
        ("student", SOON, f"the handout {LATER} and the bench {LATER}.", [PHOTOS[1], PHOTOS[1]]),
        ("student", OPENS, "the handout and .", SHOWN),
        ("staff", SOON, "the handout and .", SHOWN),
    ],
)
def test_what_is_to_come_is_not_there_and_links_say_when_it_opens(
    course, edition, moment, words, there
):
    made = publish(course, now=moment, edition=edition, to=course.parent / f"{edition}-site")
    assert made.next_opening == ((OPENS, "*a*") if moment < OPENS else None)
    assert (made.site / "room.html").is_file()
    page = etree.parse(made.site / "tips.html", etree.HTMLParser())
    names = [name for name in ("hand out.pdf", *PHOTOS) if (made.site / name).is_file()]
    texts = [" ".join("".join(p.itertext()).split()) for p in page.xpath("//article//p")]
    assert f"See {words}" in texts
    links = map(str, page.xpath("//article//p//@src | //article//p/a/@href"))
    assert sorted([*names, *links]) == sorted(there)


def test_patterns_of_attachments_name_something_and_a_folder_at_once(tmp_path):
    place = errors.Place(file="site-data/course.yaml", line=7, column=3)
    declared = {"photos/*": None, "hand out.pdf": OPENS}
    said = replace(WEIGHTS, attachments=declared, places={"attachments.hand out.pdf": place})
    assert site_files.undeclared(said, FILE, dict.fromkeys(PHOTOS, FILE)) == [
        "site-data/course.yaml:7:3: no file hand out.pdf stands among the hand-written pages; "
        "correct the name, or take the line out"
    ]
    names = ("photos/one.jpg", "photos/two.png", "handout.pdf", "one/alone.png", "tips.txt")
    files = {name: tmp_path / name for name in names}
    for path in files.values():
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"text" if path.suffix == ".txt" else b"\0")
    asked = "attachments: {photos/*: always, handout.pdf: always, one/alone.png: always}"
    assert site_files.undeclared(WEIGHTS, FILE, files)[-1].endswith(asked)
    declared = {"*.p*": None, "photos/*": None, "photos/two.png": OPENS}
    course = replace(WEIGHTS, attachments=declared)
    assert site_files.undeclared(course, FILE, files) == []
    assert [site_files.opens(course, name) for name in names] == [None, OPENS, None, None, None]


def test_undeclared_files_are_refused_and_checked_for(course, monkeypatch):
    declare(course, {"hand out.pdf": None}, monkeypatch)
    root, told = course.parent, refusal(course, now=SOON).splitlines()
    assert told == [
        *(f"{root}/content/{each}: {NO_TEXT}" for each in PHOTOS),
        f"{root}/site-data/course.yaml: say from when on students may have what is no text, by a "
        "date such as 2027-02-08, or always where it gives nothing away: attachments: "
        "{photos/*: always}",
    ]
    assert list(refused_ahead(course, plugin.load_course(root))) == told
