"""What the things of a set-up are called in sentences.

Takes a scenario; gives the noun of each name. A name that is an adjective by itself ("left") gets
the noun of its kind ("left weight"); a short sign ("m1") gets it in front ("weight m1").
"""

import re
from collections.abc import Mapping

from fallwork.lesson.textfiles import texts
from fallwork.lesson.words import noun
from fallwork.scenario.model import Anchor, Object, Pulley, Scenario, Slider

_SIGN = re.compile(r"[A-Za-z]{1,2}[0-9]*")


def nouns_of(scenario: Scenario) -> Mapping[str, str]:
    """Every object, surface and string by its noun, without article."""
    kinds: dict[str, str] = {
        **{name: _kind(thing) for name, thing in scenario.objects.items()},
        **dict.fromkeys(scenario.surfaces, "surface"),
        **dict.fromkeys(scenario.strings, "string"),
    }
    return {name: _noun(name, kind) for name, kind in kinds.items()}


def _kind(thing: Object) -> str:
    if isinstance(thing, Slider):
        return thing.kind
    if isinstance(thing, Pulley):
        return "pulley"
    return "anchor" if isinstance(thing, Anchor) else "hanging"


def _noun(name: str, kind: str) -> str:
    words = noun(name)
    general = str(texts("names")["kinds"][kind])
    if _SIGN.fullmatch(words):
        return f"{general} {words}"
    adjective = words.split(" ")[-1].lower() in texts("names")["adjectives"]
    return f"{words} {general}" if adjective else words
