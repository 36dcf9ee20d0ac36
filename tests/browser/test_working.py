"""Other numbers put into the solution's working, held to the key: every mark of every lab."""

import json
import math
import random
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest
from playwright.sync_api import Page

from browser.reading import script
from democourse import NOW, PROJECT
from fallwork import errors, mechanics
from fallwork.lesson import document, printer, reworking, trees
from fallwork.lesson.answers import following, results
from fallwork.lesson.build import build_lesson
from fallwork.lesson.expression import SCALE, Sum, evaluate
from fallwork.lesson.known import givens_of
from fallwork.lesson.lab import Lab
from fallwork.lesson.rounding import DIGITS, MINUS, Printed, as_written, guarded, rounded
from fallwork.mechanics.course import gravity_of
from fallwork.pages import context, scriptdata
from fallwork.pages.schedule import SOLUTION
from fallwork.scenario import Scenario, load_course, numbers

COURSE = load_course(PROJECT / "site-data")
LABS = list(context.Context(COURSE, NOW, context.STAFF, telling=False).labs(COURSE.terms[0]))
ASKED = script("asked")


def as_print(digits: Printed) -> str:
    return digits.mantissa if digits.exponent is None else f"{digits.mantissa}e{digits.exponent}"


class Bench:
    """A lab, and what somebody types and the key takes for it."""

    def __init__(self, given: context.GivenLab) -> None:
        self.scenario, self.gravity = given.lab.variant, gravity_of(COURSE.course)
        self.chance = random.Random(given.lab.id)
        self.working = json.loads(scriptdata.data_of(given.page(SOLUTION))["fw_data"])["working"]
        self.paths = self._paths()

    def set_up(self, scenario: Scenario) -> Lab:
        apparatus = mechanics.apparatus_of(scenario, self.gravity)
        return Lab(scenario, apparatus, mechanics.solve(apparatus), 3, True)

    def lesson(self, lab: Lab) -> document.Lesson:
        return build_lesson(lab.scenario, lab.apparatus, lab.solution, figures=3, numbers=True)

    def with_(self, words: list[str]) -> Lab:
        return self.set_up(numbers.with_numbers(self.scenario, numbers.overrides_from_words(words)))

    def _paths(self) -> dict[str, str]:
        """Of each given that the page asks for, by its symbol, the path in the scenario's file."""

        def values(lab: Lab) -> dict[str, float | None]:
            return {g.symbol.id: g.symbol.value for g in givens_of(lab) if g.symbol is not None}

        before, paths = values(self.set_up(self.scenario)), {}
        for path, quantity in numbers.quantities_of(self.scenario):
            number = f"{float(quantity.number.replace('−', '-')) * 1.001:.9g}"
            try:
                after = values(self.with_([f"{path}={number} {quantity.unit}"]))
            except errors.FallworkError:
                continue
            paths |= {id_: path for id_, value in before.items() if after.get(id_, value) != value}
        return paths

    def own(self, tiny: float = 0) -> tuple[dict[str, str], list[str]]:
        """Some givens as somebody types them, and as the key takes them."""
        typed, words, units = {}, [], dict(numbers.quantities_of(self.scenario))
        for id_, path in self.paths.items():
            quantity = units[path]
            number = abs(float(quantity.number)) * self.chance.uniform(0.7, 1.4)
            if path == "run.distance" and self.chance.random() < tiny:  # micrometres
                number *= 1e-5
            digits = f"{Decimal(f'{number:.{self.chance.randint(1, 3)}e}'):f}"
            sign = "-" if float(quantity.number) < 0 else ""
            if self.chance.random() < 0.7:
                typed[id_] = f"{digits} {quantity.unit.replace('deg', '°')}"
                words.append(f"{path}={sign}{digits} {quantity.unit}")
        return typed, words

    def expected(self, words: list[str]) -> Mapping[str, Any]:
        lab = self.with_(words)
        working = reworking.reworked(lab, self.lesson(lab).steps)
        assert working is not None
        printed = []
        for each in working.results:
            value = evaluate(each.last) / SCALE.get(each.in_unit, 1.0)
            figures = (each.result.figures if each.result else None) or 3
            all_digits = each.result.written if each.result and isinstance(each.last, Sum) else ""
            exact = as_written(all_digits) if all_digits else guarded(value, figures)
            printed += [as_print(exact), as_print(rounded(value, figures))]
        valued = [s for s in working.symbols if s.value is not None and not s.given]
        symbols = {s.id: as_print(printer.operand(s, 3)) for s in valued}
        return {"symbols": symbols, "results": printed}


@pytest.fixture(scope="module", params=LABS, ids=lambda given: given.lab.id)
def there(request: pytest.FixtureRequest) -> Bench:
    return Bench(request.param)


def test_the_working_with_other_numbers_is_that_of_the_key(
    scripts: Page, thorough: bool, there: Bench
) -> None:
    assert {*there.paths} >= {*there.working["givens"]} - {"gravity"}
    cases = [there.own(tiny=0.2) for _ in range(500 if thorough else 6)]
    sets, done = [[typed, {}] for typed, _ in cases], 0
    for (_, words), got in zip(cases, scripts.evaluate(ASKED, [there.working, sets]), strict=True):
        if got is None:
            continue
        done += 1
        expected = there.expected(words)
        assert got["results"] == expected["results"], words
        values = there.working["values"]
        known = {i: each for i, each in got["symbols"].items() if each != "–" and i not in values}
        assert known == {id_: expected["symbols"][id_] for id_ in known}, words
    assert done >= len(cases) / 5


def test_what_the_key_refuses_isnt_put_in(scripts: Page, there: Bench) -> None:
    """Numbers out of the bounds of files, or with which nothing moves as it did."""
    refused, units = [], dict(numbers.quantities_of(there.scenario))
    for id_, path in there.paths.items():
        number, unit = float(units[path].number), units[path].unit
        for other in (-number, 0.0, number / 1000, 40 * number, number + 360):
            typed = f"{math.copysign(1, number) * other:.6f} {unit.replace('deg', '°')}"
            try:
                there.with_([f"{path}={other:.6f} {unit}"])
            except errors.FallworkError:
                refused.append([{id_: typed}, {}])
    assert len(refused) > len(there.paths)
    answers = scripts.evaluate(ASKED, [there.working, refused])
    assert [set_ for set_, got in zip(refused, answers, strict=True) if got] == []


def test_what_follows_from_an_earlier_value_is_that_of_the_key(
    scripts: Page, thorough: bool, there: Bench
) -> None:
    """With a bench's own givens too."""
    told, asked = 0, []
    found = results(there.lesson(there.set_up(there.scenario)))
    for each in found if thorough else found[:: max(1, len(found) // 4)]:
        typed, words = there.own() if len(asked) % 2 else ({}, [])
        earlier = rounded(each.value * there.chance.uniform(0.5, 1.5), 3).text
        asked.append((each.of, words, [typed, {each.of.id: earlier}]))
    answers = scripts.evaluate(ASKED, [there.working, [each for _, _, each in asked]])
    for (of, words, (_, brought)), got in zip(asked, answers, strict=True):
        if got is None:
            continue
        plain = brought[of.id].replace(MINUS, "-").replace(" × 10", "e").translate(DIGITS)
        for one in following(there.lesson(there.with_(words)), {of.id: float(plain)}):
            told += 1
            wanted = [one.of.id, trees.as_data(one.formula)]
            at = [n for n, row in enumerate(there.working["results"]) if row[:2] == wanted]
            value = as_print(guarded(one.value, one.of.figures or 3))
            assert value in [got["results"][2 * each] for each in at], (of, one.of)
    assert told
