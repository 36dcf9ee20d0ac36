"""Staff look numbers up for a bench's own masses and an earlier value, as trace and key have it."""

import re
from collections.abc import Iterable
from typing import Any

import pytest
from playwright.sync_api import Page

from browser.reading import Reader, Way, script
from browser.test_accessibility import violations
from browser.test_finding import FIND
from browser.test_staff import staff
from browser.test_working import LABS, Bench
from fallwork.commands.numbers import numbers_known
from fallwork.errors import FallworkError
from fallwork.lesson.answers import Found, following, results
from fallwork.lesson.rounding import DIGITS, MINUS, rounded
from fallwork.pages.context import STAFF, Context, GivenLab
from fallwork.pages.finding import of_lab
from fallwork.pages.scriptdata import words_for
from fallwork.scenario.numbers import overrides_from_words
from fallwork.site.look import ASSETS, own_file
from pages.history import RUNNING
from pages.test_variants import DATA

__all__ = ["staff"]  # a fixture

KINDS = {0: "right", 1: "mistake", 2: "follows"}
SEEK = script("seek")
ASKED = script("looked-up")


def plain(value: float, unit: str = "", digits: int = 4) -> str:
    text = rounded(value, digits).text.replace(MINUS, "-").replace(" × 10", "e")
    return f"{text.translate(DIGITS)} {unit}".strip()


class Staff(Bench):
    """A lab as staff search it, and what ``trace`` knows of it."""

    def __init__(self, given: GivenLab) -> None:
        super().__init__(given)
        self.given, self.told = given, of_lab(given)

    def known(self, words: list[str]) -> list[Found]:
        found = numbers_known(self.given.site, self.given, overrides_from_words(words))
        own = (each for each in found if each.depth in KINDS and not each.numbers)
        return [each for each in own if each.value]

    def asked(self, page: Page, cases: Iterable[Any]) -> Any:
        units = {each.unit: [1, each.unit] for each in {f.of for f in self.known([])} if each.unit}
        return page.evaluate(ASKED, [self.told, list(cases), units])


@pytest.fixture(scope="module", params=LABS, ids=lambda given: given.lab.id)
def there(request: pytest.FixtureRequest) -> Staff:
    return Staff(request.param)


@pytest.fixture(scope="module")
def finder(scripts: Page) -> Page:
    scripts.evaluate(SEEK, words_for(("bench",)))
    scripts.add_script_tag(content=own_file(ASSETS / "numbers.js").decode())
    return scripts


def met(known: Iterable[Found], number: str) -> set[tuple[str, str]]:
    """What has the typed digits; where nothing right and no mistake has, what is accepted."""
    digits, unit = number.partition(" ")[::2]
    value, last = abs(float(digits)), float(f"5e{-4 + int(f'{float(digits):e}'.split('e')[1])}")
    off = [(f, abs(abs(f.value) - value)) for f in known if f.of.unit == unit or not unit]
    found = {(f.depth, f.of.meaning) for f, away in off if away <= last}
    if not any(depth < 2 for depth, _ in found):
        near = ((f, away) for f, away in off if not f.depth)
        found |= {(0, f.of.meaning) for f, w in near if w <= f.tolerance(3) * abs(f.value)}
    return {(KINDS[depth], meaning) for depth, meaning in found}


def test_numbers_are_those_of_trace(finder: Page, thorough: bool, there: Staff) -> None:
    """Of the lab itself too, without and with what it has measured."""
    sets = [({}, list[str]()), *(there.own() for _ in range(100 if thorough else 3))]
    cases, expected = list[Any](), list[Any]()
    for typed, words in sets:
        try:
            known = there.known(words)
        except FallworkError:  # nothing moves so, and nothing is looked up
            known = []
        for one in there.chance.sample(known, min(len(known), 8)):
            cases.append([typed if words else None, {}, plain(one.value, one.of.unit)])
            expected.append((known, one))
    done = 0
    for case, (known, one), hits in zip(cases, expected, there.asked(finder, cases), strict=True):
        if hits is None:
            continue
        got = {(kind, meaning) for kind, meaning, _ in hits}
        assert got == met(known, case[2]), (case, one)
        done += 1
    assert done >= 8


def test_what_follows_from_an_earlier_value_is_that_of_key(finder: Page, there: Staff) -> None:
    """Of each quantity what the first equation gives for it, with a bench's own numbers too."""
    cases, expected, done = list[Any](), list[Any](), 0
    rights = results(there.lesson(there.set_up(there.scenario)))
    for one in there.chance.sample(rights, 3):
        typed, words = there.own() if cases else ({}, [])
        try:
            lesson = there.lesson(there.with_(words))
        except FallworkError:
            continue
        earlier = plain(one.value * 1.13 or 1.0)
        for each in following(lesson, {one.of.id: float(earlier)}):
            told = not (each.of.given or each.of.aside)
            if told and abs(each.value - each.of.value) > 0.01 * abs(each.value):
                cases.append([typed, {one.of.id: earlier}, plain(each.value, each.of.unit)])
                expected.append(each.of.meaning)
    hits = there.asked(finder, cases)
    for case, meaning, got in zip(cases, expected, hits, strict=True):
        kinds = {kind for kind, of, _ in got or () if of == meaning}
        assert got is None or kinds & {"earlier", "mistake"}, (case, meaning, got)
        done += "earlier" in kinds
    assert done


def test_a_variant_s_numbers_fill_the_fields(finder: Page) -> None:
    (given,) = Context(DATA, RUNNING, STAFF, telling=False).labs()
    told = of_lab(given)
    numbers = told["variants"].values()
    cases = [[each["given"], {}, plain(each["right"]["tension.string"], "N")] for each in numbers]
    for hits in finder.evaluate(ASKED, [told, cases, {"N": [1, "N"]}]):
        assert ["right", "tension of the string"] in [hit[:2] for hit in hits]


def test_a_bench_s_numbers_are_typed_below_the_field(staff: Reader) -> None:
    """With m_h = 110.0 g, T = m_h m_c (1 + 0.008) g / (m_c + m_h) = 0.895 N by hand."""
    with staff.window(Way(width=320)) as window:
        page = window.open("index.html")
        field, box = page.get_by_label(FIND), page.locator("article .fw-find")
        field.fill("0.895 N")
        said = box.get_by_role("status").first
        said.get_by_text("is no right result of the current lab.").wait_for()
        box.get_by_text("For a bench’s own masses").press("Enter")
        box.get_by_label("hanging mass (kg)").last.fill("110.0 g")
        said.get_by_text(re.compile("is a right result of .* with the bench’s own")).wait_for()
        assert box.locator("li").first.inner_text().startswith("Right: tension")
        assert violations(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") == 320
        box.get_by_label("hanging mass (kg)").last.fill("1.0 g")
        said.get_by_text("would be of another kind").wait_for()
        box.get_by_role("button", name="Back to the numbers of the lab").press("Enter")
        said.get_by_text("is no right result of the current lab.").wait_for()
