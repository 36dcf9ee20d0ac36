"""Files beside the hand-written pages that aren't text: declared, and held back until they open."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from lxml import etree

from democourse import refusal
from fallwork.errors import Place
from fallwork.scenario import Course, CourseData
from fallwork.scenario.quantity import parse_quantity
from fallwork.site import files as site_files
from fallwork.site import plugin
from fallwork.site.publication import Opening, publish, refused_ahead

GRAVITY = parse_quantity("9.81 m/s²", "acceleration")
COURSE = Course(title="Falling weights", time_zone="Europe/Zurich", gravity=GRAVITY)
FILE = Path("course.yaml")
NOW = datetime(2027, 2, 1, 12, tzinfo=UTC)
OPENS = datetime(2027, 2, 8, tzinfo=UTC)
PAGE = """\
# Tips

See the [handout](hand%20out.pdf#page=2) and ![the bench](photos/bench.png).

![the floor](photos/floor.png)
"""
PHOTOS = ("photos/bench.png", "photos/floor.png")
DECLARED = {"*a*": OPENS, "photos/*": None, "photos/bench.png": OPENS}  # *a*: no page for all that


def declare(course: Path, declared: dict[str, datetime | None], patch: pytest.MonkeyPatch) -> None:
    said = replace(COURSE, attachments=declared)
    data = CourseData(root=course.parent / "site-data", course=said, scenarios={})
    patch.setattr(plugin, "load_course", lambda root: data)


@pytest.fixture
def course(content: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The settings of a course with a page that shows attachments, which its file declares."""
    (content / "photos").mkdir()
    for name in ("hand out.pdf", *PHOTOS):
        (content / name).write_bytes(b"\x00\x01")
    (content / "tips.md").write_text(PAGE, "utf-8")
    declare(content.parent / "mkdocs.yml", DECLARED, monkeypatch)
    return content.parent / "mkdocs.yml"


SHOWN = ["hand out.pdf", "hand%20out.pdf#page=2", *PHOTOS, *PHOTOS]
NO_TEXT = "it is no text, so nobody can read it for answers"
LATER = "(opens on Monday 8 February 2027, 01:00)"


@pytest.mark.parametrize(
    ("edition", "moment", "words", "there"),
    [
        ("student", NOW, f"the handout {LATER} and the bench {LATER}.", [PHOTOS[1], PHOTOS[1]]),
        ("student", OPENS, "the handout and .", SHOWN),
        ("staff", NOW, "the handout and .", SHOWN),
    ],
)
def test_what_is_to_come_is_not_there_and_links_say_when_it_opens(
    course: Path, edition: str, moment: datetime, words: str, there: list[str]
) -> None:
    made = publish(course, now=moment, edition=edition, to=course.parent / f"{edition}-site")
    assert made.next_opening == (Opening(at=OPENS, what="*a*") if moment < OPENS else None)
    assert (made.site / "room.html").is_file()
    page = etree.parse(made.site / "tips.html", etree.HTMLParser())
    names = [name for name in ("hand out.pdf", *PHOTOS) if (made.site / name).is_file()]
    texts = [" ".join("".join(p.itertext()).split()) for p in page.xpath("//article//p")]
    assert f"See {words}" in texts
    links = map(str, page.xpath("//article//p//@src | //article//p/a/@href"))
    assert sorted([*names, *links]) == sorted(there)


def test_a_pattern_that_names_nothing_is_told_with_its_place() -> None:
    place = Place(file="site-data/course.yaml", line=7, column=3)
    declared = {"photos/*": None, "hand out.pdf": OPENS}
    said = replace(COURSE, attachments=declared, places={"attachments.hand out.pdf": place})
    assert site_files.undeclared(said, FILE, dict.fromkeys(PHOTOS, FILE)) == [
        "site-data/course.yaml:7:3: no file hand out.pdf stands among the hand-written pages; "
        "correct the name, or take the line out"
    ]


def test_pictures_of_a_folder_are_declared_at_once(tmp_path: Path) -> None:
    names = ("photos/one.jpg", "photos/two.png", "handout.pdf", "one/alone.png", "tips.txt")
    files = {name: tmp_path / name for name in names}
    for path in files.values():
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"text" if path.suffix == ".txt" else b"\0")
    asked = "attachments: {photos/*: always, handout.pdf: always, one/alone.png: always}"
    assert site_files.undeclared(COURSE, FILE, files)[-1].endswith(asked)
    declared = {"*.p*": None, "photos/*": None, "photos/two.png": OPENS}
    course = replace(COURSE, attachments=declared)
    assert site_files.undeclared(course, FILE, files) == []
    assert [site_files.opens(course, name) for name in names] == [None, OPENS, None, None, None]


def test_undeclared_files_are_refused_and_checked_for(
    course: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    declare(course, {"hand out.pdf": None}, monkeypatch)
    root, told = course.parent, refusal(course, now=NOW).splitlines()
    assert told == [
        *(f"{root}/content/{each}: {NO_TEXT}" for each in PHOTOS),
        f"{root}/site-data/course.yaml: say from when on students may have what is no text, by a "
        "date such as 2027-02-08, or always where it gives nothing away: attachments: "
        "{photos/*: always}",
    ]
    assert list(refused_ahead(course, plugin.load_course(root))) == told
