"""Puts a lesson together: the steps in order, with their slips and questions, symbols and givens.

Takes scenario, apparatus and solution; gives a ``Lesson``. What each step says is left to
``steps/``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import Given, Lesson, Step, Text
from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.givens import givens_of
from fallwork.lesson.questions import questions_for
from fallwork.lesson.setting import Setting
from fallwork.lesson.slips import slips_for
from fallwork.lesson.steps import comparison, forces, later, motion, opening, systems
from fallwork.lesson.words import fill, listing, lower_first, sentence, texts, the
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario.model import Scenario


def build_lesson(
    scenario: Scenario,
    apparatus: Apparatus,
    solution: Solution,
    *,
    figures: int,
    numbers: bool,
) -> Lesson:
    """The worked solution of a set-up; in symbols only unless ``numbers``.

    In symbols only, nothing that the lesson holds depends on the size of any result.
    """
    context = Context(
        Setting(
            scenario=scenario,
            apparatus=apparatus,
            solution=solution,
            figures=figures,
            numbers=numbers,
        )
    )
    givens = givens_of(context)
    steps = tuple(
        replace(_furnished(context, step), part=part) for part, step in _parts(context, givens)
    )
    return Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="numbers" if numbers else "symbols",
        summary=opening.summary(context),
        find=opening.find(context),
        givens=givens,
        symbols=symbols_of(steps),
        steps=steps,
        safety=_safety(context),
        labels=_labels(context),
    )


def _parts(context: Context, givens: tuple[Given, ...]) -> Iterator[tuple[str, Step]]:
    """Each step with the title of the part it stands in."""
    for step in _force_steps(context):
        yield sentence("parts.forces"), step
    for step in _motion_steps(context):
        yield sentence("parts.motion"), step
    for choice in context.setting.scenario.systems if context.setting.moves else ():
        title = sentence("parts.system").replace("{title}", lower_first(choice.title))
        for step in systems.system_steps(context, choice):
            yield title, step
    for step in _review_steps(context, givens):
        yield sentence("parts.review"), step


def _force_steps(context: Context) -> Iterator[Step]:
    setting = context.setting
    yield forces.objects_step(context)
    for name in setting.movers:
        yield forces.diagram_step(context, name)
    if setting.moves:
        for name in setting.movers:
            yield forces.newton_step(context, name)
        for pulley in setting.rotors if setting.tied else ():
            yield forces.rotor_step(context, pulley)


def _motion_steps(context: Context) -> Iterator[Step]:
    setting = context.setting
    for string in setting.apparatus.strings:
        yield motion.string_step(context, string)
    if not setting.moves:
        yield from later.rest_steps(context)
        return
    yield from motion.acceleration_steps(context)
    yield from _present(motion.tension_step(context), motion.limits_step(context))
    yield motion.time_step(context)
    yield from _way_back(context)


def _way_back(context: Context) -> Iterator[Step]:
    """The later driven parts of a run that turns round: other friction, other acceleration."""
    for index, phase in enumerate(context.setting.solution.phases):
        if index and phase.name.startswith("driven"):
            yield from motion.later_steps(Context(context.setting.at(index)))


def _review_steps(context: Context, givens: tuple[Given, ...]) -> Iterator[Step]:
    if context.setting.moves:
        yield from _present(comparison.two_views_step(context))
        yield comparison.other_systems_step(context)
        yield from _present(later.after_landing_step(context))
    else:
        yield later.no_energy_step()
    yield comparison.units_step(context, givens)


def _present(*steps: Step | None) -> Iterator[Step]:
    return (step for step in steps if step is not None)


def _furnished(context: Context, step: Step) -> Step:
    """The step with its slips and questions."""
    return replace(
        step,
        slips=slips_for(context, step.topic),
        questions=questions_for(context, step.topic),
    )


def _safety(context: Context) -> tuple[Text, ...]:
    """The usual cautions, as far as the set-up has what they are about."""
    setting = context.setting
    parts = {
        "the_slider": listing([the(name) for name in setting.sliders]),
        "the_weight": listing([the(name) for name in setting.hanging]),
        "the_surface": listing([the(name) for name in setting.apparatus.surfaces]),
    }
    present = {"weight": setting.hanging, "slider": setting.sliders, "always": True}
    return tuple(
        fill(entry["text"], **parts) for entry in texts("safety") if present[entry["needs"]]
    )


def _labels(context: Context) -> Mapping[str, Expression]:
    """The symbol of each force on a mover."""
    return {
        force.name: context.motion.size(force)
        for name in context.setting.movers
        for force in context.setting.forces_on(name)
        if force.size
    }


def symbols_of(steps: tuple[Step, ...]) -> tuple[Symbol, ...]:
    """Every symbol of the steps, in the order of first use."""
    return tuple(dict.fromkeys(_symbols(steps)))


def _symbols(part: object) -> Iterator[Symbol]:
    """Every symbol anywhere inside a part of the lesson, in the order of the page."""
    if isinstance(part, Symbol):
        yield part
    elif isinstance(part, tuple):
        for item in part:
            yield from _symbols(item)
    elif is_dataclass(part):
        for field in fields(part):
            yield from _symbols(getattr(part, field.name))
