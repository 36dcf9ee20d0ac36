"""What the things of a set-up are called, and what their names may be.

A name is what files and addresses have; a noun is what every text, figure and message says, and
nothing but this table turns a name into words. The rules take a text and give it back, or raise
Refusal with one that would do.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import count
from typing import Any

from fallwork.errors import table
from fallwork.scenario.report import Refusal, shown

EARTH = "Earth"
BENCH = "bench"
NAME = r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*"
ID = r"[a-z0-9]+(?:-[a-z0-9]+)*"
_LONGEST = 40
_RESERVED_TERMS = ("assets", "search", "step")  # folders of the site that are no term
_WORDS: Any = table("scenario", "nouns")
_NOUN = re.compile(r"[^\W\d_]\w*(?:['’-]\w+)*(?: \w+(?:['’-]\w+)*)*")
_LABELLED = re.compile(r".* ([0-9]+|[A-Z])")
_NUMBERED = re.compile(r"(?<![a-z0-9])([a-z]{3,})([0-9]+)(?![a-z0-9])")
_SIGN = re.compile(r"([a-z]{1,2})([0-9]*)")
# Not where it is part of an address, a file's name or an attribute.
_STRING = re.compile(
    r"(?<![\w#/.{=\"-])(?<!lab: )(?<!step )([Ss])tring(s?)(?![\w-]|\.(?:md|svg|html)\b)"
)
_NOT_PLURAL = ("ss", "us", "is", "as")  # endings of words in the singular: mass, bus, chassis, gas


@dataclass(frozen=True)
class Nouns:
    """The noun of every object, surface and string, of Earth and of the bench."""

    things: Mapping[str, tuple[str, str]]  # name -> kind, and the author's noun or ""
    hanging_mass: str = "hanging mass"  # what the course calls one

    @cached_property
    def by_name(self) -> Mapping[str, str]:
        """All of them: where several would be called the same, they are numbered."""
        given = {name: noun for name, (_, noun) in self.things.items() if noun}
        usual = ((name, _noun(name, kind)) for name, (kind, _) in self.things.items())
        own = {n: noun.replace("hanging mass", self.hanging_mass) for n, noun in usual} | given
        taken, found = Counter(own.values()), {EARTH: EARTH, BENCH: BENCH}
        for name, noun in own.items():
            bare = noun.rsplit(" ", 1)[0] if _LABELLED.fullmatch(noun) else noun
            others, numbered = {*taken, *found.values()}, (f"{bare} {n}" for n in count(1))
            alone = taken[noun] == 1 or name in given
            found[name] = noun if alone else next(n for n in numbered if n not in others)
        return found

    def noun(self, name: str) -> str:
        """Without article: ``front cart``."""
        return self.by_name[name]

    def the(self, name: str) -> str:
        """With its article, ``the front cart``; a name has none: Earth, cart 2, block A."""
        noun = self.by_name[name]
        return noun if name == EARTH or _LABELLED.fullmatch(noun) else f"the {noun}"

    def worded(self, text: str) -> str:
        """A text about it that says string, in the author's own word where all strings have it:
        thread, of ``thread`` as of ``left-thread`` and ``right-thread``.
        """
        strings = [self.noun(name) for name, (kind, _) in self.things.items() if kind == "string"]
        words = {re.sub(r" ([0-9]+|[A-Z])$", "", noun).rpartition(" ")[2] for noun in strings}
        if len(words) != 1 or (word := words.pop()) not in _WORDS["strings"]:
            return text
        capital = word.capitalize()
        return _STRING.sub(lambda old: f"{word if old[1] == 's' else capital}{old[2]}", text)

    def listed(self, names: Iterable[str]) -> str:
        """Without articles: ``cart, string, Earth``."""
        return ", ".join(map(self.noun, names))


def _noun(name: str, kind: str) -> str:
    """The noun that a name has by itself: ``left`` -> left hanging mass, ``cart2`` -> cart 2, ``a``
    -> cart A, ``m2`` -> hanging mass 2.
    """
    held, articles = _WORDS["held"], _WORDS["articles"]
    own = _WORDS["kinds"].get(kind) or {"noun": kind, "words": [kind]}
    words = _NUMBERED.sub(r"\1-\2", name).split("-")
    if len(words) > 1 and words[0] in articles:
        del words[0]
    label = ""
    if len(words) > 1 and (words[-1].isdigit() or len(words[-1]) == 1):
        label = " " + words.pop().upper()
    if len(words) == 1 and (sign := _SIGN.fullmatch(words[0])):
        letters, digits = sign.groups()
        initials = {part[0] for part in [*own["noun"].split(" "), *own["words"]]} | {"m"}
        if not (digits and letters in initials):
            digits = f"{letters.upper() if len(letters) == 1 else letters}{digits}"
        return f"{own['noun']} {digits}{label}"
    if _singular(words[0]) in own["words"]:
        words = [*words[1:], words[0]]  # weight-left -> left weight
    if _singular(words[-1]) in own["words"]:
        words = words[:-1]
    elif words[-1] not in (*_WORDS["adjectives"], *held):
        whole = " ".join(words)
        return f"set of {whole}{label}" if _is_plural(words[-1]) else f"{whole}{label}"
    first, _, bare = own["noun"].partition(" ")
    doubled = first in held and any(word in held for word in words)
    return " ".join([*words, bare if doubled else own["noun"]]) + label


def _is_plural(word: str) -> bool:
    return len(word) > 2 and word.endswith("s") and not word.endswith(_NOT_PLURAL)


def _singular(word: str) -> str:
    if word.endswith("sses"):
        return word.removesuffix("es")
    return word.removesuffix("s") if _is_plural(word) else word


def noun(text: str) -> str:
    """What texts may call an object."""
    first, _, rest = text.partition(" ")
    if first.lower() in _WORDS["articles"]:
        raise Refusal("article", right=rest or "e.g. red cart")
    if not _NOUN.fullmatch(text) or len(text) > _LONGEST:
        raise Refusal("no-noun", text=shown(text), most=_LONGEST)
    if _is_plural(text.split(" ")[-1].lower()):
        raise Refusal("plural", text=text)
    if text.lower() in (EARTH.lower(), BENCH):
        raise Refusal("noun-taken", text=shown(text))
    return text


def object_name(text: str, what: str) -> str:
    """A name that can stand in an address."""
    if len(text) > _LONGEST:
        raise Refusal("long-name", what=what, text=shown(text), most=_LONGEST)
    return _in_address(text, what, "name", NAME, "e.g. cart-a")


def lab_id(text: str, what: str) -> str:
    """An id that can stand in an address."""
    return _in_address(text, what, "id", ID, "level-track")


def term_id(text: str, what: str) -> str:
    """An id of a term, whose pages stand directly below the site."""
    if text in _RESERVED_TERMS:
        raise Refusal("id-taken", what=what, text=shown(text))
    return lab_id(text, what)


def _in_address(text: str, what: str, reason: str, pattern: str, example: str) -> str:
    if re.fullmatch(pattern, text):
        return text
    plain = re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")
    right = plain if re.fullmatch(pattern, plain) else example
    raise Refusal(reason, what=what, text=shown(text), right=right)
