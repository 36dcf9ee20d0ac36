"""The error that mechanics raises: an apparatus that can't be, with the objects concerned.

Takes nothing; ``from_scenario`` adds the place in the file.
"""

from fallwork.errors import FallworkError


class ImpossibleApparatus(FallworkError):
    """Objects that can't stand together as described.

    ``objects`` are the names concerned, ``found`` says what is wrong and ``expected`` what would
    be right, both as parts of a sentence. ``number`` is the path of the number at fault, if any.
    """

    def __init__(
        self, objects: tuple[str, ...], *, found: str, expected: str, number: str = ""
    ) -> None:
        super().__init__(objects, found, expected)
        self.objects = objects
        self.number = number
        self.found = found
        self.expected = expected

    def __str__(self) -> str:
        return f"{', '.join(self.objects)}: {self.found}; {self.expected}"
