"""What comes after the part that is worked through: landing, coasting, the end of the run."""

from collections.abc import Iterable, Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, FigureSlot, Paragraph, Step, Text, Working
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression
from fallwork.lesson.free import solve_free
from fallwork.lesson.run import end_in_words
from fallwork.lesson.setting import NOISE
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import join, listing, say, title
from fallwork.mechanics.solution import Ending, Role


def after_landing_step(context: Context) -> Step | None:
    """What goes on when a weight has landed; None where the run doesn't get there."""
    setting = context.setting
    if not setting.has_landing:
        return None
    context = context.at(setting.driven[-1])
    landed = setting.apparatus.run.object
    the = context.the(landed)
    plain = coasts(context)
    if plain:
        blocks = list(_plain(context))
    else:
        blocks = [
            Paragraph(text=say("after-landing.landing", the_hanging=the)),
            *_going_on(context),
            Paragraph(text=_end(context)),
        ]
    return Step(
        id="after-landing",
        topic="after-landing" if plain else "after-landing.other",
        title=title("after-landing.title", the_hanging=the),
        idea=_idea(context, the, plain=plain),
        blocks=tuple(blocks),
    )


def coasts(context: Context) -> bool:
    """Whether what goes on is a cart alone, on a level track or on its way up a slope."""
    return context.is_plain and not context.setting.upright(context.slider) and _climb(context) >= 0


def _climb(context: Context) -> float:
    """Positive where a cart runs up a slope, zero on the level."""
    return context.setting.slope(context.slider) * context.setting.senses[context.slider]


def _idea(context: Context, the: str, *, plain: bool) -> Text:
    if plain:
        parts = {"the_slider": context.the(context.slider)}
        key = "idea" if context.rubs else "idea-frictionless"
        if _climb(context):
            key = "idea-slope" if context.rubs else "idea-slope-frictionless"
        return say(f"after-landing.{key}", the_surface=context.the(context.surface), **parts)
    last = context.setting.solution.phases[-1]
    key = "idea-alone" if last.role is Role.LANDING else "idea-other"
    return say(f"after-landing.{key}", the_hanging=the)


def _plain(context: Context) -> Iterator[Block]:
    """A cart on a level track or on its way up a slope, after its weight has landed."""
    yield Paragraph(text=say("after-landing.landing", the_hanging=context.the(context.weight)))
    if _braked(context):
        yield from _coasting(context)
    yield Paragraph(text=_end_of_coasting(context))


def _coasting(context: Context) -> Iterator[Block]:
    names, motion, slider = context.names, context.motion, context.slider
    coasting, stop = names.coasting_acceleration, names.coasting_distance
    forces = total(term.tree for term in motion.outer(slider))
    newton = Equation(left=forces, right=product(names.mass(slider), coasting), unit="N")
    share = _share_of_gravity(context)
    square = as_expression(names.speed) ** 2
    far = square / product(2, share, names.gravity)
    if _climb(context):  # shorter by the acceleration that has just been found
        far = -(square / product(2, coasting))
    yield Paragraph(text=say("after-landing.coasting", the_slider=context.the(slider)))
    if context.setting.after_landing is not None:
        yield FigureSlot(kind="diagram", subject=slider, phase=context.setting.after_landing)
    yield Working(
        equations=(newton, context.result(coasting, -product(share, names.gravity), "m/s²"))
    )
    yield Paragraph(
        text=say("after-landing.turns" if _rolls_back(context) else "after-landing.stop")
    )
    yield Working(equations=(context.result(stop, far, "m"),))


def _braked(context: Context) -> bool:
    """Whether anything slows the cart down when nothing pulls it any more."""
    return context.rubs or _climb(context) > 0


def _share_of_gravity(context: Context) -> Expression:
    """What slows the cart down, as a share of its weight: μ, on a slope sin θ + μ cos θ."""
    names, motion, slider = context.names, context.motion, context.slider
    sine, cosine = motion.sine(slider), motion.cosine(slider)
    parts: list[Operand] = [] if sine is None else [sine]
    if context.rubs:
        grip = names.coefficient(slider)
        parts.append(as_expression(grip) if cosine is None else product(grip, cosine))
    return total(parts)


def _rolls_back(context: Context) -> bool:
    """Whether the cart can't stay where it comes to a stop on its slope."""
    return _climb(context) > 0 and not context.setting.clings(context.slider)


