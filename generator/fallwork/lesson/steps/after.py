"""What comes after the part that is worked through: landing, coasting, the end of the run."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Step, Text, Working
from fallwork.lesson.expression import as_expression
from fallwork.lesson.trees import product
from fallwork.lesson.words import listing, say, title


def after_landing_step(context: Context) -> Step | None:
    """What goes on when a weight has landed; None where the run doesn't get there."""
    setting = context.setting
    if not any(phase.name == "landing" for phase in setting.solution.phases):
        return None
    landed = setting.apparatus.run.object
    the = context.the(landed)
    plain = context.is_plain and not setting.slope(context.slider)
    if plain:
        blocks = list(_plain(context))
    else:
        blocks = [
            Paragraph(text=say("after-landing.landing", the_hanging=the)),
            *_rising(context),
            Paragraph(text=_end(context)),
        ]
    return Step(
        id="after-landing",
        topic="after-landing" if plain else "after-landing.other",
        title=title("after-landing.title", the_hanging=the),
        idea=_idea(context, the, plain=plain),
        blocks=tuple(blocks),
    )


def _idea(context: Context, the: str, *, plain: bool) -> Text:
    if plain:
        parts = {"the_slider": context.the(context.slider)}
        key = "idea" if context.rubs else "idea-frictionless"
        return say(f"after-landing.{key}", the_surface=context.the(context.surface), **parts)
    last = context.setting.solution.phases[-1]
    key = "idea-alone" if last.name == "landing" else "idea-other"
    return say(f"after-landing.{key}", the_hanging=the)


def _plain(context: Context) -> Iterator[Block]:
    """A cart on a level track after its weight has landed."""
    yield Paragraph(text=say("after-landing.landing", the_hanging=context.the(context.weight)))
    if context.rubs:
        yield from _coasting(context)
    yield Paragraph(text=_end_of_coasting(context))


def _coasting(context: Context) -> Iterator[Block]:
    names, motion, slider = context.names, context.motion, context.slider
    coasting, stop = names.coasting_acceleration, names.coasting_distance
    mu, g = names.coefficient(slider), names.gravity
    newton = Equation(
        left=-motion.frictions[slider], right=product(names.mass(slider), coasting), unit="N"
    )
    far = as_expression(names.speed) ** 2 / product(2, mu, g)
    yield Paragraph(text=say("after-landing.coasting", the_slider=context.the(slider)))
    yield Working(equations=(newton, context.result(coasting, -product(mu, g), "m/s²")))
    yield Paragraph(text=say("after-landing.stop"))
    yield Working(equations=(context.result(stop, far, "m"),))


def _end_of_coasting(context: Context) -> Text:
    """Whether the track is long enough for the cart to come to rest."""
    setting = context.setting
    last = setting.solution.phases[-1]
    speed = abs(last.end_velocities[context.slider] or 0.0)
    if last.ends is None or not context.numbers or not context.rubs or not speed:
        return _end(context)
    return say(
        "after-landing.short",
        ends=setting.with_articles(last.ends),
        speed=context.amount(speed, "m/s"),
        the_surface=context.the(context.surface),
        the_slider=context.the(context.slider),
    )


def _rising(context: Context) -> Iterator[Block]:
    """What a weight does that the landed one has pulled up."""
    names = context.setting.rising if context.is_pair else ()
    if names:
        the = listing([context.the(name) for name in names])
        text = say("after-landing.rising", the_rising=the, g=context.names.gravity)
        yield Paragraph(text=text)


def _end(context: Context) -> Text:
    """Where the run ends, in a lesson with numbers; in symbols that depends on them."""
    last = context.setting.solution.phases[-1]
    if last.ends is None or not context.numbers:
        return say("after-landing.end-open")
    if last.name == "landing":
        return say("after-landing.end-landed")
    return say("after-landing.end", ends=context.setting.with_articles(last.ends))
