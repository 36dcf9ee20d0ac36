"""Small pieces that several steps use: heads of tables, the words for kinds of force."""

from fractions import Fraction

from fallwork.lesson.document import Text
from fallwork.lesson.words import sentence
from fallwork.mechanics.solution import Force, Interaction

_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def head(step: str, *columns: str) -> tuple[Text, ...]:
    """The heads of a table's columns."""
    return tuple((sentence(f"{step}.head.{column}"),) for column in columns)


def kind_of(force: Force) -> str:
    """The trade's word for a kind of force on a mover."""
    return sentence(f"kinds.{force.interaction.key}")


def kind_of_other(force: Force) -> str:
    """The same for a force on a pulley or a string."""
    others = {Interaction.CONTACT: "push", Interaction.AXLE: "fixed-axle"}
    if force.interaction in others:
        return sentence(f"kinds.{others[force.interaction]}")
    return kind_of(force)


def times_word(factor: Fraction) -> str:
    """``twice``, ``three times``: how many times as far."""
    if factor.denominator != 1:
        return f"{factor} times"
    return "twice" if factor == 2 else f"{count_word(factor)} times"


def count_word(count: int | Fraction) -> str:
    """A small whole number as a word; any other one in digits."""
    small = count.denominator == 1 and count < len(_COUNTS)
    return _COUNTS[int(count)] if small else str(count)
