"""Choose your system: every choice agrees with the answer key; by touch, keyboard and address."""

import json
import math
from collections.abc import Mapping
from typing import Any

import pytest
from click.testing import CliRunner
from playwright.sync_api import Locator, Page, expect

from browser.reading import DESK, PHONE, Place, Reader, Way, script
from browser.test_accessibility import LOST_FOCUS, violations
from fallwork.cli import main
from fallwork.scenario import load_course
from fallwork.scenario.nouns import Nouns

TERM, STEP = "2026-autumn", "other-systems"
LEVEL_TRACK = f"{TERM}/level-track"
SHARE = ("level-track", "heavy-pulley", "push-away", "moving-pulley")
WORDS = {  # what the page calls a kind of force, by the key's word
    **{word: {word.capitalize()} for word in ("tension", "friction", "gravity", "contact")},
    "bearing torque": {"Bearing torque"},
    "normal": {"Normal force"},
    "axle": {"Axle", "Pull"},
    "rolling": {"Force at the rims"},
}
# Makes every choice by clicks, and reads what the page says of each.
EVERY_CHOICE = script("choices")


def address(lab: str, page: str, *members: str) -> str:
    asked = f"?system={'.'.join(members)}" if members else ""
    return f"{TERM}/{lab}/{page}.html{asked}#{STEP}"


def box(page: Page) -> Locator:
    return page.locator(f"#{STEP}-choices")


def chosen(page: Page) -> list[str]:
    """What is ticked."""
    ticked = page.locator("fieldset label:has(input:checked)").all_inner_texts()
    return [each.strip() for each in ticked]


def close(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-11)


def fits(said: str, force: str, nouns: Nouns) -> bool:
    """Whether an entry of the page is about a force of the key."""
    kind, _, others = force.partition(" of ")
    by, _, on = others.partition(" on ")
    ends = f" of {nouns.the(by)} on {nouns.the(on)}:"
    return ends in said and any(said.startswith(word) for word in WORDS[kind])


def assert_agrees(said: Mapping[str, Any], account: Mapping[str, Any], nouns: Nouns) -> None:
    works, shown = account["external_works"], [*said["working"], *said["idle"]]
    for words, value in shown:
        (name,) = (name for name in works if fits(words, name, nouns))
        assert close(works[name], value or 0.0), words
        assert (value is None) == (works[name] == 0), words
    left_out = [n for n in works if not any(fits(words, n, nouns) for words, _ in shown)]
    assert [works[name] for name in left_out] == [0.0] * len(left_out)
    kinds: dict[str, float] = {}
    for words, value in said["energies"]:
        kind = next(k for k in account["energy_changes"] if f"{k} energy" in words.lower())
        kinds[kind] = kinds.get(kind, 0.0) + value
    for kind, change in account["energy_changes"].items():
        assert close(kinds.get(kind, 0.0), change), kind
    sums = account["external_work"], account["energy_change"]
    assert all(map(close, said["sums"], sums))
    assert len(said["sums"]) == 2


