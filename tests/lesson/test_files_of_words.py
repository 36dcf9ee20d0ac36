"""Files of words and steps: what is misspelt in one is named with its place; none is left over."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import yaml

from cases import cases
from fallwork import errors, mechanics
from fallwork.lesson import document, sheet, stepfiles, words
from fallwork.lesson.lab.base import names_of
from fallwork.lesson.stepfiles import step_from
from fallwork.scenario.report import Report
from fallwork.scenario.tree import read_file
from lesson.kit import DEMO, SET_UPS, ZOO, lab_of, lesson_from, lesson_of, scenario_of
from lesson.measured import kit

GENERATOR = Path(words.__file__).parents[1]
READ = (words._saying, stepfiles._environment, stepfiles._template)
READ = (*READ, stepfiles._source, stepfiles._tree, stepfiles._doubled)
SPOILT = cases(__file__, "spoilt")


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Iterator[Path]:
    """A copy of all files, to be spoilt, from which lessons are written."""
    monkeypatch.chdir(tmp_path)
    for module in (words, stepfiles):
        shutil.copytree(module.FOLDER, tmp_path / module.FOLDER.name)
        monkeypatch.setattr(module, "FOLDER", tmp_path / module.FOLDER.name)
    for each in READ:
        each.cache_clear()
    yield tmp_path
    for each in READ:
        each.cache_clear()


def everything() -> None:
    """All files of steps are filled in, and the notes on a run."""
    lesson_from(scenario_of(DEMO / "level-track.yaml"))
    kit.report(kit.level())
    run = SimpleNamespace(until=None, moves=False, phases=(), gripped=("string",))
    words.told("run", "notes", run, str)


def spoil(file: Path, old: str, new: str) -> int:
    """Replace what stands behind > in a text that is there once; the line of the change."""
    kept, _, old = old.partition(">")
    before, found, after = file.read_text("utf-8").partition(kept + old)
    assert (bool(found), kept + old in after) == (True, False)
    file.write_text(f"{before}{kept}{new}{after}", "utf-8")
    return f"{before}{kept}".count("\n") + 1


@pytest.mark.parametrize("kind", SPOILT)
def test_what_is_misspelt_or_stands_twice_is_named_with_file_and_line(folder, kind):
    case = SPOILT[kind]
    line = spoil(folder / case["file"], case["old"], case["new"])
    with pytest.raises(errors.BadInput) as caught:
        everything()
    problem = caught.value.problems[0]
    assert f"{problem.found}; {problem.expected}".startswith(case["says"])
    place = problem.place
    assert case.get("at") == place.file or (place.file, place.line) == (case["file"], line)


def test_no_key_stands_twice():
    report = Report()
    for file in words.FOLDER.glob("*.yaml"):
        read_file(file, report)
    report.raise_if_any()


def test_roles_are_what_set_ups_know_and_every_kind_of_force_has_its_rows():
    labs = [lab_of(file, numbers=False) for file in sorted(ZOO.glob("*.yaml"))]
    labs += [lab.at(lab.driven[-1]) for lab in labs if lab.driven]
    assert {letter for lab in labs for letter in lab.letters} == names_of("letters")
    assert {word for lab in labs for word in lab.named("words")} == names_of("words")
    figures = yaml.safe_load((GENERATOR / "figures/texts.yaml").read_text("utf-8"))["forces"]
    kinds = {kind.key for kind in mechanics.Interaction}
    assert set(words.texts("symbols")["interactions"]) == set(figures) == kinds


def test_every_mistake_and_question_of_the_lesson_is_told_of_some_set_up():
    lessons = [lesson_of(file, numbers=way) for file in SET_UPS for way in (True, False)]
    steps = [step for lesson in lessons for step in lesson.steps]
    told = {("common mistake", each.id) for step in steps for each in step.slips}
    told |= {("question", each.id) for step in steps for each in step.questions}
    names = [file.name.removesuffix(stepfiles.ENDING) for file in stepfiles.FOLDER.glob("*.j2")]
    ids = {each[:2] for name in names for each in stepfiles._ids(name) if each[0]}
    assert ids - told == set()


def test_no_sentence_is_left_over():
    """Each word of a sentence's key stands somewhere in the program, or as part of a name."""
    known, patterns = _words_of_the_program()
    left = [
        f"{file.stem}: {'.'.join(way)}"
        for file in sorted(words.FOLDER.glob("*.yaml"))
        if not file.stem.startswith("roles")  # names that any step may use
        for way in _ways(words.texts(file.stem))
        for word in way
        if not known.issuperset([word]) and not known.issuperset(re.split("[-_]", word))
        if not any(pattern.fullmatch(word) for pattern in patterns)
    ]
    assert left == []


def _ways(node: Any, way: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _ways(value, (*way, key))
    else:
        yield way


def _words_of_the_program() -> tuple[set[str], list[re.Pattern[str]]]:
    """Every word in code, templates and tables of letters, and the shape of texts with gaps."""
    table, measured = words.texts("symbols"), words.texts("measuring")["symbols"]
    rows = [*table["interactions"].values(), *table["quantities"].values(), *measured.values()]
    sources = "\n".join(
        path.read_text("utf-8") for kind in ("py", "j2") for path in GENERATOR.rglob(f"*.{kind}")
    )
    known = {row.get("mark") for row in rows}
    for word in re.findall(r"[\w-]+", sources):
        known |= {word, word.lower(), *word.split("-")}
    whole = (re.sub(r"{[^}]*}", "\0", text) for text in re.findall(r'f"([^"\n]*)"', sources))
    shapes = {each for text in whole for each in text.split(".") if len(each.strip("\0-")) > 1}
    return known, [re.compile(re.escape(each).replace("\0", ".*")) for each in shapes]


def test_a_list_may_have_gaps_and_a_fold_that_says_nothing_is_none():
    blocks = sheet.Sheet().blocks("One\nsentence.\n\n- a\n\n\n- b\n  and c\n\n1. d\n")
    assert blocks == (
        document.Paragraph(text=("One sentence.",)),
        document.Items(items=(("a",), ("b and c",))),
        document.Items(items=(("d",),), ordered=True),
    )
    assert sheet.Sheet().fold("why", "", lambda: "\n\n\n") == ""
    lesson = lesson_of(DEMO / "level-track.yaml", numbers=False)
    assert {step.id: bool(step.folds) for step in lesson.steps}["all-moving-work"] is False


def test_what_a_file_may_say(folder):
    """A row goes on below; “if” without “else” is nothing; a later part has its own questions."""
    shutil.copy(Path(__file__).with_name("probe.md.j2"), folder / "steps")
    lab = lab_of(DEMO / "level-track.yaml", numbers=False)
    step = step_from("probe", lab)
    table, working = step.blocks
    assert step.idea == ("An idea.",)
    assert table.rows == ((("the cart",), ("runs",)), (("the weight",), ("falls down",)))
    (equation,) = working.equations
    assert equation.left == equation.right
    assert len(equation.forms) == 1
    assert step.questions == ()
    later = step_from("probe", lab.at(1))
    assert [each.id for each in later.questions] == ["then"]
