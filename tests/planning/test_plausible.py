"""Numbers and dates that can hardly be meant are told with their place, the reason and a remedy."""

from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml

from fallwork.lesson.reviewing import date_in_words, doubt_in_words
from fallwork.planning.plausible import doubtful_dates, doubts, doubts_of_course
from fallwork.scenario import load_course, load_scenario
from pages.course_moments import COURSE

SCENARIOS = Path(__file__).parents[2] / "site-data/scenarios"
ZOO = Path(__file__).parents[1] / "lesson/zoo"
CART = """\
title: Cart
objects:
  cart: {kind: cart, mass: 420 g, runs_on: track, starts_at: 0.25 m}
  weight: {kind: hanging, mass: 80 g}
  wheel: {kind: pulley, mass: 12 g, radius: 2.5 cm, bearing_torque: 0.2 mN m}
surfaces:
  track: {slope: 0 deg, friction: 0.008, length: 2 m}
strings: {string: [cart, wheel, weight]}
run: {start: rest, object: weight, distance: 0.6 m}
systems: {cart-alone: {title: The cart, members: [cart]}}
"""
BLOCK = CART.replace("kind: cart", "kind: block")


def told(folder: Path, text: str, old: str, new: str) -> list[str]:
    assert old in text
    path = folder / "set-up.yaml"
    path.write_text(text.replace(old, new), "utf-8")
    return [f"{each.place}: {doubt_in_words(each)}" for each in doubts(load_scenario(path))]


CASES = {
    "a cart in kilograms": (CART, "420 g", "620 kg"),
    "a cart in milligrams": (CART, "420 g", "420 mg"),
    "a weight in kilograms": (CART, "80 g", "80 kg"),
    "wheels of a kilogram": (CART, "420 g", "9 kg, wheels: {count: 4, mass: 1 kg}"),
    "a coefficient without its zeros": (CART, "friction: 0.008", "friction: 8"),
    "a block's coefficient on a cart": (CART, "friction: 0.008", "friction: 0.3"),
    "a block's coefficient without its zeros": (BLOCK, "friction: 0.008", "friction: 3"),
    "a distance in metres": (
        CART,
        "distance: 0.6 m",
        "distance: 60 m",
        "length: 2 m",
        "length: 99 m",
    ),
    "a track in centimetres": (CART, "distance: 0.6 m", "distance: 2 cm"),
    "a radius in metres": (CART, "2.5 cm", "2.5 m"),
    "a torque in newton metres": (CART, "0.2 mN m", "0.2 N m"),
    "a slope in radians": (CART, "slope: 0 deg", "slope: 1.5 rad"),
    "a push in metres": (CART, "start: rest", "start: 40 m/s"),
    "a time in milliseconds": (CART, "distance: 0.6 m", "distance: 0.6 m, until: 2 ms"),
}


def expected(name: str) -> str:
    file = Path(__file__).parent / "doubts.yaml"
    texts: dict[str, str] = yaml.safe_load(file.read_text("utf-8"))
    return texts[name]


@pytest.mark.parametrize("name", CASES)
def test_a_number_that_can_hardly_be_meant_is_told(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text, *changes = CASES[name]
    for old, new in zip(changes[2::2], changes[3::2], strict=True):
        text = text.replace(old, new)
    assert "\n".join(told(Path(), text, changes[0], changes[1])) == expected(name)


def test_a_block_may_rub_as_a_cart_may_not(tmp_path: Path) -> None:
    assert told(tmp_path, BLOCK, "friction: 0.008", "friction: 0.3") == []


@pytest.mark.parametrize(
    "path", [*SCENARIOS.glob("*.yaml"), *ZOO.glob("*.yaml")], ids=lambda path: path.stem
)
def test_honest_set_ups_are_not_doubted(path: Path) -> None:
    assert list(doubts(load_scenario(path))) == []


# ---- the course and its dates


def course(folder: Path, changes: dict[str, str], file: str) -> Path:
    text = (COURSE / file).read_text("utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    for each in ("course.yaml", "scenarios/level.yaml", "terms/2027-spring.yaml"):
        (folder / each).parent.mkdir(exist_ok=True)
        (folder / each).write_text((COURSE / each).read_text("utf-8"), "utf-8")
    (folder / file).write_text(text, "utf-8")
    return folder


def test_g_is_that_of_earth(tmp_path: Path) -> None:
    data = load_course(course(tmp_path, {"9.80665 m/s²": "981 m/s²"}, "course.yaml"))
    (doubt,) = doubts_of_course(data.course)
    assert f"{doubt.place}: {doubt_in_words(doubt)}" == (
        f"{tmp_path}/course.yaml:2:1: gravity is 981 m/s²: everywhere on Earth g is between "
        "9.76 m/s² and 9.84 m/s²; was 981 cm/s² meant?"
    )


def dates(folder: Path, changes: dict[str, str]) -> Iterator[str]:
    (term,) = load_course(course(folder, changes, "terms/2027-spring.yaml")).terms
    for each in doubtful_dates(term):
        words = date_in_words(each, term.id, ZoneInfo("Europe/Berlin"))
        yield f"{each.place.line}:{each.place.column}: {each.lab}: {words}"


def test_a_date_a_year_off_the_others_is_told(tmp_path: Path) -> None:
    assert list(dates(tmp_path, {"opens: 2027-02-01": "opens: 2026-02-01"})) == [
        "6:12: level: opens is 2026-02-01, months away from other dates of this term such as "
        "2027-02-12: is the year right?"
    ]


def test_a_lab_of_last_year_is_told_once(tmp_path: Path) -> None:
    lab = (COURSE / "terms/2027-spring.yaml").read_text("utf-8").split("labs:\n")[1]
    more = "".join(
        lab.replace("level:", f"{name}:\n    scenario: level").replace("2027-", f"{year}-")
        for name, year in (("second", 2027), ("third", 2026))
    )
    assert [each.partition(" is ")[0] for each in dates(tmp_path, {lab: lab + more})] == [
        "20:12: third: opens"
    ]


def test_dates_of_another_year_than_the_term_s_name_are_told(tmp_path: Path) -> None:
    assert list(dates(tmp_path, {": 2027-": ": 2072-"})) == [
        "6:12: level: opens is 2072-02-01, but the term is called 2027-spring: is the year right?"
    ]


def test_a_term_over_new_year_is_not_doubted(tmp_path: Path) -> None:
    assert list(dates(tmp_path, {"opens: 2027-02-01": "opens: 2026-11-20"})) == []
