"""A course's own files of words say all that the program's say, in their places, and no more."""

import time
from dataclasses import replace

import pytest

from cases import cases
from fallwork.errors import BadInput, Place
from fallwork.lesson import stepfiles
from fallwork.lesson.document import Lesson
from fallwork.scenario.notation import USUAL, Notation, Own
from lesson.kit import DEMO, ZOO, lesson_from, scenario_of
from lesson.measured import kit

CASES = cases(__file__, "own-words")
HEAD = '{{ step("tension", title="The tension") }}\nAn idea.\n\n'


def own(**texts: str) -> Notation:
    files = {name: Own(name, Place(file=f"words/{name}.md.j2"), texts[name]) for name in texts}
    return replace(USUAL, words=files)


def lesson(notation: Notation, file: str = "level-track", *, numbers: bool = True) -> Lesson:
    path = next(each / f"{file}.yaml" for each in (DEMO, ZOO) if (each / f"{file}.yaml").exists())
    return lesson_from(replace(scenario_of(path), notation=notation), numbers=numbers)


@pytest.mark.parametrize(
    "file", ["level-track", "heavy-pulley", "train", "incline-held", "compound"]
)
def test_copies_of_the_programs_files_give_the_same_lessons(file):
    steps = {each: stepfiles._source(each) for each in stepfiles._files() if stepfiles._head(each)}
    notation = own(**steps)
    stepfiles.check_words(notation.words)
    for numbers in (True, False):
        assert lesson(notation, file, numbers=numbers) == lesson(USUAL, file, numbers=numbers)
    if file == "level-track":
        own_level = replace(kit.level(), notation=notation)
        assert kit.report(own_level) == kit.report(kit.level())
        assert kit.solution(own_level, kit.usual()) == kit.usual_solution()
        assert kit.data(own_level, kit.usual()) == kit.usual_data()


def test_a_file_replaces_adds_to_or_follows_a_step():
    call = '{% call mistake("ours", T, m1*g + m2*g) %}Added up.{% endcall %}'
    asked = '{% call question("sensor", slip="ours") %}What pulls?\nThe string.{% endcall %}'
    follows = '{{ step("our-bench", after="tension", title="Our bench") }}\nIt has screws.'
    notation = own(**{"tension.more": f"A sentence.\n\n{call}\n{asked}", "our-bench": follows})
    stepfiles.check_words(notation.words)
    before, after = lesson(USUAL), lesson(notation)
    at = [step.id for step in before.steps].index("tension")
    was, tension, bench = before.steps[at], *after.steps[at : at + 2]
    assert (bench.id, bench.title, bench.part) == ("our-bench", "Our bench", was.part)
    assert (*before.steps[:at], *before.steps[at + 1 :]) == tuple(
        step for step in after.steps if step not in (tension, bench)
    )
    assert (tension.slips[-1].id, tension.questions[-1].id) == ("ours", "sensor")
    assert tension.blocks[:-1] == was.blocks
    assert tension.blocks[-1].text == ("A sentence.",)
    replaced = {step.id: step for step in lesson(own(tension=HEAD)).steps}["tension"]
    assert (replaced.idea, replaced.slips) == (("An idea.",), ())
    twice = follows.replace("our-bench", "diagram-cart")
    with pytest.raises(BadInput, match="the lab has a step diagram-cart already"):
        lesson(own(**{"diagram-cart": twice}))


@pytest.mark.parametrize(("text", "says"), CASES["refused"])
def test_nothing_else_is_reached_and_nothing_grows(text, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    start = time.process_time()
    with pytest.raises(BadInput) as caught:
        lesson(own(tension=HEAD + text))
    place, _, said = str(caught.value).partition(": ")
    assert (place, said.removeprefix("this can't be filled in: ").startswith(says)) == (
        "words/tension.md.j2:4:1",
        True,
    )
    assert (time.process_time() - start < 5, [*tmp_path.iterdir()]) == (True, [])


@pytest.mark.parametrize(("name", "text", "line", "says"), CASES["misplaced"])
def test_a_file_that_cannot_stand_is_named(name, text, line, says):
    with pytest.raises(BadInput) as caught:
        stepfiles.check_words(own(**{name: text}).words)
    assert str(caught.value).startswith(f"words/{name}.md.j2:{line}:1: {says}")


def test_a_lesson_in_symbols_prints_no_number_that_is_worked_out():
    told = '{{ lab.amount(lab.phase.accelerations["cart"], "m/s²") }} and 1.21'
    for text in (told, f"{{% call why() %}}{told}{{% endcall %}}"):
        lesson(own(tension=HEAD + text))
        with pytest.raises(BadInput, match="4:1: this prints a number where the lesson has none"):
            lesson(own(tension=HEAD + text.replace("1.21", "all")), numbers=False)
