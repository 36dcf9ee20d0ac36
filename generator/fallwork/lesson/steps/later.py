"""What comes after the part that the lesson works through, and what stays at rest."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Relation, Step, Text, Working
from fallwork.lesson.elimination import inner_forces
from fallwork.lesson.expression import as_expression
from fallwork.lesson.trees import product
from fallwork.lesson.words import say, the, title, with_articles


def after_landing_step(context: Context) -> Step | None:
    """What goes on when a weight has landed; None where the run doesn't get there."""
    phases = context.setting.solution.phases
    if not any(phase.name == "landing" for phase in phases):
        return None
    if context.is_plain and not context.setting.slope(context.slider):
        return _coasting_step(context)
    return Step(
        id="after-landing",
        topic="after-landing.other",
        title=title("after-landing.title"),
        idea=say("after-landing.idea-other"),
        blocks=(
            Paragraph(text=say("after-landing.landing", the_hanging="the weight")),
            Paragraph(text=_where_it_ends(context)),
        ),
    )


def _coasting_step(context: Context) -> Step:
    """A cart on a level track after its weight has landed."""
    parts = {
        "the_slider": the(context.slider),
        "the_hanging": the(context.weight),
        "the_surface": the(context.surface),
    }
    blocks: list[Block] = [
        Paragraph(text=say("after-landing.landing", **parts)),
        *(_coasting(context) if context.rubs else ()),
        Paragraph(text=_where_it_ends(context)),
    ]
    key = "after-landing.idea" if context.rubs else "after-landing.idea-frictionless"
    return Step(
        id="after-landing",
        topic="after-landing",
        title=title("after-landing.title"),
        idea=say(key, **parts),
        blocks=tuple(blocks),
    )


def _coasting(context: Context) -> list[Block]:
    names, motion, slider = context.names, context.motion, context.slider
    coasting, stop = names.coasting_acceleration, names.coasting_distance
    mu, g = names.coefficient(slider), names.gravity
    newton = Equation(
        left=-motion.frictions[slider], right=product(names.mass(slider), coasting), unit="N"
    )
    far = as_expression(names.speed) ** 2 / product(2, mu, g)
    return [
        Paragraph(text=say("after-landing.coasting", the_slider=the(slider))),
        Working(equations=(newton, context.result(coasting, -product(mu, g), "m/s²"))),
        Paragraph(text=say("after-landing.stop")),
        Working(equations=(context.result(stop, far, "m"),)),
    ]


def _where_it_ends(context: Context) -> Text:
    last = context.setting.solution.phases[-1]
    if last.ends is None or not context.numbers:
        return say("after-landing.end-open")
    setting = context.setting
    names = (*setting.scenario.objects, *setting.apparatus.strings, *setting.apparatus.surfaces)
    ends = with_articles(last.ends, names)
    slider = setting.sliders[0] if setting.sliders else ""
    speed = abs(last.end_velocities[slider] or 0.0) if slider else 0.0
    if not (context.is_plain and context.rubs and speed):
        return say("after-landing.end", ends=ends)
    return say(
        "after-landing.short",
        ends=ends,
        speed=context.amount(speed, "m/s"),
        the_surface=the(context.surface),
        the_slider=the(slider),
    )


def rest_steps(context: Context) -> Iterator[Step]:
    """Everything at rest: the pulls, the friction that is needed, and its limit."""
    found = inner_forces(context)[0] if context.setting.tied else ()
    blocks: list[Block] = []
    for solved in found:
        blocks.append(Paragraph(text=say("static.from", the_object=the(solved.source))))
        tree = context.at_rest(solved.tree)
        blocks.append(Working(equations=(context.result(solved.symbol, tree, "N"),)))
    yield Step(
        id="tension",
        topic="static.tension",
        title=title("tension.title"),
        idea=say("static.idea-tension"),
        blocks=tuple(blocks),
    )
    for name in context.setting.sliders:
        if name in context.motion.frictions:
            yield _holding_step(context, name)


def _holding_step(context: Context, name: str) -> Step:
    """The friction that one object needs to stay, against the most that it can have."""
    motion = context.motion
    needed = motion.friction_needed(name)
    friction = motion.frictions[name]
    limit = motion.largest_friction(name)
    several = len(motion.frictions) > 1
    relation = Relation(sides=(friction, limit), signs=("≤",))
    parts = {"the_slider": the(name)}
    return Step(
        id=f"static-friction-{name}" if several else "static-friction",
        topic="static.friction",
        title=title("static.title"),
        idea=say("static.idea", **parts),
        blocks=(
            Paragraph(text=say("static.holds", **parts)),
            Working(equations=(context.result(friction, needed, "N"),)),
            Paragraph(text=say("static.limit")),
            Working(equations=(context.result(context.names.friction_limit(name), limit, "N"),)),
            Paragraph(text=say("static.enough", relation=relation)),
        ),
    )


def no_energy_step() -> Step:
    """Nothing moves: no force does work, for any choice of system."""
    return Step(
        id="no-work-at-rest",
        topic="static.energy",
        title=title("static.title-energy"),
        idea=say("static.idea-energy"),
        blocks=(Paragraph(text=say("static.no-work")),),
    )
