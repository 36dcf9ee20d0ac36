"""Puts a lesson together: the steps in order, with their slips and questions, symbols and givens,
and the one rule for saying how well results are known.

Takes scenario, apparatus and solution; gives a ``Lesson``. What each step says is left to
``steps/``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import (
    Block,
    Items,
    Lesson,
    Paragraph,
    Step,
    Text,
    Working,
    symbols_of,
)
from fallwork.lesson.expression import Symbol
from fallwork.lesson.givens import givens_of
from fallwork.lesson.lab import Lab
from fallwork.lesson.labels import labels_of
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.stepfiles import items_from, step_from
from fallwork.lesson.words import lower_first, say, sentence
from fallwork.measurement.inputs import Case, with_values
from fallwork.mechanics import solve
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario import Scenario


def build_lesson(
    scenario: Scenario,
    apparatus: Apparatus,
    solution: Solution,
    *,
    figures: int,
    numbers: bool,
    known: Mapping[str, float] | None = None,
) -> Lesson:
    """The worked solution of a set-up; in symbols only unless ``numbers``. ``known`` says how well
    its results are known, see ``uncertainties``.

    In symbols only, nothing that the lesson holds depends on the size of any result.
    """
    lab = Lab(scenario, apparatus, solution, figures, numbers)
    givens = givens_of(lab)
    opening = step_from("opening", lab)
    assert opening is not None
    (find,) = (block for block in opening.blocks if isinstance(block, Items))
    steps = tuple(_steps(lab, known or {}))
    lesson = Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="numbers" if numbers else "symbols",
        summary=opening.idea,
        find=find.items,
        givens=givens,
        symbols=(),
        steps=steps,
        safety=items_from("safety", lab),
        labels=labels_of(lab, steps),
    )
    listed = [given.symbol for given in givens if numbers and given.symbol is not None]
    parts = (lesson.summary, lesson.steps, lesson.safety, tuple(listed))
    return replace(lesson, symbols=symbols_of(parts))


def uncertainties(case: Case, *, figures: int) -> dict[str, float]:
    """Standard uncertainty of every result of the worked solution, by symbol id and in its unit:
    half the difference that each given makes when it is greater and less by its own (JCGM 100:2008,
    5.1.3, note 2); where a result exists on one side only, its change on that side.
    """
    value = _values(case.scenario, case.apparatus(), figures)
    squares = dict.fromkeys(value, 0.0)
    for given, low, high in case.ends:
        more, less = (
            _values(with_values(case.scenario, end), case.apparatus(end), figures)
            for end in ({given.name: high}, {given.name: low})
        )
        for key in value:
            above, below = more.get(key, value[key]), less.get(key, value[key])
            both = key in less and key in more
            change = (above - below) * (given.u / (high - low) if both else 1.0)
            squares[key] += change**2
    return {key: square**0.5 for key, square in squares.items()}


def _values(scenario: Scenario, apparatus: Apparatus, figures: int) -> dict[str, float]:
    """What the equations of the worked solution give, by symbol id."""
    lab = Lab(scenario, apparatus, solve(apparatus), figures, numbers=True, bare=True)
    found: dict[str, float] = {}
    for _, step in _parts(lab):
        for each in (equation.result for equation in step.equations):
            if each is not None and each.value is not None:
                found.setdefault(each.id, each.value)
    return found


def _steps(lab: Lab, known: Mapping[str, float]) -> Iterator[Step]:
    """The steps with their parts. A question is answered once, at the first step that does, and a
    result is told of once: how well it is known, and with a box round it.
    """
    answered, told, boxed = set[str](), set[str](), set[str]()
    for part, step in _parts(lab):
        asked = tuple(question for question in step.questions if question.id not in answered)
        answered |= {question.id for question in asked}
        vague = _vague(step, known, lab.figures, told)
        told |= {symbol.id for symbol, _ in vague}
        blocks = _with_sentence(step.blocks, vague) if vague else step.blocks
        if step.topic != "limits":
            blocks = tuple(_boxed(block, boxed) for block in blocks)
        yield replace(step, part=part, questions=asked, blocks=blocks)


def _vague(
    step: Step, known: Mapping[str, float], figures: int, told: set[str]
) -> list[tuple[Symbol, float]]:
    """The results of which the givens leave more than the last figure open, with how much."""
    return [
        (symbol, known[symbol.id])
        for symbol in dict.fromkeys(equation.result for equation in step.equations)
        if symbol is not None and symbol.value is not None and not symbol.given
        if symbol.id in known and symbol.id not in told
        if claims_too_much(symbol.value, known[symbol.id], figures)
    ]


def _with_sentence(
    blocks: tuple[Block, ...], vague: list[tuple[Symbol, float]]
) -> tuple[Block, ...]:
    """With e.g. ``T = 0.040 N ± 0.010 N`` below the last equation."""
    text: Text = (sentence("uncertainty"),)
    for at, (symbol, u) in enumerate(vague):
        sign = " " if not at else " and " if at == len(vague) - 1 else ", "
        value = with_uncertainty(symbol.value or 0.0, u).plus_minus(symbol.unit)
        value = value.replace(" °", "°").replace(" ", "\u00a0")
        text = (*text[:-1], f"{text[-1]}{sign}", symbol, f" = {value}")
    paragraph = Paragraph(text=(*text[:-1], f"{text[-1]}."))
    last = max(at for at, block in enumerate(blocks) if isinstance(block, Working)) + 1
    return (*blocks[:last], paragraph, *blocks[last:])


# Letters for what only shortens a formula: no step is about them.
_ON_THE_WAY = ("driving-force", "moving-mass", "denominator")


def _boxed(block: Block, seen: set[str]) -> Block:
    """A block with a box round each quantity where it is worked out for the first time."""
    if not isinstance(block, Working):
        return block
    equations = []
    for equation in block.equations:
        symbol = equation.result
        first = symbol is not None and symbol.id not in seen and not symbol.given
        first = first and symbol is not None and symbol.id.split("@")[0] not in _ON_THE_WAY
        seen |= {symbol.id} if symbol is not None else set()
        equations.append(replace(equation, boxed=first))
    return replace(block, equations=tuple(equations))


def _parts(lab: Lab) -> Iterator[tuple[str, Step]]:
    """Each step with the title of the part it stands in."""
    for part, file, of, asked in _plan(lab):
        step = step_from(file, of, **asked)
        if step is not None:
            yield part, step


_Asked = tuple[str, Lab, Mapping[str, object]]  # a file, the lab, what it is asked with
_SYSTEM = ("external", "no-work", "work", "potential", "energy")


def _plan(lab: Lab) -> Iterator[tuple[str, *_Asked]]:
    """The files of steps in their order; each says itself for which set-ups there is a step."""
    forces, review = sentence("parts.forces"), sentence("parts.review")
    motion = sentence("parts.motion" if lab.moves else "parts.motion-rest")
    energies = lab.moves and lab.phase.ends is not None  # or works and energies have no values
    yield forces, "objects", lab, {}
    for file in ("diagram", "newton"):
        yield from ((forces, file, lab, {"object": name}) for name in lab.movers)
    for name in lab.rotors if lab.moves else ():
        yield forces, "held-pulley" if lab.holds(name) else "turning", lab, {"pulley": name}
    yield from ((motion, "string", lab, {"string": name}) for name in lab.apparatus.strings)
    for file, of, asked in _moving(lab) if lab.moves else _at_rest(lab):
        yield motion, file, of, asked
    for system in lab.systems if energies else ():
        part = say("parts.system", title=lower_first(system.title))
        yield from ((part, file, lab, {"system": system}) for file in _SYSTEM)
    if energies:
        looking_back = ("two-views", "whole-run", "other-systems", "after-landing")
        yield from ((review, file, lab, {}) for file in looking_back)
    yield from ((review, file, lab, {}) for file in ("no-work-at-rest", "bench", "units"))


def _moving(lab: Lab) -> Iterator[_Asked]:
    for file in ("acceleration", "tension", "open-forces", "limits", "time-and-speed"):
        yield file, lab, {}
    for later in map(lab.at, lab.driven[1:]):
        files = ("acceleration", "tension", "time-and-speed") if later.tied else ()
        yield from ((file, later, {}) for file in files)


def _at_rest(lab: Lab) -> Iterator[_Asked]:
    held = (name for name in lab.frictions if lab.settled(name))
    turning = (name for name in lab.rotors if lab.pulleys[name].bearing_torque)
    yield "tension", lab, {}
    yield from (("static-friction", lab, {"object": name}) for name in held)
    yield "holding-masses", lab, {}
    yield from (("held-pulley", lab, {"pulley": name}) for name in turning)
    yield from ((file, lab, {}) for file in ("open-forces", "limits"))
