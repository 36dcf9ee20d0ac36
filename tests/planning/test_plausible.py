"""Numbers that can hardly be meant are told with their place, the reason and a remedy."""

from pathlib import Path

import pytest
import yaml

from democourse import exchange
from fallwork.lesson.reviewing import doubt_in_words
from fallwork.planning.plausible import doubts
from fallwork.scenario import load_scenario

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
