"""Puts a lesson together: the steps in order, with their slips and questions, symbols and givens.

Takes scenario, apparatus and solution; gives a ``Lesson``. What each step says is left to
``steps/``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import Given, Lesson, Step, Text
from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.questions import questions_for
from fallwork.lesson.setting import Setting
from fallwork.lesson.slips import slips_for
from fallwork.lesson.steps import comparison, forces, motion, systems
from fallwork.lesson.words import fill, lower_first, say, sentence, texts, the
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario.model import Quantity, Scenario
from fallwork.scenario.quantity import as_written, in_si


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
    givens = _givens(context)
    steps = tuple(
        replace(_furnished(context, step), part=part) for part, step in _parts(context, givens)
    )
    return Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="numbers" if numbers else "symbols",
        summary=_summary(context),
        find=_find(context),
        givens=givens,
        symbols=tuple(dict.fromkeys(_symbols(steps))),
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
    for choice in context.setting.scenario.systems:
        title = sentence("parts.system").replace("{title}", lower_first(choice.title))
        for step in systems.system_steps(context, choice):
            yield title, step
    for step in _review_steps(context, givens):
        yield sentence("parts.review"), step


def _force_steps(context: Context) -> Iterator[Step]:
    movers = context.setting.movers
    yield forces.objects_step(context)
    for name in movers:
        yield forces.diagram_step(context, name)
    for name in movers:
        yield forces.newton_step(context, name)


def _motion_steps(context: Context) -> Iterator[Step]:
    for string in context.setting.apparatus.strings:
        yield motion.string_step(context, string)
    yield motion.acceleration_step(context)
    yield motion.tension_step(context)
    yield motion.limits_step(context)
    yield motion.time_step(context)


def _review_steps(context: Context, givens: tuple[Given, ...]) -> Iterator[Step]:
    views = comparison.two_views_step(context)
    if views is not None:
        yield views
    yield comparison.other_systems_step(context)
    if len(context.setting.solution.phases) > 1:
        yield motion.after_landing_step(context)
    yield comparison.units_step(context, givens)


def _furnished(context: Context, step: Step) -> Step:
    """The step with its slips and questions."""
    return replace(
        step,
        slips=slips_for(context, step.topic),
        questions=questions_for(context, step.topic),
    )


def _givens(context: Context) -> tuple[Given, ...]:
    """The values that the lesson starts from, in the order of the file; g last."""
    names, scenario = context.names, context.setting.scenario
    pairs: list[tuple[Symbol, Quantity]] = [
        (names.mass(name), scenario.objects[name].mass)  # type: ignore[union-attr,misc]
        for name in context.setting.movers
    ]
    for name in context.setting.sliders:
        body = scenario.objects[name]
        friction = body.friction or scenario.surfaces[body.runs_on].friction  # type: ignore[union-attr]
        if friction.value:
            pairs.append((names.coefficient(name), friction))
    if scenario.run.distance is not None:
        pairs.append((names.distance, scenario.run.distance))
    rows = [
        Given(symbol=symbol, as_written=as_written(quantity), in_si=_joined(in_si(quantity)))
        for symbol, quantity in pairs
    ]
    g = f"{context.setting.apparatus.gravity:.6g}\u00a0m/s²"
    return (*rows, Given(symbol=names.gravity, as_written=g, in_si=g))


def _joined(parts: tuple[str, str]) -> str:
    return "\u00a0".join(part for part in parts if part)


def _summary(context: Context) -> Text:
    names = context.names
    return say(
        "summary.moves",
        the_slider=the(context.slider),
        the_weight=the(context.weight),
        the_surface=the(context.surface),
        the_string=the(context.string),
        the_pulley=the(context.pulley),
        the_reference=the(context.setting.reference),
        d=names.distance,
    )


def _find(context: Context) -> tuple[Text, ...]:
    names = context.names
    tension = names.tension(context.string, context.slider)
    return (
        say("find.acceleration", a=names.acceleration, T=tension),
        say("find.motion", t=names.time, v=names.speed, d=names.distance),
        *(say("find.system", title=choice.title) for choice in context.setting.scenario.systems),
    )


def _safety(context: Context) -> tuple[Text, ...]:
    return tuple(
        fill(
            template,
            the_slider=the(context.slider),
            the_weight=the(context.weight),
            the_surface=the(context.surface),
        )
        for template in texts("safety")["fixed"]
    )


def _labels(context: Context) -> Mapping[str, Expression]:
    """The symbol of each force on a mover."""
    return {
        force.name: forces.force_symbol(context, force)
        for name in context.setting.movers
        for force in context.setting.forces_on(name)
        if force.size
    }


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
