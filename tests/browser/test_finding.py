"""A step or a question is found by the words in which students ask, and a number by what gives it;
by touch and keyboard, from a folder too.
"""

from pathlib import Path
from typing import Any

import pytest
import yaml
from playwright.sync_api import Browser, Page

from browser.reading import DESK, PHONE, Place, Reader, Site, Way
from browser.test_accessibility import violations
from browser.test_staff import LAB, NOTES, ROOT, STEPS, staff
from democourse import own_course
from fallwork.site.publication import publish
from pages.history import BEFORE, RUNNING

__all__ = ["staff"]  # a fixture
FIND = "Find a question, a step or a number"
THEIRS = "2026-autumn/level-track"
PAGES = Path(__file__).parents[1] / "pages"
ASKED = yaml.safe_load((PAGES / "questions.yaml").read_text("utf-8"))
LIST = {str(words): steps for part in ASKED.values() for words, steps in part.items()}
UNSEEN = yaml.safe_load((PAGES / "unseen.yaml").read_text("utf-8"))  # nothing was tuned to them
FRESH = yaml.safe_load((PAGES / "fresh.yaml").read_text("utf-8"))
# Where the first right hit stands: a step, or a question that one of the steps answers.
SEARCHED = """async ([lab, other, questions]) => {
  const { load, prepared, search } = globalThis.fwSeek
  const course = await load("course"), labs = [lab, other]
  const used = course.labs.filter(each => labs.includes(each.at))
  await Promise.all(used.map(each => load(each.at)))
  const known = prepared(course, used), part = hit => hit.address.replace(/^.*#/, "")
  return Object.entries(questions).map(([words, steps]) => {
    const isMeant = each => steps.split(" ").includes(each.step.replace(/^.*#/, "#"))
    const here = known.entries.filter(each => each.address.startsWith(lab))
    const own = here.filter(isMeant).map(part)
    return search(words, known).findIndex(hit => isMeant(hit) || own.includes(part(hit)))
  })
}"""
NUMBER = """async typed => {
  return fwNumbers.numberIn(typed, await fwSeek.load("course"))
}"""


def missed(page: Page, asked: dict[str, dict[str, str]], first: int, other: str = "") -> list[str]:
    """The questions, by lab, of which no step is among the first hits, another lab being loaded."""
    found = []
    for lab, each in asked.items():
        places = page.evaluate(SEARCHED, [lab, other, each])
        found += [w for w, at in zip(each, places, strict=True) if not 0 <= at < first]
    return found


def few(found: list[str], asked: dict[str, dict[str, str]], share: float = 0.9) -> bool:
    return len(found) <= (1 - share) * sum(map(len, asked.values()))


def shown(page: Page) -> list[str]:
    """What is seen of what was found."""
    return page.locator(".fw-find:visible li:visible").all_inner_texts()


# ---- words


OTHER = "2026-autumn/train"
ASKED_FOR = [
    ({"level-track": LIST}, 3, "", 0.9),
    ({"level-track": LIST}, 1, OTHER, 0.9),
    (UNSEEN, 3, "", 0.9),
    (UNSEEN, 1, "", 0.9),
    (UNSEEN, 1, OTHER, 0.88),
    (FRESH, 3, "", 0.9),
    (FRESH, 1, "", 0.76),
    (FRESH, 1, OTHER, 0.72),
]


@pytest.mark.parametrize(("asked", "first", "other", "share"), ASKED_FOR)
def test_the_step_is_found_by_students_words(reader, asked, first, other, share):
    """In labs of which every page is open, so that most may be found wrongly; as on staff's home,
    with another lab too.
    """
    asked = {f"2026-autumn/{lab}": each for lab, each in asked.items()}
    with reader.window(Way()) as window:
        found = missed(window.open(f"{THEIRS}/prelab.html"), asked, first, other)
    assert sum(map(len, asked.values())) > 75
    assert few(found, asked, share), found


def test_for_staff_the_first_hit_is_the_step(staff):
    with staff.window(Way()) as window:
        found = missed(window.open(STEPS), {LAB: LIST}, 1)
    assert few(found, {LAB: LIST}), found


