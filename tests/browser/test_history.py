"""Five terms of a course, with steps renamed, numbers corrected and a lab withdrawn: every address
that was ever given out leads where it should; and pages printed to PDF.
"""

import html
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

import pytest
from lxml import html as lxml_html

from browser.chromium import find
from democourse import framed, nothing_known, own_course
from fallwork import scenario
from fallwork.lesson import build, document
from fallwork.lesson.build import build_lesson
from fallwork.pages import worked
from fallwork.scenario.course import read_published
from fallwork.scenario.report import Report
from fallwork.site import errors, handouts, plugin, publication
from fallwork.site.addresses import read_record
from pages.history import BASE, DAY, course, lab, start, term

TERMS = ("2025-spring", "2025-autumn", "2026-spring", "2026-autumn", "2027-spring")
STARTS = tuple(
    start(month, year) for year, month in ((2025, 2), (2025, 9), (2026, 2), (2026, 9), (2027, 2))
)
PUBLISHED = (
    STARTS[1] + 21 * DAY,  # as steps were called first
    STARTS[2] + 15 * DAY,  # steps renamed; the lab that is withdrawn later, with its solution
    STARTS[4] + 21 * DAY,
)
FORMER = (
    scenario.FormerStep(id="pull-of-string", now="rope"),
    scenario.FormerStep(id="rope", now="tension"),
    scenario.FormerStep(id="reminder", because="It stands in the safety notes."),
)
WITHDRAWN = scenario.Withdrawal(at=STARTS[2] + 20 * DAY, because="The track was bent.")
CORRECTED = scenario.Correction(
    at=STARTS[1] + 3 * DAY, field="cart.mass", was="520.0 g", because="The cart was weighed again."
)
LINKS = re.compile(rb"/URI \(([^)]*)\)")


class History(NamedTuple):
    """The site as it stands in the last term."""

    site: Path
    addresses: tuple[str, ...]  # all that were ever given out


def as_steps_were_called(lesson: document.Lesson) -> document.Lesson:
    """The lesson with the ids of its first two years: one other, and one step more."""
    steps = tuple(
        replace(step, id="pull-of-string") if step.id == "tension" else step
        for step in lesson.steps
    )
    return replace(lesson, steps=(*steps, replace(steps[-1], id="reminder", title="A reminder")))


def the_term(number: int, *, now: datetime) -> scenario.Term:
    """A term as its file stands at a moment."""
    more: dict[str, object] = {}
    if number == 1 and now >= CORRECTED.at:
        more = {"corrections": (CORRECTED,)}
    if number == 2 and now >= WITHDRAWN.at:
        more = {"withdrawn": WITHDRAWN}
    mass = f"{512 + 13 * number}.0 g"
    return term(TERMS[number], lab("level", STARTS[number], mass, **more))


def the_course(now: datetime, root: Path) -> scenario.CourseData:
    terms = [the_term(number, now=now) for number in range(5) if STARTS[number] <= now]
    renamed = replace(BASE.scenarios["level"], former_steps=FORMER)
    given = course(*terms, scenario=renamed if now >= STARTS[2] else None)
    return replace(given, root=root, published=read_published(root, Report()))


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Iterator[History]:
    """Publish before steps were renamed, with a lab withdrawn, and in the last term."""
    settings = own_course(tmp_path_factory.mktemp("history"), data=False, written=False)
    folder = settings.parent
    with pytest.MonkeyPatch.context() as patch:
        for now in PUBLISHED:
            data = the_course(now, folder / "site-data")
            patch.setattr(plugin, "load_course", lambda root, data=data: data)
            patch.setattr(worked, "build_lesson", _lessons_of(now))
            patch.setattr(worked, "draw", framed)
            patch.setattr(build, "uncertainties", nothing_known)
            publication.publish(settings, now=now)
        record = read_record(the_course(now, folder / "site-data"))
        yield History(folder / "site", tuple(record))


def _lessons_of(now: datetime) -> object:
    if now >= STARTS[2]:
        return build_lesson
    return lambda *given, **more: as_steps_were_called(build_lesson(*given, **more))


