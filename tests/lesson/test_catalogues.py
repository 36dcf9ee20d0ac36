"""The lists of mistakes and questions: what is misspelt there is named with its place."""

import ast
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from fallwork.errors import BadInput
from fallwork.lesson import catalogues, stepfiles, textfiles
from fallwork.lesson.context import Context
from fallwork.lesson.document import Lesson
from fallwork.lesson.lab import Lab
from fallwork.lesson.measured import report_lesson
from fallwork.lesson.roles import words_of
from fallwork.lesson.setting import Setting
from lesson.kit import DEMO, ZOO, lesson_from, lesson_of, scenario_of, solved
from lesson.measured import kit

GENERATOR = Path(textfiles.__file__).parents[1]
FILES = sorted(ZOO.glob("*.yaml"))
STEPS = ("forces", "motion", "review")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the text files, to be spoilt, that lessons are written from."""
    shutil.copytree(textfiles.FOLDER, tmp_path / "texts")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(textfiles, "FOLDER", tmp_path / "texts")
    _forget()
    yield tmp_path / "texts"
    _forget()


def _forget() -> None:
    textfiles.texts.cache_clear()
    catalogues.entries.cache_clear()


def level() -> Lesson:
    return lesson_from(scenario_of(DEMO / "level-track.yaml"))


def report() -> Lesson:
    return report_lesson(kit.context(kit.level(), numbers=False), rubric=())


def spoil(file: Path, old: str, new: str) -> int:
    """Replace a text that stands there once; the line of the change."""
    text = file.read_text("utf-8")
    before, found, after = text.partition(old)
    assert (found, old in after) == (old, False)
    file.write_text(f"{before}{new}{after}", "utf-8")
    return before.count("\n") + old[: _same(old, new)].count("\n") + 1


def _same(old: str, new: str) -> int:
    pairs = enumerate(zip(old, new, strict=False))
    return next((at for at, (a, b) in pairs if a != b), min(len(old), len(new)))


SLIP = "{id: A14, topic: time-and-speed, needs: tied from-rest, of: a"
SPOILT: dict[str, tuple[str, str, str, str, Callable[[], Any]]] = {
    "condition": (
        "slips", SLIP, SLIP.replace("tied", "tid"),
        'unknown condition "tid"; did you mean "tied"?', level,
    ),
    "topic": (
        "slips", SLIP, SLIP.replace("time-and", "tme-and"),
        'unknown topic "tme-and-speed"; did you mean "time-and-speed"?', level,
    ),
    "quantity": (
        "slips", SLIP, SLIP.replace("of: a", "of: all"),
        'unknown letter "all"; did you mean "al"?', level,
    ),
    "letter": (
        "slips", "formula: v**2/d", "formula: v0v**2/d",
        'unknown letter "v0v"; did you mean "v0"?', level,
    ),
    "formula": (
        "slips", "formula: v**2/d", "formula: v**2/d)",
        '"v**2/d)" is no formula; write e.g. m2*g/(m1 + m2)', level,
    ),
    "id": (
        "slips", "{id: A14,", "{id: A13,", 'the id "A13" a second time; choose another', level
    ),
    "key": (
        "slips", SLIP, SLIP.replace("needs", "need"),
        'unknown key "need"; did you mean "needs"?', level,
    ),
    "key twice": (
        "slips", SLIP, SLIP.replace("topic: ", "topic: limits, topic: "),
        'the key "topic" a second time (first in line LINE); keep one of the two', level,
    ),
    "field": (
        "questions", "much heavier than {the_slider}", "much heavier than {the_slidr}",
        'unknown field {the_slidr}; did you mean "the_slider"?', level,
    ),
    "brace": (
        "questions", "much heavier than {the_slider}", "much heavier than {the_slider",
        "a brace without its partner; write {name}", level,
    ),
    "topic of a question": (
        "questions", "topic: limits\n", "topic: limts\n",
        'unknown topic "limts"; did you mean "limits"?', level,
    ),
    "no topic": (
        "slips", "{id: A16, topic: time-and-speed,", "{id: A16,",
        "an entry without topic; add topic", level,
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", SPOILT)
def test_what_is_misspelt_is_named_with_file_and_line(folder: Path, kind: str) -> None:
    file, old, new, message, use = SPOILT[kind]
    line = spoil(folder / f"{file}.yaml", old, new)
    with pytest.raises(BadInput) as caught:
        use()
    (problem,) = caught.value.problems
    assert f"{problem.found}; {problem.expected}" == message.replace("LINE", str(line))
    assert (problem.place.file, problem.place.line) == (f"texts/{file}.yaml", line)


def test_everything_that_is_misspelt_is_named_at_once(folder: Path) -> None:
    file = folder / "slips.yaml"
    lines = [
        spoil(file, SLIP, SLIP.replace("tied", "tid")),
        spoil(file, "{id: A16,", "{id: A15,"),
    ]
    with pytest.raises(BadInput) as caught:
        level()
    assert [problem.place.line for problem in caught.value.problems] == lines


def test_a_field_that_no_sentence_is_given_is_named(folder: Path) -> None:
    line = spoil(
        folder / "measuring.yaml", "  number: number of trials", "  number: number of {it}"
    )
    with pytest.raises(BadInput) as caught:
        report()
    (problem,) = caught.value.problems
    assert problem.found == "unknown field {it}"
    assert (problem.place.file, problem.place.line) == ("texts/measuring.yaml", line)


def test_a_sentence_that_is_missing_is_named(folder: Path) -> None:
    line = spoil(folder / "forces.yaml", "\nparts:\n  forces:", "\nparts:\n  forcess:")
    with pytest.raises(BadInput) as caught:
        level()
    assert str(caught.value) == (
        f'texts/forces.yaml:{line}:3: no sentence parts.forces; did you mean "forcess"?'
    )


def test_the_vocabulary_is_what_the_set_ups_know() -> None:
    """Of steps that are files of their own nothing stands in the lists."""
    files = {path.name.removesuffix(stepfiles.ENDING) for path in stepfiles.FOLDER.iterdir()}
    topics, letters, fields = (set[str]() for _ in range(3))
    for file in FILES:
        scenario, apparatus, solution = solved(file)
        context = Context(
            Setting(
                scenario=scenario, apparatus=apparatus, solution=solution, figures=3, numbers=False
            )
        )
        letters |= set(Lab(context).letters)
        fields |= set(words_of(context))
        topics |= {step.topic for step in lesson_of(file, numbers=False).steps} - files
    assert topics == catalogues.known("worked", "topics")
    assert letters == catalogues.known("worked", "letters")
    assert fields == catalogues.known("worked", "fields")


def test_no_sentence_is_left_over() -> None:
    """Each word of a sentence's key stands somasshere in the program, alone or as a part of a name.

    A key that is put together from two words there may be left over and not be found.
    """
    words, patterns = _words_of_the_program()
    left = [
        f"{file.stem}: {'.'.join(way)}"
        for file in sorted(textfiles.FOLDER.glob("*.yaml"))
        for way in _ways(textfiles.texts(file.stem))
        if not all(_is_used(word, words, patterns) for word in way)
    ]
    assert left == []


@pytest.mark.parametrize("files", [STEPS, ("measuring", "judging")])
def test_no_step_has_its_sentences_in_two_files(files: tuple[str, ...]) -> None:
    keys = [key for file in files for key in textfiles.texts(file)]
    assert sorted(set(keys)) == sorted(keys)


def _ways(node: Any, way: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _ways(value, (*way, key))
    else:
        yield way


def _is_used(word: str, words: set[str], patterns: list[re.Pattern[str]]) -> bool:
    alone = word in words or all(part in words for part in re.split("[-_]", word))
    return alone or any(pattern.fullmatch(word) for pattern in patterns)


def _words_of_the_program() -> tuple[set[str], list[re.Pattern[str]]]:
    """Every text in the code, whole and in pieces, and the shape of those with gaps."""
    words: set[str] = set()
    patterns: set[str] = set()
    for path in GENERATOR.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words |= {node.value, *re.split(r"\W+", node.value)}
            elif isinstance(node, ast.Attribute | ast.Name | ast.keyword):
                name = {ast.Attribute: "attr", ast.Name: "id", ast.keyword: "arg"}[type(node)]
                words.add(str(getattr(node, name)).lower())
            elif isinstance(node, ast.JoinedStr):
                texts = (getattr(part, "value", None) for part in node.values)
                whole = "".join(text if isinstance(text, str) else "\0" for text in texts)
                patterns |= {each for each in whole.split(".") if len(each.strip("\0-")) > 1}
    return words, [re.compile(re.escape(each).replace("\0", ".*")) for each in patterns]
