"""What the design of a lab's numbers is like, by hand beside each value; and numbers that can
hardly be meant, told with their place, the reason and a remedy.

The tests' scenario: m_c = 0.420 kg, m_h = 0.080 kg, mu = 0.008 ± 0.002, d = 0.600 m, the front of
the cart at 0.25 m of 1.20 m, g = 9.80665 m/s²; a = (m_h - mu m_c) g / (m_c + m_h) = 1.50316 m/s².
"""

from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from democourse import exchange
from fallwork.lesson.reviewing import doubt_in_words
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import predict
from fallwork.planning.plausible import doubts
from fallwork.planning.review import Aspect, Finding, Verdict, review
from fallwork.scenario import Scenario, load_course, load_scenario, with_numbers

TESTS = Path(__file__).parents[1]
LEVEL = load_course(TESTS / "pages" / "course").scenarios["level"]
SOUND = load_course(TESTS / "scenario" / "sound").scenarios
G = Estimate(value=9.80665, u=0.0)
DATA = yaml.safe_load(Path(__file__).with_name("doubts.yaml").read_text("utf-8"))
REVIEWED, CASES = DATA["review"], DATA["doubts"]


def found(aspect: Aspect, scenario: Scenario = LEVEL, **more: float) -> Finding:
    (one,) = (each for each in review(scenario, G, **more) if each.aspect is aspect)
    return one


def changed(**numbers: str) -> Scenario:
    """``weight_mass="12.0 g"`` puts that mass on the hanging mass."""
    return with_numbers(LEVEL, {key.replace("_", ".", 1): text for key, text in numbers.items()})


@pytest.mark.parametrize("aspect", REVIEWED["values"])
def test_each_aspect_has_its_value(aspect: str) -> None:
    value = REVIEWED["values"][aspect]
    assert found(Aspect(aspect)).value == pytest.approx(value, abs=6e-5 if value < 2 else 0)
    assert found(Aspect(aspect)).verdict is Verdict.FITS


def test_the_uncertainty_is_that_of_the_prediction() -> None:
    predicted = predict(LEVEL, G, seed=1).quantities["acceleration"]
    share = predicted.linear.u / predicted.linear.value
    assert found(Aspect.UNCERTAINTY).value == pytest.approx(share, rel=1e-6)
    assert found(Aspect.UNCERTAINTY).cause == "track.friction"


@pytest.mark.parametrize("row", REVIEWED["limits"], ids=" ".join)
def test_each_limit_is_passed_on_its_own_side(row: list[str]) -> None:
    path, number, aspect, verdict = row
    scenario = with_numbers(LEVEL, {path: number})
    assert found(Aspect(aspect), scenario).verdict is Verdict(verdict)


def test_a_sensor_that_reads_more_often_takes_more_readings() -> None:
    assert found(Aspect.READINGS, rate=20.0).value == 17
    assert found(Aspect.READINGS, rate=20.0).verdict is Verdict.LOW
    assert found(Aspect.READINGS, rate=200.0).value == 178


def test_what_is_left_out_or_stays_at_rest_is_not_judged() -> None:
    bare = replace(LEVEL, surfaces={"track": replace(LEVEL.surfaces["track"], length=None)})
    assert Aspect.ROOM not in [each.aspect for each in review(bare, G)]
    assert review(changed(weight_mass="1.0 g"), G) == ()


@pytest.mark.parametrize("name", SOUND)
def test_every_set_up_can_be_reviewed(name: str) -> None:
    aspects = [each.aspect for each in review(SOUND[name], G)]
    assert aspects == sorted(aspects, key=list(Aspect).index)
    if name == "train":  # of two carts on a track the foremost needs the room
        assert found(Aspect.ROOM, SOUND[name]).of == "front"


# ---- numbers that can hardly be meant

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


@pytest.mark.parametrize("name", CASES)
def test_a_number_that_can_hardly_be_meant_is_told(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    case, path = CASES[name], Path("set-up.yaml")
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