def test_each_address_leads_to_its_step_or_to_its_sentence(history):
    assert len(history.addresses) > 300
    assert {
        "2025-spring/level/prelab.html#pull-of-string",
        "2026-spring/level/solution.html#tension",
    } < {*history.addresses}
    assert (history.site / "calendar.ics").is_file()
    for name, anchors in by_page(history.addresses).items():
        article = lxml_html.parse(history.site / name).xpath("//article")[0]
        withdrawn = "2026-spring/level/" in name
        assert ("The track was bent." in article.text_content()) == withdrawn, name
        for anchor in anchors:
            gone = "This page was taken down on Saturday 21 February 2026: The track was bent."
            there = article.xpath(f".//*[@id='{anchor}']/following-sibling::a")
            if there and there[0].get("href", "").startswith("prelab.html#"):
                continue  # the step has nothing of its own here
            expected = gone if withdrawn else words_at(history.site, anchor)
            if not withdrawn and name.endswith("bench.html") and anchor in ("hand-in", "tables"):
                expected = "Tables to fill in"  # the sheet has nothing else of that step
            assert words_from(article, anchor).startswith(expected), (name, anchor)


def words_from(article: lxml_html.HtmlElement, anchor: str) -> str:
    """What a reader sees first from a place on: its own words, or else those that follow it."""
    (place,) = article.xpath(f".//*[@id='{anchor}']")
    found = "".join(place.xpath(".//text() | following::text()[ancestor::article]"))
    return re.sub(r"^\d+ of \d+\s+", "", found.strip())  # the place of a step among all


def by_page(addresses: tuple[str, ...]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, _, anchor in (address.partition("#") for address in addresses):
        if "/" in name:  # a page of a lab
            found.setdefault(name, []).extend([anchor] if anchor else [])
    return found


def words_at(site: Path, step: str) -> str:
    """The words that stand at a step's address: its title, as the step's own page has it."""
    if step == "reminder":
        return "The step that had this address was taken out: It stands in the safety notes."
    page = (site / "step" / "level" / f"{step}.html").read_text("utf-8")
    title = re.search(r"<h1[^>]*>([^<]+)</h1>", page)
    assert title is not None, step
    return html.unescape(title[1])


def test_a_browser_scrolls_to_a_renamed_step(history, chromium):
    page = chromium.new_page()
    page.goto(f"{history.site.as_uri()}/2025-spring/level/prelab.html#pull-of-string")
    box = page.locator("h3#tension").bounding_box()
    assert 0 <= box["y"] < 300
    page.close()


def test_a_corrected_page_says_so_on_paper_too(history, chromium):
    page = chromium.new_context(java_script_enabled=False).new_page()
    page.emulate_media(media="print")
    for name in ("index", "prelab", "example", "report", "solution"):
        page.goto(f"{history.site.as_uri()}/2025-autumn/level/{name}.html")
        notice = page.locator(".fw-notice").get_by_text("Corrected on Thursday 4 September 2025")
        assert "before 520.0 g, now 525.0 g" in notice.locator("..").inner_text()
        version = "Numbers of this page: version 2, corrected on Thursday 4 September 2025."
        assert notice.is_visible()
        assert page.get_by_text(version).is_visible()
    page.context.close()


# ---- pages printed to PDF: the same bytes each time, links that lead to the public site
PAGE = """<!doctype html><html lang="en"><title>Bench sheet</title><body>
<p><a href="../level/index.html">the lab</a> <a href="#here">below</a>
<a href="https://elsewhere.example.org/">elsewhere</a></p>
<table><tr><th>Trial</th><th>Speed</th></tr><tr><th>1</th><td></td></tr></table>
<h2 id="here">Here</h2></body></html>"""


@pytest.fixture(autouse=True)
def named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(handouts.NAMED_BY, str(find()))


def printed(folder: Path, address: str) -> bytes:
    folder.mkdir()
    (folder / "bench.html").write_text(PAGE, "utf-8")
    handouts.print_all(folder, ["bench.html"], address)
    assert sorted(path.name for path in folder.iterdir()) == ["bench.html", "bench.pdf"]
    return (folder / "bench.pdf").read_bytes()


def test_a_printed_page_has_the_same_bytes_each_time_and_links_to_the_public_site(tmp_path):
    first, second = (printed(tmp_path / name, "") for name in ("one", "two"))
    assert first[:5] == b"%PDF-"
    assert first == second
    assert LINKS.findall(first) == [b"https://elsewhere.example.org/"]
    assert b"file:" not in first
    found = LINKS.findall(printed(tmp_path / "known", "https://lab.example.org/mechanics/"))
    assert found == [b"https://lab.example.org/level/index.html", b"https://elsewhere.example.org/"]


def test_without_a_browser_nothing_is_printed(monkeypatch):
    monkeypatch.setenv(handouts.NAMED_BY, "/nowhere/chromium")
    with pytest.raises(errors.PublicationError, match=handouts.NAMED_BY):
        handouts.print_all(Path(), ["bench.html"], "")
