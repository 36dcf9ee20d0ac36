"""Puts a lesson together: the steps in order, with their slips and questions, symbols and givens.

Takes scenario, apparatus and solution; gives a ``Lesson``. What each step says is left to
``steps/``.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import Block, Equation, Items, Lesson, Step, Working, symbols_of
from fallwork.lesson.expression import Symbol
from fallwork.lesson.givens import givens_of
from fallwork.lesson.known import uncertainties, with_uncertainties
from fallwork.lesson.lab import Lab
from fallwork.lesson.labels import labels_of
from fallwork.lesson.notation import noted
from fallwork.lesson.safety import SafetyLab
from fallwork.lesson.stepfiles import step_from
from fallwork.lesson.words import lower_first, say, sentence
from fallwork.measurement.prediction import Case
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario import Scenario
from fallwork.scenario.course import Safety


def build_lesson(
    scenario: Scenario,
    apparatus: Apparatus,
    solution: Solution,
    *,
    figures: int,
    numbers: bool,
    case: Case | None = None,
    safety: Safety | None = None,
) -> Lesson:
    """The worked solution of a set-up; in symbols only unless ``numbers``, which say how well they
    are known where a ``case`` names the uncertain givens. ``safety`` says how far things can fall.

    In symbols only, nothing that the lesson holds depends on the size of any result.
    """
    lab = Lab(scenario, apparatus, solution, figures, numbers)
    givens = givens_of(lab)
    opening = step_from("opening", lab)
    assert opening is not None
    (find,) = (block for block in opening.blocks if isinstance(block, Items))
    steps = tuple(_steps(_parts(lab), numbers=numbers))
    if numbers and case is not None:
        steps = tuple(with_uncertainties(steps, uncertainties(lab, steps, case), figures))
    unnoted = Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="numbers" if numbers else "symbols",
        summary=opening.idea,
        find=find.items,
        givens=givens,
        symbols=(),
        steps=steps,
        safety=step_from("safety", lab.seen_as(SafetyLab, safety=safety or Safety())),
        labels=labels_of(lab, steps),
    )
    lesson = noted(unnoted, scenario.notation)
    listed = [given.symbol for given in lesson.givens if numbers and given.symbol is not None]
    parts = (lesson.summary, lesson.steps, lesson.safety, tuple(listed))
    return replace(lesson, symbols=symbols_of(parts))


def _steps(steps: Iterable[Step], *, numbers: bool) -> Iterator[Step]:
    """The steps, each question at the first that answers it, and a box round each result where it
    comes first.
    """
    answered, boxed = set[str](), set[str]()
    for step in steps:
        asked = tuple(question for question in step.questions if question.id not in answered)
        answered |= {question.id for question in asked}
        blocks = step.blocks
        if step.topic != "limits":
            blocks = _boxed(blocks, boxed, numbers)
        yield replace(step, questions=asked, blocks=blocks)


# Letters for what only shortens a formula: no step is about them.
_ON_THE_WAY = ("driving-force", "moving-mass", "denominator")


def _boxed(blocks: tuple[Block, ...], seen: set[str], numbers: bool) -> tuple[Block, ...]:
    """The blocks of a step with a box round each quantity that it is the first to work out, at the
    last equation for it: one with numbers, or in symbols one of nothing that is still unknown.
    """
    last, before = dict[str, Equation](), frozenset(seen)
    workings = (block.equations for block in blocks if isinstance(block, Working))
    for equation in (equation for each in workings for equation in each):
        left, rest = equation.left, symbols_of((equation.right, *equation.forms))
        known = not numbers and all(each.given or each.id in seen for each in rest)
        if isinstance(left, Symbol) and not left.given and (equation.numbers or known):
            seen.add(left.id)
            if left.id not in before:
                last[left.id] = equation
    ends = [id(each) for key, each in last.items() if key.split("@")[0] not in _ON_THE_WAY]

    def drawn(block: Block) -> Block:
        if not isinstance(block, Working):
            return block
        return Working(equations=tuple(replace(e, boxed=id(e) in ends) for e in block.equations))

    return tuple(map(drawn, blocks))


def _parts(lab: Lab) -> Iterator[Step]:
    """Each step with the title of the part it stands in."""
    for part, file, of, asked in _plan(lab):
        if step := step_from(file, of, **asked):
            yield replace(step, part=part)


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
