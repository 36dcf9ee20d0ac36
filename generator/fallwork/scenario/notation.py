"""The letters and words that a course is used to, where it has others than these pages.

What course.yaml says of them. Quantities have the same names everywhere inside the program and in
JSON; a notation is put on what people read, last (``lesson/notation.py``).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Annotated

from fallwork.errors import Place
from fallwork.scenario.report import fits
from fallwork.scenario.shapes import Shape, choice, text

_PATTERN = "([A-Za-z]|[A-Z]{2,3})(_[A-Za-z0-9]{1,4})?"
LETTERS = {  # of the table of letters, with the key that may give another one
    "T": "tension",
    "N": "normal_force",
    "f": "friction_force",
    "K": "kinetic_energy",
    "U": "potential_energy",
}
NUMBER = "n"
WORDS = ("hanging mass", "percent error")
ENDING = ".md.j2"  # of a file of a step
_FORCE = "F"  # a letter that all forces may share: what its subscript says is the force


def _letter(of: str, example: str) -> Shape:
    check = fits(_PATTERN, "no-letter")
    return text(f"a letter for {of}", example, check, pattern=f"^{_PATTERN}$")


@dataclass(frozen=True)
class Own:
    """A course's own file of a step: its name is that of a step, of one that is new, or with
    ``.more`` of one to which it adds.
    """

    name: str
    place: Place
    text: str


@dataclass(frozen=True, kw_only=True)
class Notation:
    """The notation of a course."""

    tension: Annotated[str, _letter("a tension", "F_T")] = "T"
    normal_force: Annotated[str, _letter("a normal force", "F_N")] = "N"
    friction_force: Annotated[str, _letter("a friction force", "f_k")] = "f"
    kinetic_energy: Annotated[str, _letter("a kinetic energy", "KE")] = "K"
    potential_energy: Annotated[str, _letter("a potential energy", "PE")] = "U"
    hanging_mass: Annotated[str, choice([WORDS[0], "hanger"])] = WORDS[0]
    percent_error: Annotated[str, choice([WORDS[1], "percent difference"])] = WORDS[1]
    words: Mapping[str, Own] = field(default_factory=dict, compare=False, repr=False)
    # ^ the course's own files of steps, by name

    @cached_property
    def letters(self) -> Mapping[str, tuple[str, str]]:
        """For each letter of the table that has another one: that, and its subscript or ""."""
        chosen = {usual: getattr(self, key) for usual, key in LETTERS.items()}
        split = {usual: new.partition("_") for usual, new in chosen.items() if new != usual}
        return {usual: (letter, mark) for usual, (letter, _, mark) in split.items()}

    @property
    def marks(self) -> frozenset[str]:
        """Subscripts that it uses."""
        own = {mark for _, mark in self.letters.values()} - {""}
        return frozenset(own | {self.mark(usual) for usual in self.letters})

    @property
    def number(self) -> str:
        """The letter for the number of trials: not n where that is a quantity's."""
        taken = {self.letters.get(usual, (usual, "")) for usual in LETTERS}
        return "N" if ("n", "") in taken and ("N", "") not in taken else NUMBER

    def mark(self, letter: str) -> str:
        """What says in a subscript that it is about a letter of the table: its work, say."""
        own, subscript = self.letters.get(letter, (letter, ""))
        return subscript or own if own == _FORCE else own

    def worded(self, said: str) -> str:
        """A text in the words of the course."""
        for usual, word in zip(WORDS, (self.hanging_mass, self.percent_error), strict=True):
            said = said if word == usual else _exchanged(said, usual, word)
        return said


USUAL = Notation()


def _exchanged(said: str, usual: str, word: str) -> str:
    """Also at the beginning of a sentence, in the plural and where a line ends within."""

    def new(old: re.Match[str]) -> str:
        found = word.replace(" ", old[2]) + ("s" if old[3] else "")
        return found if old[1].islower() else found[:1].upper() + found[1:]

    first, last = usual.split(" ")
    return re.sub(rf"\b({first})(\s+){last}((?:e?s)?)\b", new, said, flags=re.IGNORECASE)