PLACES: list[tuple[Place, int]] = [("folder", PHONE), ("folder", DESK), ("server", PHONE)]


@pytest.mark.parametrize(("place", "width"), PLACES)
def test_the_keyboard_finds_a_step_and_goes_there(reader, place, width):
    """A typing error is no hindrance; what is searched is loaded when it is asked for."""
    with reader.window(Way(place=place, width=width)) as window:
        page = window.open(f"{THEIRS}/report.html")
        assert not [each for each in window.requests if "/search/" in each]
        page.get_by_role("button", name="Find", exact=True).press("Enter")
        dialog = page.get_by_role("dialog", name="Find a step or a question")
        field = dialog.get_by_role("searchbox")
        field.press_sequentially("why is the tention not equal to m g")
        dialog.get_by_role("link").first.wait_for()
        page.keyboard.press("Tab")
        assert "Why isn’t the tension equal to" in page.locator(":focus").inner_text()
        page.keyboard.press("Shift+Tab")
        assert field.evaluate("field => field === document.activeElement")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**/{THEIRS}/prelab.html#q-why-not-the-weight")
        loaded = {each.partition("/search/")[2] for each in window.requests if "/search/" in each}
    assert loaded == {"course.js", f"{THEIRS}.js"}  # of the first page
    assert window.trouble == []


def test_a_page_of_no_lab_is_found_and_the_window_closes(reader):
    with reader.window(Way()) as window:
        page = window.open("index.html")
        page.get_by_role("button", name="Find", exact=True).click()
        dialog = page.get_by_role("dialog")
        dialog.get_by_role("searchbox").fill("frayed")
        link = dialog.get_by_role("link", name="Before the first run")
        link.wait_for()
        page.keyboard.press("Escape")  # empties the field
        page.keyboard.press("Escape")
        dialog.wait_for(state="hidden")
        page.get_by_role("button", name="Find", exact=True).click()
        dialog.get_by_role("searchbox").fill("frayed")
        link.click()
        page.wait_for_url("**/safety.html#before")
    assert window.trouble == []


def test_what_is_found_nowhere_is_said(reader):
    with reader.window(Way()) as window:
        page = window.open(f"{THEIRS}/prelab.html")
        page.get_by_role("button", name="Find", exact=True).click()
        page.get_by_role("searchbox").fill("qqqqq zzzzz")
        window.status("Nothing found. Try other words.").wait_for()
        assert shown(page) == []


@pytest.mark.parametrize("name", [STEPS, NOTES, "index.html"])
def test_without_scripts_there_is_no_empty_field_or_button(staff, name):
    with staff.window(Way(scripts=False)) as window:
        page = window.open(name)
        assert page.get_by_role("button", name="Find").count() == 0
        assert page.locator("input[type=search]").count() == 0
        box = page.locator(".fw-find")
        assert all(not each.inner_text() for each in box.all())


# ---- copying


@pytest.mark.parametrize("height", [844, 464])  # a keyboard over the page, or one that shrinks it
def test_the_first_hit_and_its_copy_stand_above_an_open_keyboard(staff, height):
    """From the unlocked phone on: a tap into the field, one line typed, a tap on Copy."""
    address = f"{LAB}/prelab.html#q-why-not-the-weight"
    with staff.window(Way(width=390)) as window:
        window.page.set_viewport_size({"width": 390, "height": height})
        page = window.open("index.html")
        page.get_by_label(FIND).click()
        page.keyboard.type("why isnt T = mg")
        hit = page.locator(".fw-find li").first
        hit.wait_for()
        page.wait_for_timeout(300)
        box = hit.bounding_box()
        assert box is not None
        assert (box["y"] >= 48, box["y"] + box["height"] <= 844 * 0.55) == (True, True), box
        hit.get_by_role("button", name="Copy link to: Why isn’t the tension equal").click()
        assert window.copied(f"Link copied. {ROOT}") == address
        page.get_by_role("button", name="Copy as Markdown").click()
        assert window.copied(f"Copied as Markdown. {ROOT}").endswith(f"]({address})")
    assert window.trouble == []


