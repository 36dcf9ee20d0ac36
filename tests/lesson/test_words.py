"""What pages say of each kind of set-up and of trials, and in one sentence of a run."""

from collections.abc import Mapping
from typing import Any

import pytest

from cases import cases
from fallwork.lesson import answers
from fallwork.lesson.document import FigureSlot, Lesson, Paragraph, Symbol, Table, Working
from fallwork.lesson.latex import latex, working
from fallwork.lesson.reviewing import Happening, happening
from fallwork.scenario import with_numbers
from lesson import kit
from lesson.measured.kit import CASES, prose, report, step, words
from lesson.measured.kit import everything as all_words

ROWS = cases(__file__, "words")
FOLDERS = {"demo": kit.DEMO, "zoo": kit.ZOO, "cases": CASES}
HAPPENS = cases(__file__, "happens")
SENTENCES: dict[str, str] = HAPPENS["happens"]


def page(of: str, changes: dict[str, str]) -> Lesson:
    name, _, kind = of.partition(" ")
    folder, _, stem = name.partition("/")
    path = FOLDERS[folder] / f"{stem}.yaml"
    scenario = with_numbers(kit.scenario_of(path), changes)
    if kind == "report":
        return report(scenario)
    return (
        kit.lesson_from(scenario, numbers=not kind)
        if changes
        else kit.lesson_of(path, numbers=not kind)
    )


def text(lesson: Lesson, at: str) -> str:
    """A step, what is in it, an answer, or what is no step; ``words.yaml`` says how to name it."""
    kind, _, name = at.rpartition(" ")
    if kind == "answer":
        (found,) = (q for s in lesson.steps for q in s.questions if q.id == name)
        return words(found.answer)
    if kind == "steps with":
        said = {s.id: all_words(s) for s in lesson.steps}
        return "\n".join(id_ for id_, told in said.items() if name in told)
    if not kind and name not in WHOLE:
        return prose(step(lesson, name))
    return "\n".join(PARTS[kind](step(lesson, name)) if name not in WHOLE else WHOLE[name](lesson))


def of_kind(found: Any, kind: type) -> list[Any]:
    return [part for part in kit.everything(found) if isinstance(part, kind)]


PARTS: dict[str, Any] = {
    "all of": lambda s: [all_words(s)],
    "check of": lambda s: [words(each.text) for each in s.check if isinstance(each, Paragraph)],
    "formulas of": lambda s: [
        f"{latex(e.left)} = {latex(e.right)};" for w in of_kind(s, Working) for e in w.equations
    ],
    "idea of": lambda s: [words(s.idea)],
    "questions of": lambda s: [q.id for q in s.questions],
    "slip formulas of": lambda s: [latex(slip.formula) for slip in s.slips],
    "slips of": lambda s: [f"{slip.id}: {words(slip.done)}" for slip in s.slips],
    "table of": lambda s: [
        " | ".join(map(words, row)) for t in of_kind(s, Table) for row in (t.head, *t.rows)
    ],
    "working of": lambda s: [working(w.equations, 3) for w in of_kind(s, Working)],
}
WHOLE: dict[str, Any] = {
    "answers": lambda page: [
        f"{words(q.asked)} {words(q.answer)}" for s in page.steps for q in s.questions
    ],
    "diagrams": lambda page: [prose(s) for s in page.steps if s.id.startswith("diagram-")],
    "asked-for": lambda page: [words(page.find[0])],
    "figures": lambda page: [slot.kind for slot in of_kind(page.steps, FigureSlot)],
    "givens": lambda page: [f"{g.meaning}: {g.as_written} = {g.in_si}" for g in page.givens],
    "opening": lambda page: [words(page.summary)],
    "parts": lambda page: dict.fromkeys(s.part for s in page.steps),
    "prose": lambda page: map(prose, page.steps),
    "questions": lambda page: [q.id for s in page.steps for q in s.questions],
    "results": lambda page: [result.of.id for result in answers.results(page)],
    "safety": lambda page: [prose(page.safety), *PARTS["table of"](page.safety)],
    "slips": lambda page: (line for s in page.steps for line in PARTS["slips of"](s)),
    "steps": lambda page: [s.id for s in page.steps],
    "symbols": lambda page: map(listed, page.symbols),
}


def listed(symbol: Symbol) -> str:
    value = "" if symbol.value is None else symbol.written or f"{symbol.value:.5g}"
    return f"{symbol.id} {symbol.letter}_{symbol.subscript}: {symbol.meaning} = {value}"


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['of']} {row['at']}")
def test_it_is_said_where_it_fits_and_nowhere_else(row):
    assert_said(row, page(row["of"], row.get("changes", {})))


def assert_said(row: dict[str, Any], lesson: Lesson) -> None:
    """The formulas without the colours of forces."""
    said, at = kit.uncoloured(text(lesson, row["at"]).replace("\u00a0", " ")), 0
    for phrase in row.get("says", ()):
        assert phrase in said[at:]
        at = said.index(phrase, at) + len(phrase)
    assert [phrase for phrase in row.get("among", ()) if phrase not in said] == []
    assert [phrase for phrase in row.get("never", ()) if phrase in said] == []
    assert [phrase for phrase in row.get("once", ()) if said.count(phrase) != 1] == []
    assert row.get("is", said) == said
    if "slips" in row:
        slips = {slip.id for slip in step(lesson, row["at"]).slips}
        assert set(row["slips"]) <= slips
        assert slips.isdisjoint(row.get("other_slips", ()))


# ---- what happens in a run, and where runs part ways
def run(name: str, numbers: Mapping[str, str] | None = None) -> Happening:
    return happening(
        with_numbers(kit.scenario_of(kit.ZOO / f"{name}.yaml"), numbers or {}), kit.GRAVITY, 3
    )


@pytest.mark.parametrize("name", SENTENCES)
def test_what_happens_is_one_sentence(name):
    assert " ".join(run(name).says("sentence")) == SENTENCES[name]


@pytest.mark.parametrize("path", sorted(kit.ZOO.glob("*.yaml")), ids=lambda path: path.stem)
def test_there_is_one_for_every_set_up(path):
    said = " ".join(run(path.stem).says("sentence"))
    assert said.startswith(("the ", "cart 1 ", "nothing moves"))
    assert not any(sign in said for sign in ("{", "None", "nan", "  ", "¶"))


def test_where_a_run_parts_ways_with_another_or_ends_short_of_its_distance_is_told():
    for row in HAPPENS["otherwise"]:
        found = run(row["of"], row["with"]).says("otherwise", run(row["of"]), "scenario")
        assert "".join(found) == row["says"].format(there=SENTENCES[row["of"]]), row
    for row in HAPPENS["short"]:
        assert run(row["of"], row["with"]).says("short") == (row["says"],)


def test_what_does_not_happen_elsewhere_is_told():
    assert run("level").says("otherwise", run("level", {"track.friction": "0.2"}), "example") == (
        "In the example nothing moves, but here something does.",
    )
    taut = run("slack-coupling", {"front.friction": "0.10", "rear.friction": "0.02"})
    assert not taut.slack
    assert run("slack-coupling").says("otherwise", taut, "example")[-1] == (
        "The coupling is slack here, but not in the example."
    )
