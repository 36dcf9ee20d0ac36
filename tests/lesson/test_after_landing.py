"""What every object does once the run's object lies on its pad."""

import math
from pathlib import Path

import pytest

from fallwork.lesson import Lesson
from fallwork.lesson.document import Step, Working
from fallwork.lesson.expression import Symbol, evaluate
from lesson.kit import DEMO, GRAVITY, ZOO, lesson_of, solved
from lesson.measured.kit import prose, words

FILES = sorted([*DEMO.glob("*.yaml"), *ZOO.glob("*.yaml")])


def after(lesson: Lesson) -> Step | None:
    return next((step for step in lesson.steps if step.id == "after-landing"), None)


def values(step: Step) -> dict[str, float]:
    """The value of each equation, by the symbol on its left."""
    equations = [e for block in step.blocks if isinstance(block, Working) for e in block.equations]
    return {
        equation.left.id.split("@")[0]: evaluate(equation.right)
        for equation in equations
        if isinstance(equation.left, Symbol)
    }


def safety(lesson: Lesson) -> str:
    return "\n".join(words(text) for text in lesson.safety)


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_each_object_that_moves_after_a_landing_has_its_acceleration_there(path: Path) -> None:
    phases = solved(path)[2].phases
    names = [phase.name for phase in phases]
    step = after(lesson_of(path, numbers=True))
    if "landing" not in names[:-1] or step is None or step.topic == "after-landing":
        return
    phase, found = phases[names.index("landing") + 1], values(step)
    bodies = solved(path)[1].bodies
    told = {
        name: abs(found[f"acceleration.{name}"])
        for name in bodies
        if phase.accelerations.get(name) or phase.start_velocities[name]
    }
    assert told == pytest.approx({name: abs(phase.accelerations[name]) for name in told})


def test_a_pulley_on_a_string_lets_the_counterweight_fall_when_a_weight_has_landed() -> None:
    """Without mass and without a pull from below, the pulley can't hold the upper string."""
    path = DEMO / "pulley-on-a-string.yaml"
    step = after(lesson_of(path, numbers=True))
    assert step is not None
    assert values(step)["acceleration.counterweight"] == GRAVITY
    assert values(step)["acceleration.left-weight"] == -GRAVITY  # up counts as positive
    assert "so it can't hold the upper string taut" in prose(step)
    assert "The counterweight falls freely from now on" in prose(step)


RISES = "still rises when the upper string and the lower string jerk taut"
TURNS = "turns round and falls back until"
OPEN = "It turns round, unless a string jerks taut first"


@pytest.mark.parametrize(
    ("path", "symbols", "numbers"),
    [
        (DEMO / "pulley-on-a-string.yaml", OPEN, RISES),
        (ZOO / "compound.yaml", OPEN, RISES),
        (ZOO / "compound-turning.yaml", OPEN, TURNS),
        (ZOO / "compound-stuck.yaml", TURNS, TURNS),
        (ZOO / "spun-pulley.yaml", TURNS, TURNS),
        (DEMO / "two-weights.yaml", TURNS, TURNS),
    ],
    ids=lambda part: part.stem if isinstance(part, Path) else "",
)
def test_whether_what_flies_up_turns_round_before_a_string_is_taut(
    path: Path, symbols: str, numbers: str
) -> None:
    """The slack of the lower string grows at v of the landed mass and shrinks with 3 g where the
    pulley has no mass; with the left mass at 2 v_c + v, it still rises after 2 v/(3 g). One
    string over fixed pulleys is as long again when its other end is back.
    """
    for shown, said in ((False, symbols), (True, numbers)):
        step = after(lesson_of(path, numbers=shown))
        assert step is not None
        assert [words for words in (RISES, TURNS, OPEN) if words in prose(step)] == [said]


def test_when_and_how_far_on_the_strings_jerk_taut() -> None:
    """By hand from the speeds at the landing, of the right mass and of the counterweight."""
    path = DEMO / "pulley-on-a-string.yaml"
    landing = solved(path)[2].phases[1].start_velocities
    right, counter = landing["right-weight"], landing["counterweight"]
    time = 2 * right / (3 * GRAVITY)
    fallen = counter * time + GRAVITY * time**2 / 2
    rises = 2 * counter + right - GRAVITY * time
    step = after(lesson_of(path, numbers=True))
    assert step is not None
    assert f"After {time:.4f} s the lower string is taut again" in prose(step)
    assert f"still moves up with {rises:.2f} m/s" in prose(step)
    assert f"The counterweight has fallen by {fallen:.4f} m" in prose(step)


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_what_runs_against_the_end_after_a_landing_is_caught_by_a_stop(path: Path) -> None:
    last, step = solved(path)[2].phases[-1], after(lesson_of(path, numbers=True))
    if step is not None and last.ends is not None and last.ends.ending.value == "reaches":
        assert "an end stop has to catch" in prose(step)


def test_before_the_release_that_is_a_caution_and_no_number() -> None:
    lesson = lesson_of(DEMO / "pulley-on-a-string.yaml", numbers=False)
    assert "the counterweight falls freely until the strings jerk taut" in safety(lesson)
    assert "It may drop back, and the string jerks taut" in safety(lesson)
    step = after(lesson)
    assert step is not None
    assert "taut again" not in prose(step)


def test_a_cart_between_two_weights_is_still_pulled_when_one_has_landed() -> None:
    """Atwood's machine with what is left: (m_l g + f - m_c g sin θ) / (m_l + m_c + half the
    wheels), against the motion; 50.0 g, 400.0 g, 4 × 15.0 g, 2°, µ = 0.008, by hand.
    """
    step = after(lesson_of(ZOO / "between.yaml", numbers=True))
    assert step is not None
    slope, cart, weight = math.radians(2.0), 0.4, 0.05
    brakes = 0.008 * cart * math.cos(slope) + weight - cart * math.sin(slope)
    expected = -brakes * GRAVITY / (cart + weight + 0.03)
    assert values(step)["acceleration.cart"] == pytest.approx(expected)
    assert "The front string goes slack" in prose(step)


def test_a_cart_that_a_string_pulls_up_a_slope_needs_a_stop_below() -> None:
    up, level = (
        safety(lesson_of(DEMO / f"{k}.yaml", numbers=False)) for k in ("incline-up", "train")
    )
    assert "Put an end stop at the lower end too" in up
    assert "lower end" not in level


def test_a_cart_pushed_away_from_the_pulley_needs_a_stop_where_it_is_pushed_to() -> None:
    """It stops by itself only if the push isn't too hard; common practice, no source."""
    away, towards = (
        safety(lesson_of(DEMO / f"push-{k}.yaml", numbers=False)) for k in ("away", "towards")
    )
    assert "Pushed too hard, the cart would reach the end of the track" in away
    assert "Pushed too hard" not in towards


def test_a_cart_that_nothing_brakes_is_caught_by_an_end_stop() -> None:
    """Frictionless: v² = 2 a d = 2 × 20.0/270.0 × 9.80665 m/s² × 0.800 m, v = 1.08 m/s."""
    step = after(lesson_of(DEMO / "level-track-frictionless.yaml", numbers=True))
    assert step is not None
    assert "still with 1.08 m/s; an end stop has to catch the cart there" in prose(step)


@pytest.mark.parametrize(
    ("path", "kind"), [(DEMO / "level-track.yaml", "Rolling"), (ZOO / "lone-block.yaml", "Kinetic")]
)
def test_friction_is_called_what_its_coefficient_is(path: Path, kind: str) -> None:
    said = "".join(prose(step) for step in lesson_of(path, numbers=False).steps)
    assert f"{kind} friction follows from the normal force:" in said
