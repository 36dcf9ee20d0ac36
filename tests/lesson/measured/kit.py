"""Short ways to trials and to the lessons about them, and a lesson as a page for the checker."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from markupsafe import Markup

from democourse import as_built
from fallwork.lesson import document, expression
from fallwork.lesson.latex import latex
from fallwork.lesson.measured import (
    Evidence,
    Judgement,
    data_lesson,
    report_lesson,
    with_comparison,
)
from fallwork.measurement import comparison, discrepancy
from fallwork.measurement.analysis import analyse
from fallwork.measurement.model import Analysis, Estimate, Outcome, Trial
from fallwork.measurement.prediction import Case, predict
from fallwork.measurement.settings import Settings, Tare, Zero
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.measurement.summaries import Sensors, summaries
from fallwork.pages.markdown import block as shown_block
from fallwork.pages.markdown import environment, formula, table, text
from fallwork.scenario import Quantity, Scenario, with_numbers
from lesson.kit import DEMO, lab_of, lesson_from, scenario_of, uncoloured
from measurement.kit import analysis_of
from mechanics.kit import rewritten

GRAVITY = Estimate(value=9.80665, u=0.0)  # m/s², 3rd CGPM (1901)
CASES = Path(__file__).parents[2] / "figures" / "cases"
LEVEL = DEMO / "level-track.yaml"
RUBRIC = ("Every number has its unit.",)


@cache
def level(*changes: tuple[str, str]) -> Scenario:
    return with_numbers(scenario_of(LEVEL), dict(changes))


@cache
def trials(*changes: tuple[str, str], seed: int = 15, count: int = 10) -> Analysis:
    return trials_of(level(*changes), seed=seed, count=count)


def trials_of(scenario: Scenario, *, seed: int = 15, count: int = 10) -> Analysis:
    behaviour = Behaviour(position_rate=50, force_rate=50)
    made = simulate(scenario, GRAVITY, trials=count, seed=seed, behaviour=behaviour)
    settings = Settings(tare=Tare(zero=Zero.SLACK))
    return analyse([trial.record for trial in made], settings)


def judged(
    scenario: Scenario, analysis: Analysis, *, whose: str = "", sensors: Sensors | None = None
) -> Evidence:
    """Trials with all that is made of them against a scenario's prediction."""
    case = Case(scenario=scenario, gravity=GRAVITY, sensors=sensors or Sensors())
    prediction = predict(scenario, GRAVITY, seed=1)
    return Evidence(
        analysis=analysis,
        whose=whose,
        sensors=case.sensors,
        judgement=Judgement(
            prediction=prediction,
            comparison=comparison.compare_all(analysis, prediction.estimates, case),
            discrepancy=discrepancy.account_of_discrepancy(analysis, prediction.estimates, case),
        ),
    )


@cache
def usual() -> Evidence:
    """Ten simulated trials of the level track, against its own prediction."""
    return judged(level(), trials())


def report(scenario: Scenario) -> document.Lesson:
    return report_lesson(lab_of(scenario, numbers=False), RUBRIC)


def data(scenario: Scenario, evidence: Evidence) -> document.Lesson:
    return data_lesson(lab_of(scenario, numbers=False), evidence)


def solution(scenario: Scenario, evidence: Evidence) -> document.Lesson:
    """The worked lesson with the comparison behind it."""
    return with_comparison(lesson_from(scenario), lab_of(scenario, numbers=True), evidence)


@cache
def usual_data() -> document.Lesson:
    return data(level(), usual())


@cache
def usual_solution() -> document.Lesson:
    return solution(level(), usual())


def without_uncertainty(scenario: Scenario) -> Scenario:
    return rewritten(
        scenario,
        lambda part: replace(part, u=0.0, uncertainty="") if isinstance(part, Quantity) else None,
    )


def step(lesson: document.Lesson, name: str) -> document.Step:
    return {each.id: each for each in lesson.steps}[name]


QUIET = (("track.friction", "0.008 ± 0.0002"), ("track.slope", "0 deg ± 0.005 deg"))
NAMES = ("first", "second", "third", "fourth", "fifth", "sixth")


def measured(count: int = 3, **values: float) -> Analysis:
    """Equal trials: all that is uncertain is given."""
    return analysis_of(dict.fromkeys(NAMES[:count], values))


def against(analysis: Analysis, scenario: Scenario | None = None) -> Evidence:
    """Judged by the level track's own prediction, or that of another one."""
    return judged(scenario or level(), analysis)


