"""Files beside the hand-written pages that aren't text: declared, and held back until they open."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from lxml import etree

from fallwork.errors import Place
from fallwork.scenario import Course, CourseData
from fallwork.scenario.quantity import parse_quantity
from fallwork.site import attachments, plugin
from fallwork.site.errors import PublicationError
from fallwork.site.publication import Opening, publish, refused_ahead

COURSE = Course(title="Falling weights", time_zone="Europe/Zurich")
NOW = datetime(2027, 2, 1, 12, tzinfo=UTC)
OPENS = datetime(2027, 2, 8, tzinfo=UTC)
PAGE = """\
# Tips

See the [handout](hand%20out.pdf#page=2) and ![the bench](photos/bench.png).

![the floor](photos/floor.png)
"""
DECLARED = {"*a*": OPENS, "photos/*": None, "photos/bench.png": OPENS}  # *a*: no page for all that


@pytest.fixture
def course(content: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The settings of a course with a page that shows attachments, which its file declares."""
    (content / "photos").mkdir()
    for name in ("hand out.pdf", "photos/bench.png", "photos/floor.png"):
        (content / name).write_bytes(b"\x00\x01")
    (content / "tips.md").write_text(PAGE, "utf-8")
    said = replace(
        COURSE, attachments=DECLARED, gravity=parse_quantity("9.81 m/s²", "acceleration")
    )
    data = CourseData(root=content.parent / "site-data", course=said, scenarios={})
    monkeypatch.setattr(plugin, "load_course", lambda root: data)
    return content.parent / "mkdocs.yml"


def built(course: Path, moment: datetime, edition: str = "student") -> tuple[str, list[str]]:
    """The words and pictures of the page, and the attachments that are there."""
    made = publish(course, now=moment, edition=edition, to=course.parent / f"{edition}-site")
    assert made.next_opening == (Opening(at=OPENS, what="*a*") if moment < OPENS else None)
    site = made.site
    assert (site / "reading.html").is_file()
    page = etree.parse(site / "tips.html", etree.HTMLParser())
    names = [name for name in ("hand out.pdf", *PHOTOS) if (site / name).is_file()]
    words = next(text for p in page.xpath("//article//p") if "See" in (text := string(p)))
    return words, [*names, *map(str, page.xpath("//article//p//@src | //article//p/a/@href"))]


def string(element: etree._Element) -> str:
    return " ".join("".join(element.itertext()).split())


PHOTOS = ("photos/bench.png", "photos/floor.png")


def test_what_is_to_come_is_not_there_and_links_say_when_it_opens(course: Path) -> None:
    assert built(course, NOW) == (
        "See the handout (opens on Monday 8 February 2027, 01:00) and the bench (opens on Monday "
        "8 February 2027, 01:00).",
        ["photos/floor.png", "photos/floor.png"],
    )


@pytest.mark.parametrize(("edition", "moment"), [("student", OPENS), ("staff", NOW)])
def test_what_is_open_is_there(course: Path, edition: str, moment: datetime) -> None:
    words, there = built(course, moment, edition)
    assert words == "See the handout and ."
    assert sorted(there) == sorted(["hand out.pdf", *PHOTOS, "hand%20out.pdf#page=2", *PHOTOS])


def test_a_pattern_that_names_nothing_is_told_with_its_place(course: Path) -> None:
    place = Place(file="site-data/course.yaml", line=7, column=3)
    declared = {"photos/*": None, "hand out.pdf": OPENS}
    said = replace(COURSE, attachments=declared, places={"attachments.hand out.pdf": place})
    assert attachments.problems(said, Path("course.yaml"), dict.fromkeys(PHOTOS, course)) == [
        "site-data/course.yaml:7:3: no file hand out.pdf stands among the hand-written pages; "
        "correct the name, or take the line out"
    ]


def test_pictures_of_a_folder_are_declared_at_once(tmp_path: Path) -> None:
    names = ("photos/one.jpg", "photos/two.png", "handout.pdf", "one/alone.png", "tips.txt")
    files = {name: tmp_path / name for name in names}
    for path in files.values():
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"text" if path.suffix == ".txt" else b"\0")
    *_, told = attachments.problems(COURSE, Path("course.yaml"), files)
    assert told.endswith(
        "attachments: {photos/*: always, handout.pdf: always, one/alone.png: always}"
    )
    opens = datetime(2027, 2, 8, tzinfo=UTC)
    declared = {"*.p*": None, "photos/*": None, "photos/two.png": opens}
    course = replace(COURSE, attachments=declared)
    assert attachments.problems(course, Path("course.yaml"), files) == []
    assert [attachments.opens(course, name) for name in names] == [None, opens, None, None, None]


def test_an_undeclared_file_is_refused_and_checked_for(course: Path) -> None:
    (course.parent / "content/photos/new.jpg").write_bytes(b"\xff\xd8\x00")
    data = plugin.load_course(course.parent / "site-data")
    data = replace(data, course=replace(data.course, attachments={"hand out.pdf": None}))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plugin, "load_course", lambda root: data)
        with pytest.raises(PublicationError) as caught:
            publish(course, now=NOW)
    told = str(caught.value).splitlines()
    photos = [f"{course.parent}/content/photos/{name}.{kind}" for name, kind in NAMES]
    assert told == [
        *(f"{photo}: it is no text, so nobody can read it for answers" for photo in photos),
        f"{course.parent}/site-data/course.yaml: say from when on students may have what is no "
        "text, by a date such as 2027-02-08, or always where it gives nothing away: attachments: "
        "{photos/*: always}",
    ]
    assert list(refused_ahead(course, data)) == told


NAMES = (("bench", "png"), ("floor", "png"), ("new", "jpg"))
