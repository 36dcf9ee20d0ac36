"""Puts a lesson together: the steps in order, with their slips and questions, symbols and givens,
and what diagrams write beside their arrows.

Takes scenario, apparatus and solution; gives a ``Lesson``. What a step says is in ``steps/``.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import (
    Block,
    Equation,
    FigureSlot,
    Items,
    Lesson,
    Step,
    Working,
    piece,
    segments_at,
    symbols_of,
)
from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.known import givens_of, uncertainties, with_uncertainties
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.choosing import choosing
from fallwork.lesson.notation import noted
from fallwork.lesson.safety import SafetyLab
from fallwork.lesson.stepfiles import check_steps, following, step_from
from fallwork.lesson.trees import ON_THE_WAY, product
from fallwork.lesson.words import lower_first, say
from fallwork.measurement.prediction import Case
from fallwork.mechanics import apparatus_of
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Interaction, Solution
from fallwork.scenario import Scenario
from fallwork.scenario.course import Safety

CHOICES = "other-systems"  # the step on which a reader chooses a system


def build_lesson(
    scenario: Scenario,
    apparatus: Apparatus,
    solution: Solution,
    *,
    figures: int,
    numbers: bool,
    case: Case | None = None,
    safety: Safety | None = None,
    widest: Scenario | None = None,
) -> Lesson:
    """The worked solution of a set-up; in symbols only unless ``numbers``, so that nothing in it
    depends on the size of a result. A ``case`` names the uncertain givens; ``safety`` says how far
    things can fall, ``widest`` has the larger numbers for which bounds of what strikes are told.
    """
    lab = Lab(scenario, apparatus, solution, figures, numbers)
    opening = step_from("opening", lab)
    lists = [block.items for block in opening.blocks if isinstance(block, Items)] if opening else []
    told = ((part, step_from(file, of, **asked)) for part, file, of, asked in _with_own(lab))
    steps = tuple(_steps((replace(s, part=part) for part, s in told if s), numbers=numbers))
    check_steps(lab, steps)
    if numbers and case is not None:
        steps = tuple(with_uncertainties(steps, uncertainties(lab, steps, case), figures))
    shown = (block.phase for s in steps for block in s.blocks if isinstance(block, FigureSlot))
    unnoted = Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="numbers" if numbers else "symbols",
        summary=opening.idea if opening else (),
        find=lists[0] if lists else (),
        givens=givens_of(lab),
        steps=steps,
        safety=_safety(lab, safety or Safety(), widest),
        labels={phase: dict(_labels(lab, lab.at(phase))) for phase in sorted({0, *shown})},
        choosing=choosing(lab, steps) if any(step.id == CHOICES for step in steps) else None,
    )
    lesson = noted(unnoted, scenario.notation)
    listed = tuple(given.symbol for given in lesson.givens if numbers and given.symbol is not None)
    about = (lesson.summary, lesson.steps, lesson.safety, listed)
    return replace(lesson, symbols=symbols_of(about))


def _safety(lab: Lab, safety: Safety, widest: Scenario | None) -> Step | None:
    """The step with bounds, of the numbers of ``widest`` where it is given."""
    if widest is not None:
        wide = apparatus_of(widest, float(lab.apparatus.gravity))
        lab = Lab(widest, wide, lab.solution, lab.figures, lab.numbers)
    return step_from("safety", lab.seen_as(SafetyLab, safety=safety))


def _steps(steps: Iterable[Step], *, numbers: bool) -> Iterator[Step]:
    """Each question at the first step that answers it, a box round a result at its first."""
    answered, boxed = set[str](), set[str]()
    for step in steps:
        asked = tuple(question for question in step.questions if question.id not in answered)
        answered |= {question.id for question in asked}
        limits = step.topic == "limits"
        blocks = step.blocks if limits else tuple(_boxed(step.blocks, boxed, numbers))
        yield replace(step, questions=asked, blocks=blocks)


def _boxed(blocks: tuple[Block, ...], seen: set[str], numbers: bool) -> Iterator[Block]:
    """The blocks with a box round each quantity where the step that first gives it has it last."""
    last, before = dict[str, Equation](), frozenset(seen)
    workings = (block.equations for block in blocks if isinstance(block, Working))
    for equation in (equation for each in workings for equation in each):
        left, rest = equation.left, symbols_of((equation.right, *equation.forms))
        known = not numbers and all(each.given or each.id in seen for each in rest)
        if isinstance(left, Symbol) and not left.given and (equation.numbers or known):
            seen.add(left.id)
            if left.id not in before:
                last[left.id] = equation
    ends = [id(each) for key, each in last.items() if key.split("@")[0] not in ON_THE_WAY]
    for block in blocks:
        if isinstance(block, Working):
            found = (replace(each, boxed=id(each) in ends) for each in block.equations)
            block = Working(equations=tuple(found))
        yield block


_Planned = tuple[str, str, Lab, Mapping[str, object]]


def _with_own(lab: Lab) -> Iterator[_Planned]:
    """The plan, each of the course's own steps behind the last of the file that it names."""
    plan = [*_plan(lab)]
    last = {file: at for at, (_, file, of, _) in enumerate(plan) if of is lab}
    for at, planned in enumerate(plan):
        yield planned
        part, file, _, _ = planned
        own = following(lab, file) if last.get(file) == at else ()
        yield from ((part, name, lab, {}) for name in own)