def _end_of_coasting(context: Context) -> Text:
    """Whether the track is long enough for the cart to come to rest, and what catches it if not."""
    setting = context.setting
    last = setting.solution.phases[-1]
    speed = abs(last.end_velocities[context.slider] or 0.0)
    reaches = setting.at(-1).ending is Ending.REACHES
    if last.ends is None or not context.numbers or not speed or not reaches:
        return _end(context)
    caught = say(
        "after-landing.caught",
        ends=end_in_words(last.ends, context.the),
        speed=context.amount(speed, "m/s"),
        the_slider=context.the(context.slider),
    )
    if not _braked(context):
        return caught
    return join(say("after-landing.short", the_surface=context.the(context.surface)), caught)


def _going_on(context: Context) -> Iterator[Block]:
    """What every other object does after the landing, by its own forces."""
    index = context.setting.after_landing
    if index is None:
        return
    later = context.at(index)
    yield Paragraph(text=join(_strings(later), *_let_go(later)))
    solved = solve_free(later)
    forces: Iterable[tuple[Symbol, Operand]] = ()
    if later.setting.taut:
        forces = [(one.symbol, one.tree) for one in solved.forces] or [
            (symbol, symbol) for symbol in solved.unknown if symbol.value is not None
        ]
    turning = [later.names.angular_acceleration(name) for name in _turning(later)]
    motions = [
        (one.symbol, one.tree)
        for one in solved.accelerations
        if one.symbol.unit != "rad/s²" or one.symbol in turning
    ]
    equations = [later.result(left, right, left.unit) for left, right in (*forces, *motions)]
    if equations:
        yield from _diagrams(later)
        yield Paragraph(text=say("after-landing.motions"))
        yield Working(equations=tuple(equations))
    yield from _loose(later)


def _diagrams(later: Context) -> Iterator[Block]:
    """The forces on what doesn't just fall."""
    setting = later.setting
    for name in setting.movers:
        acting = [force for force in setting.forces_on(name) if setting.acts(force)]
        if not setting.rests(name) and len(acting) > 1:
            yield FigureSlot(kind="diagram", subject=name, phase=setting.index)


def _turning(later: Context) -> Iterator[str]:
    """The pulleys whose turning gets faster or slower."""
    gains = later.setting.phase.angular_accelerations
    return (name for name in later.setting.spinning if gains.get(name))


def _strings(later: Context) -> Text:
    """Which strings pull after the landing."""
    setting = later.setting
    slack = [n for n in setting.apparatus.strings if n in setting.phase.slack]
    if not slack:
        return say("after-landing.taut")
    key = "slack" if len(slack) == 1 else "slack-several"
    return say(f"after-landing.{key}", the_string=listing([later.the(name) for name in slack]))


def _let_go(later: Context) -> Iterator[Text]:
    """A massless pulley that lets the string go slack from which it hangs."""
    setting = later.setting
    for name in setting.lifts:
        hung = [s for s in setting.strings_at(name) if s in setting.phase.slack]
        if hung and not setting.mass(name) and name not in setting.carried.values():
            the = listing([later.the(string) for string in hung])
            yield say("after-landing.massless", the_pulley=later.the(name), the_string=the)


def _loose(later: Context) -> Iterator[Block]:
    """What nothing holds up any more."""
    for key, names in (("rising", _unheld(later, -1)), ("falling", _unheld(later, 1))):
        for name in names:
            the, g = later.the(name), later.names.gravity
            yield Paragraph(text=say(f"after-landing.{key}", the_loose=the, g=g))


def falling(context: Context) -> list[str]:
    """What comes down and falls freely once the run's object has landed."""
    index = context.setting.after_landing
    return [] if index is None else _unheld(context.at(index), 1)


def _unheld(later: Context, sense: int) -> list[str]:
    """The hanging objects in free fall that move down (1) or still up (-1)."""
    setting, free = later.setting, float(later.setting.apparatus.gravity)
    gains = setting.phase.accelerations
    loose = [n for n in setting.hanging if gains.get(n, 0.0) >= free * (1 - NOISE)]
    return [name for name in loose if setting.senses[name] == sense]


def _end(context: Context) -> Text:
    """Where the run ends, in a lesson with numbers; in symbols that depends on them."""
    last = context.setting.solution.phases[-1]
    if last.ends is None or not context.numbers:
        return say("after-landing.end-open")
    if last.role is Role.LANDING:
        return say("after-landing.end-landed")
    key = "end-jerk" if context.setting.at(-1).ending is Ending.TAUT else "end"
    return say(f"after-landing.{key}", ends=end_in_words(last.ends, context.the))
