"""The lists of common mistakes and questions, checked when they are read.

Takes the name of a list and the words that its entries may use; gives the entries. An entry whose
condition, topic or letter nobody knows would never be shown, so each such word is an error with
file and line.
"""

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from string import Formatter

from fallwork.errors import BadInput, Problem
from fallwork.lesson.textfiles import place_in, texts, tree_of
from fallwork.scenario.report import meant, shown

Entry = Mapping[str, str]
FUNCTIONS = frozenset({"sqrt", "sin", "cos", "radsin"})
_SENTENCES = ("asked", "answer", "done")
_WORDS = {"topic": "topic", "needs": "condition", "of": "letter", "slip": "common mistake"}
_NOT = "not-"


@dataclass(frozen=True, kw_only=True)
class Vocabulary:
    """The keys of an entry, and the words that may stand in it."""

    keys: tuple[str, ...]
    optional: tuple[str, ...] = ("needs",)
    needs: frozenset[str]  # conditions; one with ``not-`` in front is met where it isn't
    fields: frozenset[str]  # in braces
    topics: frozenset[str] = frozenset()
    letters: frozenset[str] = frozenset()  # of formulas
    slips: frozenset[str] = frozenset()  # ids that ``slip`` may name


def known(steps: str, kind: str) -> frozenset[str]:
    """What ``vocabulary.yaml`` lists for some steps: topics, letters or fields."""
    return frozenset(texts("vocabulary")[steps][kind].split())


@dataclass(frozen=True)
class Facts:
    """Which conditions hold, of all that are known."""

    names: frozenset[str]
    known: frozenset[str] = frozenset()

    @classmethod
    def of(cls, found: Mapping[str, object]) -> "Facts":
        """From every condition with what tells whether it holds."""
        return cls(frozenset(name for name, holds in found.items() if holds), frozenset(found))

    def hold(self, needs: str) -> bool:
        """Whether all conditions (separated by spaces) are met; ``not-`` turns one round."""
        return all(
            (need.removeprefix(_NOT) in self.names) != need.startswith(_NOT)
            for need in needs.split()
        )


def raised(entries: tuple[Entry, ...], topic: str, facts: Facts) -> Iterator[Entry]:
    """The entries of a topic whose conditions are met."""
    for entry in entries:
        if topic in entry["topic"].split() and facts.hold(entry.get("needs", "")):
            yield entry


@cache
def entries(file: str, vocabulary: Vocabulary) -> tuple[Entry, ...]:
    """The entries of a list; raises ``BadInput`` with everything that is wrong in it."""
    found = texts(file)
    faults = [
        fault
        for at, entry in enumerate(found)
        for fault in (*_faults(at, entry, vocabulary), *_doubled(at, found))
    ]
    if faults:
        tree = tree_of(file)
        raise BadInput(
            tuple(
                Problem(place=place_in(tree, each.way), found=each.found, expected=each.expected)
                for each in faults
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class _Fault:
    way: tuple[str | int, ...]  # position of the entry, and the key in it
    found: str
    expected: str


def _doubled(at: int, found: list[Entry]) -> Iterator[_Fault]:
    name = found[at].get("id")
    if name is not None and any(entry.get("id") == name for entry in found[:at]):
        yield _Fault((at, "id"), f"the id {shown(name)} a second time", "choose another")


def _faults(at: int, entry: Entry, vocabulary: Vocabulary) -> Iterator[_Fault]:
    keys = (*vocabulary.keys, *vocabulary.optional)
    for key in vocabulary.keys:
        if key not in entry:
            yield _Fault((at,), f"an entry without {key}", f"add {key}")
    for key, value in entry.items():
        if key not in keys:
            yield _Fault((at, key), f"unknown key {shown(key)}", _meant(key, keys))
        elif key in _SENTENCES:
            yield from _in_sentence((at, key), value, vocabulary.fields)
        elif key == "formula":
            yield from _in_formula((at, key), value, vocabulary.letters)
        elif key in _WORDS:
            yield from _in_words((at, key), value, vocabulary)


def _in_words(way: tuple[int, str], value: str, vocabulary: Vocabulary) -> Iterator[_Fault]:
    key = way[1]
    allowed = {
        "topic": vocabulary.topics,
        "needs": vocabulary.needs,
        "of": vocabulary.letters,
        "slip": vocabulary.slips,
    }[key]
    for word in value.split():
        plain = word.removeprefix(_NOT) if key == "needs" else word
        if plain not in allowed:
            yield _Fault(way, f"unknown {_WORDS[key]} {shown(plain)}", _meant(plain, allowed))
    if key != "needs" and not value.split():
        yield _Fault(way, f"no {_WORDS[key]}", "name one")


def _in_sentence(way: tuple[int, str], value: str, allowed: frozenset[str]) -> Iterator[_Fault]:
    try:
        fields = [field for _, field, _, _ in Formatter().parse(value) if field is not None]
    except ValueError:
        yield _Fault(way, "a brace without its partner", "write {name}")
        return
    for field in fields:
        if field not in allowed and field[:1].lower() + field[1:] not in allowed:
            yield _Fault(way, f"unknown field {{{field}}}", _meant(field, allowed))


def _in_formula(way: tuple[int, str], value: str, allowed: frozenset[str]) -> Iterator[_Fault]:
    try:
        tree = ast.parse(value, mode="eval")
    except SyntaxError:
        yield _Fault(way, f"{shown(value)} is no formula", "write e.g. m2*g/(m1 + m2)")
        return
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id not in allowed | FUNCTIONS:
            yield _Fault(way, f"unknown letter {shown(node.id)}", _meant(node.id, allowed))


def _meant(word: str, words: frozenset[str] | tuple[str, ...]) -> str:
    ordered = sorted(words)
    return meant(word, ordered, f"known are {', '.join(ordered)}")