def account(*truth: tuple[str, str], **more: object) -> Evidence:
    """Trials in which ``truth`` holds, against the usual model."""
    return judged(level(*QUIET), trials(*QUIET, *truth, seed=11), **more)


@cache
def heavy_pulley() -> Evidence:
    scenario = level(*QUIET)
    pulley = scenario.objects["pulley"]
    heavy = replace(
        pulley,
        mass=Quantity(kind="mass", value=0.020, number="20", unit="g"),
        radius=Quantity(kind="length", value=0.025, number="25", unit="mm"),
    )
    truth = replace(scenario, objects={**scenario.objects, "pulley": heavy})
    return judged(scenario, trials_of(truth, seed=11))


def typed(*values: float | None, excluded: str = "", **more: Any) -> Evidence:
    """Accelerations without records, one a trial; ``excluded`` is the name of one."""
    trials = tuple(
        Trial(
            name=str(number),
            estimates={} if value is None else {"acceleration": Estimate(value=value, u=0.0)},
            excluded="the cable dragged" if str(number) == excluded else None,
        )
        for number, value in enumerate(values, start=1)
    )
    counted = [trial for trial in trials if trial.excluded is None]
    analysis = Analysis(
        trials=trials,
        summary=summaries(counted),
        summary_with_excluded=summaries(trials) if excluded else {},
    )
    return Evidence(analysis=replace(analysis, **more))


def trials_with(change: Callable[[Trial, str, Outcome], Outcome | None]) -> Evidence:
    """Quiet trials with other values; None takes one out."""
    found = trials(*QUIET, seed=11)
    made = []
    for trial in found.trials:
        values = {name: change(trial, name, each) for name, each in trial.estimates.items()}
        made.append(replace(trial, estimates={n: each for n, each in values.items() if each}))
    analysis = replace(found, trials=tuple(made), summary=summaries(made))
    return judged(level(*QUIET), analysis)


# ---- as words
def words(text: document.Text) -> str:
    """A text as plain words, formulas in LaTeX."""
    return (
        "".join(
            uncoloured(latex(part))
            if isinstance(part, expression.Expression | document.Relation)
            else part.words
            if isinstance(part, document.Marked)
            else part
            for part in text
        )
        .replace("\u00a0", " ")
        .replace("\u2011", "-")
    )


def with_folds(found: document.Step) -> tuple[document.Block, ...]:
    """Its blocks, then those that are folded away."""
    return (*found.blocks, *(block for fold in found.folds for block in fold.blocks))


def prose(found: document.Step) -> str:
    """Everything that a step says outside tables and worked equations."""
    return "\n".join([words(found.idea), *_sentences(with_folds(found))])


def everything(found: document.Step) -> str:
    """All its words: title, sentences, tables and questions, not the rubric of a course."""
    cells = [cell for table in tables(found) for row in table for cell in row]
    asked = [part for each in found.questions for part in (each.asked, words(each.answer))]
    return "\n".join([found.title, prose(found), *cells, *asked])


def _sentences(blocks: tuple[document.Block, ...]) -> Iterator[str]:
    for block in blocks:
        if isinstance(block, document.Paragraph):
            yield words(block.text)
        elif isinstance(block, document.Items):
            yield from map(words, block.items)


def tables(found: document.Step) -> list[list[list[str]]]:
    """The tables of a step: rows of cells as words, heads first."""
    return [
        [[words(cell) for cell in row] for row in (block.head, *block.rows)]
        for block in with_folds(found)
        if isinstance(block, document.Table)
    ]


# ---- as a page
def page(lesson: document.Lesson) -> str:
    """The lesson's formulas, tables, slips and list of symbols, as a page has them."""
    pieces: Any = environment().get_template("_pieces.md.j2").module
    parts: list[str] = []
    for found in lesson.steps:
        rows = (
            (formula(slip.of), pieces.comes_out(slip, 3), text(slip.done)) for slip in found.slips
        )
        slips = table("Mistakes", ("Quantity", "Comes out as", "What was done"), rows)
        blocks = (shown_block(each, 3, lambda _: Markup("")) for each in found.all_blocks)
        parts += [text(found.idea), *blocks]
        parts.append(f'<details class="fw-slips" markdown="1">\n\n{slips}\n\n</details>')
        parts += [text(question.answer) for question in found.questions]
    digits = None if lesson.kind == "symbols" else 3
    return as_built("\n\n".join([*parts, pieces.symbols(lesson.symbols, digits)]))


def without_judgement(evidence: Evidence) -> Evidence:
    return replace(evidence, judgement=None)
