"""The files of the steps: what is misspelt in one is named with its place."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from fallwork.errors import BadInput
from fallwork.lesson import stepfiles
from fallwork.lesson.document import Items, Lesson, Paragraph, Table, Working
from fallwork.lesson.lab import Lab
from fallwork.lesson.sheet import Sheet
from fallwork.lesson.stepfiles import step_from
from lesson.kit import DEMO, lesson_from, scenario_of, solved, spoilable
from lesson.measured import kit

READ = (
    stepfiles._environment,
    stepfiles._template,
    stepfiles._source,
    stepfiles._tree,
    stepfiles._doubled,
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    yield from spoilable(stepfiles, tmp_path / "steps", monkeypatch, READ)


def level() -> Lesson:
    return lesson_from(scenario_of(DEMO / "level-track.yaml"))


def report() -> Lesson:
    return kit.report(kit.level())


SPOILT = {
    "letter of a formula": (
        'mistake("T3", T, m2*a', 'mistake("T3", T, mm2*a', 'unknown word "mm2"; did you mean "m2"?'
    ),
    "quantity": ('mistake("T3", T,', 'mistake("T3", Tt,', 'unknown word "Tt"; did you mean "T"?'),
    "condition": (
        "m2*a, plain and falling)", "m2*a, plain and faling)",
        'unknown word "faling"; did you mean "falling"?',
    ),
    "word in a sentence": (
        "Gravity on {{ the_weight }} left out", "Gravity on {{ the_weigt }} left out",
        'unknown word "the_weigt"; did you mean "the_weight"?',
    ),
    "id of a mistake": (
        'mistake("T3"', 'mistake("T2"', 'the common mistake "T2" a second time; choose another id'
    ),
    "id of a question": (
        'question("held-or-falling"', 'question("which-g"',
        'the question "which-g" a second time; choose another id',
    ),
    "what is asked of the lab": (
        "in lab.hanging if", "in lab.hangin if",
        "'fallwork.lesson.lab.Lab object' has no attribute 'hangin'; name what is there",
    ),
    "brace": (
        "m2*a, plain and falling) %}", "m2*a, plain and falling }",
        "unexpected '}', expected ')'; write {{ … }} for what is printed and {% … %} for "
        "conditions",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", SPOILT)
def test_what_is_misspelt_is_named_with_file_and_line(folder: Path, kind: str) -> None:
    old, new, message = SPOILT[kind]
    file = folder / "tension.md.j2"
    before, found, after = file.read_text("utf-8").partition(old)
    assert (bool(found), old in after) == (True, False)
    file.write_text(f"{before}{new}{after}", "utf-8")
    with pytest.raises(BadInput) as caught:
        level()
    problem = caught.value.problems[0]
    assert f"{problem.found}; {problem.expected}" == message
    named = "units" if "which-g" in message else "tension"
    assert problem.place.file == f"steps/{named}.md.j2"
    if named == "tension" and "second" not in message:
        assert problem.place.line == before.count("\n") + 1


def test_what_is_misspelt_in_cells_that_steps_share_is_named(folder: Path) -> None:
    file = folder / "cells.md.j2"
    file.write_text(file.read_text("utf-8").replace("in account.changes", "in acount.changes"))
    with pytest.raises(BadInput) as caught:
        level()
    problem = caught.value.problems[0]
    assert (problem.found, problem.place.file) == ('unknown word "acount"', "steps/cells.md.j2")


REPORT = {
    "mistake that a question names": (
        "window", 'slip="S6"', 'slip="S66"', 'unknown common mistake "S66"; did you mean "S6"?'
    ),
    "condition": (
        "how-tension", "held and symbols", "held and symbol",
        'unknown word "symbol"; did you mean "symbols"?',
    ),
    "letter": (
        "how-acceleration", "a1, v1/te", "a1, v1/tte", 'unknown word "tte"; did you mean "te"?'
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", REPORT)
def test_what_is_misspelt_in_a_step_of_the_report_is_named_too(folder: Path, kind: str) -> None:
    name, old, new, message = REPORT[kind]
    file = folder / "measured" / f"{name}.md.j2"
    before, found, after = file.read_text("utf-8").partition(old)
    assert (bool(found), old in after) == (True, False)
    file.write_text(f"{before}{new}{after}", "utf-8")
    with pytest.raises(BadInput) as caught:
        report()
    (problem,) = caught.value.problems
    assert f"{problem.found}; {problem.expected}" == message
    line = before.count("\n") + 1
    assert (problem.place.file, problem.place.line) == (f"steps/measured/{name}.md.j2", line)


def test_a_list_may_have_gaps_and_a_line_break_is_a_space() -> None:
    blocks = Sheet().blocks("One\nsentence.\n\n- a\n\n\n- b\n  and c\n\n1. d\n")
    assert blocks == (
        Paragraph(text=("One sentence.",)),
        Items(items=(("a",), ("b and c",))),
        Items(items=(("d",),), ordered=True),
    )


PROBE = """
{% macro name(object) %}the {{ object }}{% endmacro %}
{{ step("probe", title="A probe") }}

An idea{{ " of the end" if not moves }}.

{% call table("Things") %}
Thing | What it does
{% for object in ("cart", "weight") %}
{{ name(object) }} |
{% if loop.first %}
runs
{% else %}
falls
down
{% endif %}
{% endfor %}
{% endcall %}

{{ equation(m2 * g, lab.mass("weight") * g, T, unit="N") }}

{% call question("then", moves, later=true) %}What then?
That.{% endcall %}
"""


def test_what_a_file_may_say(folder: Path) -> None:
    """A row goes on below; “if” without “else” is nothing; a later part has its own questions."""
    (folder / "probe.md.j2").write_text(PROBE, "utf-8")
    lab = Lab(*solved(DEMO / "level-track.yaml"), figures=3, numbers=False)
    step = step_from("probe", lab)
    assert step is not None
    table, working = step.blocks
    assert step.idea == ("An idea.",)
    assert isinstance(table, Table)
    assert table.rows == ((("the cart",), ("runs",)), (("the weight",), ("falls down",)))
    assert isinstance(working, Working)
    (equation,) = working.equations
    assert equation.left == equation.right
    assert len(equation.forms) == 1
    assert step.questions == ()
    later = step_from("probe", lab.at(1))
    assert later is not None
    assert [each.id for each in later.questions] == ["then"]
