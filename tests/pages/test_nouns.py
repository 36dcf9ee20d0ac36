"""Objects with names that are no nouns: pages, figures and keys call each by one noun."""

import html
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from democourse import exchange, own_course
from fallwork.commands.key import key_table
from fallwork.lesson.reviewing import happening
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.build import build_pages
from fallwork.scenario import Scenario, load_course
from fallwork.scenario.nouns import Nouns
from pages.history import OVER

pytestmark = pytest.mark.drawn

NAMED = Path(__file__).parent / "named"
GRAVITY = 9.80665  # m/s², 3rd CGPM (1901)
LABELLED = re.compile(r".* ([0-9]+|[A-Z])")
FIELD = re.compile(r"^.*?\n---\n|\$[^$]*\$|\]\([^)]*\)|\{[#.:][^}]*\}|<[^>]*>", re.DOTALL)
WRITTEN = re.compile(r"<(?:title|desc|text)[^>]*>(.*?)</", re.DOTALL)


def words_of(path: str, content: str) -> str:
    """What a reader sees of a page or a figure, formulas and addresses left out."""
    if path.endswith(".js"):
        text = " ".join(found_in(json.loads(content.partition("]=")[2])))
    elif path.endswith(".svg"):
        text = " ".join(WRITTEN.findall(content))
    else:
        text = FIELD.sub(" ", content)
    return " ".join(html.unescape(text).split())


def found_in(told: dict[str, Any]) -> Iterator[str]:
    """What a search shows of a lab and reads of its steps, without the words of students."""
    yield told["title"]
    for _, title, _, words, _, below, *_ in told["entries"]:
        yield f"{title} {words} {below}"
    for part in filter(None, (told["working"], told["measured"])):
        yield from (done for *_, done, _ in part["wrong"])
    yield from (meaning for meaning, *_ in told["of"].values())


def key_of(scenario: Scenario) -> str:
    apparatus = apparatus_of(scenario, GRAVITY)
    case = Case(scenario=scenario, gravity=Estimate(value=GRAVITY, u=0.0))
    table = key_table(case, apparatus, solve(apparatus), figures=3)
    (said,) = happening(scenario, GRAVITY, 3).says("sentence")
    numbers, *rest = table.split("\n\nPhase: ", 1)  # the numbers stand under names of the file
    return f"{numbers.splitlines()[0]} {' '.join(rest)} {said}"


def complaints(scenario: Scenario, text: str) -> Iterator[str]:
    """Names where a noun should stand, nouns without their article, articles without a noun."""
    nouns = scenario.nouns
    for noun in nouns.by_name.values():
        if LABELLED.fullmatch(noun):
            yield from re.findall(rf"\b[Tt]he {noun}\b", text)
    bare = text
    for noun in sorted(nouns.by_name.values(), key=len, reverse=True):
        bare = re.sub(rf"\b[{noun[0]}{noun[0].upper()}]{noun[1:]}\b", "§", bare)
    for name in (*scenario.objects, *scenario.surfaces, *scenario.strings):
        words = re.escape(name).replace(r"\-", "[- ]")
        if re.fullmatch(words, nouns.noun(name)):
            continue
        found = rf"\b(?:the|of|on|[A-Z][a-z]+,) {words}\b(?! hanging mass)|\b{words}[;:.)]"
        yield from re.findall(found, bare)
        if not name.isalpha():
            yield from re.findall(rf"\b{words}\b", bare)
    yield from re.findall(r"\b[Tt]he the\b|\b[Tt]he (?:of|and)\b|§s\b", bare)


def said_of(lab: str) -> tuple[Scenario, dict[str, str]]:
    """A lab of the course with everything that is said of it, by the place where it stands."""
    data = load_course(NAMED)
    (term,) = data.terms
    kept = tuple(each for each in term.labs if each.id == lab)
    alone = replace(data, terms=(replace(term, labs=kept),))
    pages = build_pages(alone, now=OVER, edition="student")
    texts = {page.path: page.content for page in pages if page.path.endswith((".md", ".svg"))}
    said = {path: words_of(path, content) for path, content in texts.items()}
    return kept[0].variant, {**said, "key": key_of(kept[0].variant)}


def test_each_thing_is_called_by_one_noun_everywhere(thorough):
    for lab in ("adjectives", "moving") if thorough else ("adjectives",):
        scenario, said = said_of(lab)
        assert sum(path.endswith(".svg") for path in said) > 10
        found = [(path, each) for path in said for each in complaints(scenario, said[path])]
        assert found == []
        told = " ".join(said.values())
        for noun in scenario.nouns.by_name.values():
            assert re.search(rf"\b{noun}\b", told), noun


def test_strings_are_called_what_their_author_calls_all_of_them(tmp_path):
    """On every page of the lab, in figures, key and check; not where one of them is a string."""
    root = own_course(tmp_path).parent / "site-data"
    exchange(root / "scenarios/level.yaml", "string", "thread")
    exchange(root / "scenarios/level.yaml", "threads:", "strings:")
    data = load_course(root)
    built = build_pages(data, now=OVER, edition="staff")
    for page in (each for each in built if "/level" in each.path):
        said = words_of(page.path, page.content)
        assert not re.search(r"(?<![#/.-])\bstrings?\b(?!\.html)", said, re.IGNORECASE), page.path
    (prelab,) = (each.content for each in built if each.path.endswith("/prelab.md"))
    assert "The thread goes slack" in prelab
    assert "(#string)" in prelab
    scenario = data.scenarios["level"]
    assert "string" not in scenario.worded(key_of(scenario))
    strings = {"left-cord": ("string", ""), "string": ("string", "")}
    assert Nouns(strings).worded("The string is taut.") == "The string is taut."
    del strings["string"]
    assert Nouns(strings | {"cord2": ("string", "")}).worded(
        "Strings, a string’s pull; step string"
    ) == ("Cords, a cord’s pull; step string")
