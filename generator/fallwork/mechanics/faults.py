"""What can't be: the errors that mechanics raises, with the objects concerned.

Takes nothing. Which words go with a reason is the scenario stage's, as of all its rules;
``from_scenario`` adds the place in the file.
"""

from enum import Enum

from fallwork.errors import FallworkError
from fallwork.scenario.report import Words, refusal


class Reason(Enum):
    """Why a set-up can't be, though each of its parts can; the value is the key of the words."""

    BOTH_ENDS_FIXED = "both-ends-fixed"
    NOTHING_TURNS = "nothing-turns"
    UNHELD = "unheld"
    UNHELD_PULLEY = "unheld-pulley"
    LOOP = "loop"
    OVER_AND_UNDER = "over-and-under"
    HELD_START = "held-start"
    NO_MOTION_FOUND = "no-motion-found"

    @property
    def words(self) -> Words:
        """What is wrong, and what would be right."""
        return refusal(self.value)


class ImpossibleApparatus(FallworkError):
    """Objects that can't stand together as described.

    ``objects`` are the names concerned; ``number`` is the path of the number at fault, if any.
    """

    def __init__(self, reason: Reason, *objects: str, number: str = "") -> None:
        super().__init__(reason, *objects)
        self.reason, self.objects, self.number = reason, objects, number

    def __str__(self) -> str:
        found, expected = self.reason.words
        return f"{', '.join(self.objects)}: {found}; {expected}"


class NoModeFound(FallworkError):
    """No mode fulfils its conditions: beyond what the solver can do."""

    reason = Reason.NO_MOTION_FOUND

    def __str__(self) -> str:
        return "; ".join(self.reason.words)
