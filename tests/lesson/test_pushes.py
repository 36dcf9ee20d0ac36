"""What a page says of a run that a push starts and that turns round."""

from fallwork.lesson.document import Lesson
from lesson.kit import ZOO, lesson_of
from lesson.measured.kit import prose, words


def pushed_away() -> Lesson:
    return lesson_of(ZOO / "push-away.yaml", numbers=True)


def said_in(name: str) -> str:
    return prose(next(step for step in pushed_away().steps if step.id == name))


def test_a_speed_is_given_as_a_size_and_its_direction_in_words() -> None:
    """The file has -0.60 m/s; v_0 in the formulas is 0.60 m/s."""
    speed = next(given for given in pushed_away().givens if given.meaning.startswith("speed"))
    assert (speed.as_written, speed.in_si) == ("0.60 m/s", "0.60\u00a0m/s")
    assert "is given a push backward" in words(pushed_away().summary)


def test_the_path_to_the_turning_point_has_its_own_meaning() -> None:
    meanings = {
        symbol.letter + symbol.subscript: symbol.meaning for symbol in pushed_away().symbols
    }
    assert meanings["d"] == "distance that the cart moves up to the turning point"
    assert meanings["drun"] == "distance of the cart from its start at which the run ends"


def test_a_run_that_turns_round_ends_at_a_distance_from_its_start() -> None:
    assert "ends when the cart is at the distance" in said_in("time-and-speed-part-2")
    assert "has covered the distance" not in said_in("time-and-speed-part-2")


def test_the_positive_direction_is_that_of_the_first_motion() -> None:
    assert "the one in which it moves at first" in said_in("objects")