def test_every_choice_of_every_set_up_agrees_with_the_key(
    reader: Reader, thorough: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    course = reader.site.folder.parents[2] / "course"
    monkeypatch.chdir(course)
    data, seen = load_course(course / "site-data"), 0
    (term,) = (term for term in data.terms if term.id == TERM)
    with reader.window(Way()) as window:
        for lab in term.labs if thorough else [lab for lab in term.labs if lab.id in SHARE]:
            result = CliRunner().invoke(main, ("key", lab.id, "--term", TERM, "--json"))
            phase = json.loads(result.stdout)["phases"][0]
            keys = {frozenset(each["members"]): each for each in phase["systems"]}
            if phase["name"] != "driven":
                continue
            choices = window.open(address(lab.id, "solution")).evaluate(EVERY_CHOICE)
            assert {frozenset(each["members"]) for each in choices} == set(keys), lab.id
            for each in choices:
                assert_agrees(each, keys[frozenset(each["members"])], lab.variant.nouns)
            seen += len(choices)
    assert seen > (1000 if thorough else 300)
    assert window.trouble == []


@pytest.mark.parametrize("place", ["folder", "server"])
def test_an_address_holds_a_choice_and_follows_it(reader: Reader, place: Place) -> None:
    with reader.window(Way(place=place)) as window:
        page = window.open(address("level-track", "prelab", "cart", "nothing-known", "string"))
        expect(page.get_by_text("Tick what belongs")).to_be_in_viewport()
        assert chosen(page) == ["cart", "string"]
        page.get_by_label("Earth", exact=True).click()
        assert page.url.endswith(f"prelab.html?system=cart.string.Earth#{STEP}")
        page.get_by_role("button", name="Copy the link to this choice").click()
        link = window.copied(f"Link copied.{window.reach}")
        assert link.endswith(f"{LEVEL_TRACK}/prelab.html?system=cart.string.Earth#{STEP}")
        page.reload()
        assert chosen(page) == ["cart", "string", "Earth"]
        plain = window.open(address("level-track", "prelab"))
        assert not box(plain).is_visible()
        assert plain.url.endswith(f"prelab.html#{STEP}")
    assert window.trouble == []


def test_the_page_says_what_changed_and_what_a_featured_choice_is_called(reader: Reader) -> None:
    with reader.window(Way()) as window:
        page = window.open(address("level-track", "prelab", "cart", "weight", "string"))
        page.get_by_label("Earth", exact=True).check()
        said = page.get_by_role("status")
        expect(said).to_have_text("Earth is inside now. External forces: 3. Doing work: 1.")
        assert "a change of potential energy" in box(page).inner_text()
        page.get_by_role("link", name="The energy balance").last.click()
        assert page.url.endswith("#all-moving-energy")


def test_by_keyboard_alone(reader: Reader) -> None:
    with reader.window(Way(width=PHONE)) as window:
        page = window.open(address("level-track", "prelab", "cart"))
        page.get_by_label("cart", exact=True).focus()
        for name in ("hanging mass", "pulley", "string", "track", "Earth"):
            page.keyboard.press("Tab")
            page.keyboard.press("Space")
            assert page.evaluate(LOST_FOCUS) == ""
            assert name in chosen(page)
        page.keyboard.press("Shift+Tab")
        page.keyboard.press("Space")
        assert chosen(page) == ["cart", "hanging mass", "pulley", "string", "Earth"]


@pytest.mark.parametrize("width", [PHONE, 390, DESK])
def test_each_thing_of_the_drawing_can_be_tapped_and_is_surrounded(
    reader: Reader, width: int
) -> None:
    names = ("cart", "weight", "pulley", "string", "track", "Earth")
    with reader.window(Way(width=width)) as window:
        page = window.open(address("level-track", "prelab", "cart"))
        drawing = box(page).locator("svg")
        offset = "each => each.offsetTop"
        place = drawing.locator("xpath=ancestor::figure").evaluate(offset)
        for name in names[1:]:
            drawing.locator(f"text[data-object='{name}']").first.click(force=True)
            assert drawing.locator("xpath=ancestor::figure").evaluate(offset) == place
        assert page.url.endswith(f"?system={'.'.join(names)}#{STEP}")
        edges = drawing.locator(".fw-edge")
        dashes = edges.first.evaluate("each => getComputedStyle(each).strokeDasharray")
        assert dashes != "none"
        many = edges.count()
        drawing.locator("path[data-object='cart']").last.click(force=True)
        assert edges.count() < many
        assert "cart" not in chosen(page)
        sizes = page.locator("fieldset label").evaluate_all(
            "all => all.map(each => each.getBoundingClientRect().height)"
        )
        assert min(sizes) >= 44


@pytest.mark.parametrize(("scheme", "width"), [("light", PHONE), ("dark", DESK)])
def test_anyone_can_use_it(reader: Reader, scheme: Any, width: int) -> None:
    with reader.window(Way(scheme=scheme, width=width)) as window:
        page = window.open(address("heavy-pulley", "solution", "cart", "string", "track"))
        assert violations(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") == width


def test_without_scripts_the_table_is_there_and_nothing_empty(reader: Reader) -> None:
    with reader.window(Way(scripts=False)) as window:
        page = window.open(address("level-track", "prelab", "cart"))
        assert box(page).locator("table caption").text_content() == "Other choices"
        assert box(page).locator("svg").count() == 1
        assert page.locator(f"#{STEP}-choices :is(input, button, fieldset)").count() == 0
