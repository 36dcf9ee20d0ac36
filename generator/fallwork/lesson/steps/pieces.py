"""Small pieces that several steps use: heads of tables."""

from fallwork.lesson.document import Text
from fallwork.lesson.words import sentence


def head(step: str, *columns: str) -> tuple[Text, ...]:
    """The heads of a table's columns."""
    return tuple((sentence(f"{step}.head.{column}"),) for column in columns)
