"""What the things of a set-up are called: one noun each, used by every text, figure and message.

Takes the names of a scenario file with their kinds and the nouns that its author gave; gives the
noun of each. Names stay in files and addresses; nothing but this table turns one into words.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from itertools import count
from typing import Any

import yaml

EARTH = "Earth"
BENCH = "bench"
_LABELLED = re.compile(r".* ([0-9]+|[A-Z])")
_NUMBERED = re.compile(r"([a-z]{3,})([0-9]+)")
_SIGN = re.compile(r"([a-z]{1,2})([0-9]*)")
_NOT_PLURAL = ("ss", "us", "is", "as")  # endings of words in the singular: mass, bus, chassis, gas


@dataclass(frozen=True)
class Nouns:
    """The noun of every object, surface and string, of Earth and of the bench."""

    things: Mapping[str, tuple[str, str]]  # name -> kind, and the author's noun or ""
    by_name: Mapping[str, str] = field(init=False)

    def __post_init__(self) -> None:
        given = {name: noun for name, (_, noun) in self.things.items() if noun}
        own = {name: _noun(name, kind) for name, (kind, _) in self.things.items()} | given
        taken = Counter(own.values())
        found = {EARTH: EARTH, BENCH: BENCH}
        for name, noun in own.items():
            alone = taken[noun] == 1 or name in given
            found[name] = noun if alone else _numbered(noun, {*taken, *found.values()})
        object.__setattr__(self, "by_name", found)

    def noun(self, name: str) -> str:
        """Without article: ``front cart``."""
        return self.by_name[name]

    def the(self, name: str) -> str:
        """With its article, ``the front cart``; a name has none: Earth, cart 2, block A."""
        noun = self.by_name[name]
        return noun if name == EARTH or _LABELLED.fullmatch(noun) else f"the {noun}"

    def listed(self, names: Iterable[str]) -> str:
        """Without articles: ``cart, string, Earth``."""
        return ", ".join(map(self.noun, names))


def _numbered(noun: str, taken: set[str]) -> str:
    bare = noun.rsplit(" ", 1)[0] if _LABELLED.fullmatch(noun) else noun
    return next(each for number in count(1) if (each := f"{bare} {number}") not in taken)


def _noun(name: str, kind: str) -> str:
    """The noun that a name has by itself: ``left`` -> left hanging mass, ``cart2`` -> cart 2."""
    words = list(_split(name))
    if len(words) > 1 and words[0] in word_lists()["articles"]:
        del words[0]
    label = ""
    if len(words) > 1 and (words[-1].isdigit() or len(words[-1]) == 1):
        label = words.pop().upper()
    noun = _of_sign(words[0], kind) if len(words) == 1 and _SIGN.fullmatch(words[0]) else ""
    return f"{noun or _of_words(words, kind)} {label}".strip()


def _split(name: str) -> Iterator[str]:
    for word in name.split("-"):
        numbered = _NUMBERED.fullmatch(word)
        yield from numbered.groups() if numbered else (word,)


def _of_sign(word: str, kind: str) -> str:
    """``a`` -> cart A, ``m2`` -> hanging mass 2; "" for a word that says by itself what it is."""
    letters, digits = _SIGN.fullmatch(word).groups()  # type: ignore[union-attr]
    general = _kind(kind)["noun"]
    initials = {part[0] for part in [*general.split(" "), *_kind(kind)["words"]]} | {"m"}
    if digits and letters in initials:
        return f"{general} {digits}"
    return f"{general} {letters.upper() if len(letters) == 1 else letters}{digits}"


def _of_words(words: list[str], kind: str) -> str:
    own = _kind(kind)["words"]
    if _singular(words[0]) in own:
        words = [*words[1:], words[0]]  # weight-left -> left weight
    if _singular(words[-1]) in own:
        return _with_adjectives(words[:-1], _kind(kind)["noun"])
    if words[-1] in {*word_lists()["adjectives"], *word_lists()["held"]}:
        return _with_adjectives(words, _kind(kind)["noun"])
    return f"set of {' '.join(words)}" if is_plural(words[-1]) else " ".join(words)


def _with_adjectives(adjectives: list[str], noun: str) -> str:
    held = word_lists()["held"]
    own, _, bare = noun.partition(" ")
    doubled = own in held and any(word in held for word in adjectives)
    return " ".join([*adjectives, bare if doubled else noun])


def is_plural(word: str) -> bool:
    """Whether a word in small letters looks like a plural."""
    return len(word) > 2 and word.endswith("s") and not word.endswith(_NOT_PLURAL)


def _singular(word: str) -> str:
    if word.endswith("sses"):
        return word.removesuffix("es")
    return word.removesuffix("s") if is_plural(word) else word


def _kind(kind: str) -> Mapping[str, Any]:
    known: Mapping[str, Any] = word_lists()["kinds"].get(kind) or {"noun": kind, "words": [kind]}
    return known


@cache
def word_lists() -> Mapping[str, Any]:
    """The lists of words beside this module."""
    source = resources.files("fallwork.scenario") / "nouns.yaml"
    found: Mapping[str, Any] = yaml.load(source.read_text(encoding="utf-8"), yaml.BaseLoader)
    return found