def test_enter_copies_the_first_hit_and_says_what_is_not_open_yet(chromium, tmp_path):
    settings = own_course(tmp_path, written=False)
    site = publish(settings, edition="staff", as_of=BEFORE, now=BEFORE).site
    early = Reader(browser=chromium, site=Site(folder=site), notes=site)
    with early.window(Way()) as window:
        page = window.open("index.html")
        field = page.get_by_label(FIND)
        field.fill("why isn't T = mg")
        page.locator(".fw-find li").first.wait_for()
        field.press("Enter")
        later = "Students can’t open it before Monday 1 February 2027, 00:00."
        copied = window.copied(f"Link copied. {ROOT} {later}")
        assert copied == f"{LAB}/prelab.html#q-why-not-the-weight"


# One more lab, later, with 60.00 g hanging: T = m_h m_c (1 + μ) g / (m_c + m_h) = 0.531 N.
MORE = """    recordings:
      - {title: Run, address: https://a.example.org/a, from: 2027-02-01, marks: {tension: "5:00"}}
  later:
    scenario: level
    numbers: {cart.mass: 512.0 g, weight.mass: 60.00 g, run.distance: 0.550 m}
    example: {weight.mass: 120.0 g}
    opens: 2027-03-01
    due: 2027-03-12T17:00
    solution_opens: 2027-03-15
"""


