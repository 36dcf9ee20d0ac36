"""Numbers and dates that can hardly be meant are told with their place, the reason and a remedy."""

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml

from democourse import exchange
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
CASES = yaml.safe_load(Path(__file__).with_name("doubts.yaml").read_text("utf-8"))
FINE = {"edits": {"kind: cart": "kind: block", "friction: 0.008": "friction: 0.3"}, "says": ""}
TERM = "terms/2027-spring.yaml"


@pytest.mark.parametrize("name", [*CASES, "a block may rub as a cart may not"])
def test_a_number_that_can_hardly_be_meant_is_told(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    case, path = CASES.get(name, FINE), Path("set-up.yaml")
    path.write_text(CART, "utf-8")
    for old, new in case["edits"].items():
        exchange(path, old, new)
    told = (f"{each.place}: {doubt_in_words(each)}" for each in doubts(load_scenario(path)))
    assert "\n".join(told) == case["says"]


@pytest.mark.parametrize(
    "path", [*SCENARIOS.glob("*.yaml"), *ZOO.glob("*.yaml")], ids=lambda path: path.stem
)
def test_honest_set_ups_are_not_doubted(path: Path) -> None:
    assert list(doubts(load_scenario(path))) == []


# ---- the course and its dates


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A copy of the tests' own course."""
    for each in ("course.yaml", "scenarios/level.yaml", TERM):
        (tmp_path / each).parent.mkdir(exist_ok=True)
        (tmp_path / each).write_text((COURSE / each).read_text("utf-8"), "utf-8")
    return tmp_path


def test_g_is_that_of_earth(course: Path) -> None:
    exchange(course / "course.yaml", "9.80665 m/s²", "981 m/s²")
    (doubt,) = doubts_of_course(load_course(course).course)
    assert f"{doubt.place}: {doubt_in_words(doubt)}" == (
        f"{course}/course.yaml:2:1: gravity is 981 m/s²: everywhere on Earth g is between "
        "9.76 m/s² and 9.84 m/s²; was 981 cm/s² meant?"
    )


LAB = (COURSE / TERM).read_text("utf-8").split("labs:\n")[1]
OTHERS = "".join(
    LAB.replace("level:", f"{name}:\n    scenario: level").replace("2027-", f"{year}-")
    for name, year in (("second", 2027), ("third", 2026))
)
MONTHS_AWAY = "months away from other dates of this term such as"


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            *("opens: 2027-02-01", "opens: 2026-02-01"),
            f"6:12: level: opens is 2026-02-01, {MONTHS_AWAY} 2027-02-12: is the year right?",
        ),
        (
            LAB,
            LAB + OTHERS,
            f"20:12: third: opens is 2026-02-01, {MONTHS_AWAY} 2027-02-01: is the ",
        ),
        (
            *(": 2027-", ": 2072-"),
            "6:12: level: opens is 2072-02-01, but the term is called 2027-spring: is the year "
            "right?",
        ),
        ("opens: 2027-02-01", "opens: 2026-11-20", ""),  # a term over new year
    ],
)
def test_a_date_a_year_off_is_told_once_a_lab(course: Path, old: str, new: str, told: str) -> None:
    exchange(course / TERM, old, new)
    (term,) = load_course(course).terms
    found = [
        f"{each.place.line}:{each.place.column}: {each.lab}: "
        f"{date_in_words(each, term.id, ZoneInfo('Europe/Berlin'))}"
        for each in doubtful_dates(term)
    ]
    assert len(found) == bool(told)
    assert "".join(found).startswith(told)
