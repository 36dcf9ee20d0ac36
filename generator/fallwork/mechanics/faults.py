"""The error that mechanics raises: an apparatus that can't be, with the objects concerned.

Takes nothing; whoever reads files adds the place in the file.
"""

from fallwork.errors import FallworkError


class ImpossibleApparatus(FallworkError):
    """Objects that can't stand together as described.

    ``objects`` are the names concerned, ``found`` says what is wrong and ``expected`` what would
    be right, both as parts of a sentence.
    """

    def __init__(self, objects: tuple[str, ...], *, found: str, expected: str) -> None:
        super().__init__(objects, found, expected)
        self.objects = objects
        self.found = found
        self.expected = expected

    def __str__(self) -> str:
        return f"{', '.join(self.objects)}: {self.found}; {self.expected}"