@pytest.fixture(scope="module")
def two(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Reader:
    """The staff edition with a recording and one more lab, which isn't on yet."""
    settings = own_course(tmp_path_factory.mktemp("two"), written=False)
    path = settings.parent / "site-data/terms/2027-spring.yaml"
    path.write_text(path.read_text("utf-8") + MORE, "utf-8")
    site = publish(settings, edition="staff", as_of=RUNNING, now=RUNNING).site
    return Reader(browser=chromium, site=Site(folder=site), notes=site)


SENT = [
    ("recording tension", "Recording: The tension", "https://a.example.org/a", ""),
    (
        "system the cart alone",
        "System: The cart alone",
        f"{LAB}/prelab.html?system=cart#other-systems",
        f" {ROOT}",
    ),
]


@pytest.mark.parametrize(("typed", "hit", "address", "more"), SENT)
def test_choices_of_system_and_marks_of_recordings_are_found_and_copied(
    two, typed, hit, address, more
):
    with two.window(Way()) as window:
        page = window.open(STEPS)
        page.get_by_label(FIND).fill(typed)
        line = page.locator(".fw-find li").filter(has_text=hit).first
        line.get_by_role("button").click()
        copied = window.copied(f"Link copied.{more}")
        assert copied.startswith(address)
        if more:
            page.goto(f"{window.base}{copied}")
            inside = page.locator("#other-systems-choices input:checked")
            assert inside.evaluate_all("boxes => boxes.map(each => each.value)") == ["cart"]


# ---- numbers


@pytest.mark.parametrize(
    ("typed", "value", "half", "unit"),
    [
        ("0.89", 0.89, 0.005, ""),
        ("0,89", 0.89, 0.005, ""),
        (".89 N", 0.89, 0.005, "N"),
        ("I got 89 cm/s, why", 0.89, 0.005, "m/s"),
        ("8.9e-1 N", 0.89, 0.005, "N"),
        ("8,90×10^-1 m/s²", 0.89, 0.0005, "m/s²"),
        ("\u22120.020 J", 0.02, 0.0005, "J"),
        ("890 mN", 0.89, 0.0005, "N"),
        ("90", 90, 0.5, ""),
        ("60 g", 0.06, 0.0005, "kg"),
    ],
)
def test_a_number_is_taken_with_the_precision_that_it_was_typed_in(staff, typed, value, half, unit):
    with staff.window(Way()) as window:
        number: dict[str, Any] = window.open(STEPS).evaluate(NUMBER, typed)
    assert number["value"] == pytest.approx(value)
    assert number["half"] == pytest.approx(half)
    assert number["of"] == unit


# Of the sample with m_c = 512.0 g, m_h = 90.00 g and μ = 0.008 (tests/pages/course):
# a = (m_h - μ m_c) g / (m_c + m_h) = 1.399 m/s2, T = m_h (g - a) = 0.757 N by hand; with T = m_h g
# it would be 0.883 N. The time is 0.887 s, which 0.884 comes near enough to.
RIGHT, NONE = "is a right result of this lab.", "is no right result of this lab."
NUMBERS = [
    ("0.757 N", f"0.757 {RIGHT}", ["Right: tension"]),
    ("1,4", f"1,4 {RIGHT}", ["Right: acceleration"]),
    ("139.9 cm/s2", f"139.9 {RIGHT}", ["Right: acceleration"]),
    ("0.883", f"0.883 {NONE}", ["Mistake: tension"]),
    ("0.884", f"0.884 {RIGHT}", ["Right: time"]),
    ("got T = 0,883 N why", f"0,883 {NONE}", ["Mistake: tension"]),
    ("tension .88", f".88 {NONE}", ["Mistake: tension"]),
    ("77.7 N", f"77.7 {NONE} No common mistake gives it.", ["I get a different number"]),
    ("9.81 m/s^2", f"9.81 {NONE}", ["Mistake: acceleration"]),
]


@pytest.mark.parametrize(("typed", "judged", "best"), NUMBERS)
def test_a_number_is_judged_first_and_then_told_by_what_gives_it(staff, typed, judged, best):
    with staff.window(Way()) as window:
        page = window.open(STEPS)
        page.get_by_label(FIND).fill(typed)
        page.locator(".fw-find li").first.wait_for(state="attached")
        assert page.locator(".fw-find p[role=status]").first.inner_text().startswith(judged)
        hits = shown(page)  # the others are folded
        assert [hit[: len(start)] for hit, start in zip(hits, best, strict=False)] == best
        assert len(hits) <= (2 if ": " in best[0] else 5)
    assert window.trouble == []


ELSEWHERE = [
    ("0.757 N", "0.757 is a right result of the current lab.", "Right: tension"),
    ("0.531 N", "0.531 is no right result of the current lab, but of another.", "Right: tension"),
    (
        "77.7 N",
        "77.7 is no right result of the current lab or the others. No common mistake",
        "I get",
    ),
]


@pytest.mark.parametrize(("typed", "judged", "best"), ELSEWHERE)
def test_what_no_current_lab_gives_is_looked_up_in_the_others(two, typed, judged, best):
    """Nothing is said of labs that weren't looked at, and those are loaded only then."""
    with two.window(Way()) as window:
        page = window.open("index.html")
        page.get_by_label(FIND).fill(typed)
        page.get_by_role("status").get_by_text(judged).wait_for()
        assert shown(page)[0].startswith(best)
        loaded = [each for each in window.requests if each.endswith("search/2027-spring/later.js")]
    assert len(loaded) == (0 if "a right" in judged else 1)


def test_what_is_copied_of_a_mistake_is_its_row(staff):
    with staff.window(Way()) as window:
        page = window.open(STEPS)
        page.get_by_label(FIND).fill("tension 0.883 N")
        page.locator(".fw-find li button").first.click()
        copied = window.copied(f"Link copied. {ROOT}")
        assert copied == f"{LAB}/prelab.html#tension-t1"
        assert page.goto(f"{window.base}{copied}")
        assert page.locator("#tension-t1").count() == 1


def test_a_right_number_leads_to_the_step_that_works_it_out(staff):
    with staff.window(Way()) as window:
        page = window.open(STEPS)
        page.get_by_label(FIND).fill("0.757 N")
        link = page.locator(".fw-find li a").first
        assert link.get_attribute("href").endswith(f"{LAB}/solution.html#tension")


# ---- for everybody


@pytest.mark.parametrize(("scheme", "width"), [("light", PHONE), ("dark", DESK)])
def test_what_is_found_can_be_read_by_anyone(staff, scheme, width):
    with staff.window(Way(width=width, scheme=scheme)) as window:
        page = window.open("index.html")
        for typed in ("gravity potential", "0.883"):
            page.get_by_label(FIND).fill(typed)
            page.locator(".fw-find li").first.wait_for(state="attached")
            assert violations(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") == width
        page.get_by_role("button", name="Find", exact=True).click()
        dialog = page.get_by_role("dialog")
        dialog.get_by_role("searchbox").fill("normal force")
        dialog.get_by_role("link").first.wait_for()
        assert violations(page) == []
