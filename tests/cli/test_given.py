"""``fallwork key --given``: what follows from a student's own value, by hand beside each check.

The tests' scenario: m_c = 0.420 kg, m_h = 0.080 kg, mu = 0.008, d = 0.600 m, g = 9.80665 m/s2.
"""

import json
from pathlib import Path

import pytest

from cli.runner import Run

FRICTION = 0.008 * 0.420 * 9.80665


def follows(run: Run, *given: str) -> dict[str, float]:
    """Quantity -> what the first equation that changes gives for it."""
    words = [word for each in given for word in ("--given", each)]
    status, output, messages = run("key", "level", "--json", *words)
    assert (status, messages) == (0, "")
    found: dict[str, float] = {}
    for row in json.loads(output)["follows"]:
        found.setdefault(row["quantity"], row["value"])
    return found


def test_work_and_energy_follow_from_a_tension(folder: Path, run: Run) -> None:
    found = follows(run, "tension=0.78 N")
    assert found["work.tension of string on cart"] == pytest.approx(0.78 * 0.600)
    assert found["kinetic.cart"] == pytest.approx((0.78 - FRICTION) * 0.600)
    assert "acceleration" not in found


def test_everything_after_it_follows_from_an_acceleration(folder: Path, run: Run) -> None:
    found = follows(run, "acceleration=1.60 m/s²")
    speed = (2 * 1.60 * 0.600) ** 0.5
    assert found["tension.string"] == pytest.approx(0.080 * (9.80665 - 1.60))
    assert found["speed"] == pytest.approx(speed)
    assert found["time"] == pytest.approx(speed / 1.60)


def test_two_values_may_be_given(folder: Path, run: Run) -> None:
    found = follows(run, "acceleration=1.60", "T=700 mN")
    assert "tension.string" not in found
    assert found["work.tension of string on cart"] == pytest.approx(0.700 * 0.600)


def test_a_value_from_which_no_speed_follows_stops_nothing(folder: Path, run: Run) -> None:
    # W = T d = 0.0060 J is less than friction takes, f d = 0.0198 J: K < 0 and v has no value.
    found = follows(run, "tension=0.01 N")
    assert found["kinetic.cart"] == pytest.approx((0.01 - FRICTION) * 0.600)
    assert "speed" not in found


def test_a_wrong_speed_changes_no_distance_that_is_given(folder: Path, run: Run) -> None:
    found = follows(run, "speed=1.50 m/s")
    assert found["time"] == pytest.approx(1.50 / 1.503163312)
    assert "work.tension of string on cart" not in found


def test_right_values_change_nothing_but_the_rounding(folder: Path, run: Run) -> None:
    right = json.loads(run("key", "level", "--json")[1])["phases"][0]
    found = follows(run, f"acceleration={right['accelerations']['cart']:.12f}")
    assert found["tension.string"] == pytest.approx(right["tensions"]["string"]["cart"])


def test_the_table_says_what_follows_and_from_which_equation(folder: Path, run: Run) -> None:
    _, output, _ = run("key", "level", "--given", "tension=0.78 N")
    assert "\nWhat follows from T = 0.78 N\n" in output
    assert (
        "  work of the pull of the string on the cart: 0.468 J (in the key 0.399), "
        "from T d, step cart-alone-work\n"
    ) in output


def test_without_given_values_the_key_is_as_before(folder: Path, run: Run) -> None:
    assert "follows" not in run("key", "level", "--json")[1]
    assert "What follows" not in run("key", "level")[1]


@pytest.mark.parametrize(
    ("given", "start"),
    [
        ("colour=1", 'no quantity is called "colour"; there is normal.cart (normal force of'),
        ("work=1 J", '"work" may be several quantities; write one of work.tension of string on'),
    ],
)
def test_what_cannot_be_given_is_told(folder: Path, run: Run, given: str, start: str) -> None:
    status, output, message = run("key", "level", "--given", given)
    assert (status, output) == (2, "")
    assert message.startswith(start)