_SYSTEM = ("external", "no-work", "work", "potential", "energy")


def _plan(lab: Lab) -> Iterator[_Planned]:
    """Part, file, lab and what each step is asked with; a file says itself if there is a step."""
    forces, review = say("parts.forces"), say("parts.review")
    motion = say("parts.motion" if lab.moves else "parts.motion-rest")
    yield forces, "objects", lab, {}
    for file in ("diagram", "newton"):
        yield from ((forces, file, lab, {"object": name}) for name in lab.movers)
    for name in lab.rotors if lab.moves else ():
        yield forces, "held-pulley" if lab.holds(name) else "turning", lab, {"pulley": name}
    yield from ((motion, "string", lab, {"string": name}) for name in lab.apparatus.strings)
    if lab.moves:
        files = ("acceleration", "tension", "open-forces", "limits", "time-and-speed")
        yield from ((motion, file, lab, {}) for file in files)
        for later in map(lab.at, lab.driven[1:]):
            again = ("acceleration", "tension", "time-and-speed") if later.tied else ()
            yield from ((motion, file, later, {}) for file in again)
    else:
        held = filter(lab.settled, lab.frictions)
        turning = (name for name in lab.rotors if lab.pulleys[name].bearing_torque)
        yield motion, "tension", lab, {}
        yield from ((motion, "static-friction", lab, {"object": name}) for name in held)
        yield motion, "holding-masses", lab, {}
        yield from ((motion, "held-pulley", lab, {"pulley": name}) for name in turning)
        yield from ((motion, file, lab, {}) for file in ("open-forces", "limits"))
    if lab.moves and lab.phase.ends is not None:  # or works and energies have no values
        for system in lab.systems:
            part = say("parts.system", title=lower_first(system.title))
            yield from ((part, file, lab, {"system": system}) for file in _SYSTEM)
        looking_back = ("two-views", "whole-run", "other-systems", "after-landing")
        yield from ((review, file, lab, {}) for file in looking_back)
    yield from ((review, file, lab, {}) for file in ("no-work-at-rest", "bench", "units"))


# ---- what diagrams write beside their arrows


def _labels(first: Lab, lab: Lab) -> Iterator[tuple[str, Expression]]:
    """Symbols of forces, of strings' pulls on a pulley (``piece``), of accelerations by object."""
    for name in lab.movers:
        for force in filter(lab.acts, lab.forces_on(name)):
            if force.interaction is not Interaction.LANDING:  # the model has no letter for it
                yield force.name, lab.size(force)
        if name in lab.phase.accelerations and not lab.rests(name):
            yield name, _acceleration(first, lab, name)
    for pulley in lab.pulleys:
        for force in lab.forces_on(pulley):  # each straight piece of string that pulls at its rim
            wound = force.interaction is Interaction.TENSION and pulley not in lab.movers
            if force.interaction is Interaction.CONTACT or wound:
                for at in segments_at(lab.apparatus.strings[force.partner].path, pulley):
                    yield piece(force.name, at), lab.tension_at(force.partner, at)
    for pulley in lab.spinning:
        drag = lab.force(Interaction.BEARING_TORQUE, pulley)
        weighs = lab.force(Interaction.GRAVITY, pulley)
        if drag is not None and lab.pulleys[pulley].bearing_torque:
            yield drag.name, lab.bearing_torque(pulley)
        if weighs is not None and pulley not in lab.movers:
            yield weighs.name, product(lab.pulley_mass(pulley), lab.gravity)
        if lab.pulleys[pulley].inertia:
            yield pulley, lab.angular_acceleration(pulley)


def _acceleration(first: Lab, lab: Lab, name: str) -> Expression:
    """By the letter that the phase's equation of motion has for it; with numbers by the result."""
    if lab.index == 0 and not lab.numbers:
        return lab.own_acceleration(name)
    if lab.index in lab.driven:
        return lab.acceleration_tree(name)
    return first.coasting_acceleration if first.coasts else lab.acceleration_of(name)
