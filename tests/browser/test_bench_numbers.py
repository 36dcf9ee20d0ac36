"""Staff look a number up for a bench's own masses and a student's earlier value: as ``trace`` and
``key`` have it, in every lab.
"""

from collections.abc import Iterable
from typing import Any

import pytest
from playwright.sync_api import Page

from browser.test_working import LABS, Bench
from fallwork.commands.trace import numbers_known
from fallwork.errors import FallworkError
from fallwork.lesson.answers import Found
from fallwork.lesson.rounding import DIGITS, MINUS, rounded
from fallwork.pages.context import GivenLab
from fallwork.pages.finding import of_lab
from fallwork.pages.scriptdata import words_for
from fallwork.scenario.numbers import overrides_from_words
from fallwork.site.look import ASSETS, own_file

KINDS = {0: "right", 1: "mistake", 2: "follows"}
SEEK = """words => {
  const placed = (lab, pages, address) => ({ address })
  globalThis.fwSeek = { told: { course: { words } }, placed }
}"""
ASKED = """([lab, cases, units]) => cases.map(([set, earlier, number]) => {
  const { entered, putIn } = fallwork
  const { values, symbols } = lab.working
  const unit = Object.fromEntries(symbols)
  const read = (words, of) =>
    Object.fromEntries(Object.entries(words).map(([id, typed]) => [id, entered(typed, of(id))]))
  const typed = read(set ?? {}, id => values[id][1])
  const own = set && putIn(lab.working, typed, read(earlier, id => unit[id]))
  if (own?.why) return null
  const hits = fwNumbers.numbers(fwNumbers.numberIn(number, { units }), lab, () => [], own)
  return hits.map(({ kind, title, address }) => [kind, title.replace(/, \\S+ = .*$/, ""), address])
})"""


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
        return [each for each in found if each.depth in KINDS and each.value]

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
    assert done > 8
