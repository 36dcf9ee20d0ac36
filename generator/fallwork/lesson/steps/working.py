"""For a choice of system: the works of the external forces, and the potential energy."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, FigureSlot, Paragraph, Step, Text, Working
from fallwork.lesson.steps.view import View
from fallwork.lesson.steps.works import potential_tree, turns_as_well, work_tree
from fallwork.lesson.trees import product
from fallwork.lesson.words import Part, listing, say
from fallwork.mechanics.solution import Force, Interaction


def work_step(view: View) -> Step:
    """The work of each external force that does any."""
    if not view.working:
        return view.step(
            "work", say("system.work.idea-none"), [Paragraph(text=say("system.work.none"))]
        )
    context = view.context
    blocks: list[Block] = [*_farther(view)]
    lost = [force for force in view.working if _is_rolling(context, force)]
    told = any(_is_rolling(context, force) for each in _earlier(view) for force in each.working)
    for force in view.working:
        blocks += _work(context, force, first_loss=not told and force in lost[:1])
    if context.numbers and _shows_pull(view):
        blocks.append(FigureSlot(kind="tension-work"))
    return view.step("work", say(f"system.work.idea{view.again}"), blocks)


def _farther(view: View) -> Iterator[Block]:
    """Members that move farther than the distance d."""
    context, setting = view.context, view.context.setting
    if not setting.tied:
        return
    for name in dict.fromkeys(force.on for force in view.working if force.on in setting.movers):
        if setting.ratio(name) != 1:
            yield Paragraph(
                text=say(
                    "system.work.farther",
                    the_reference=context.the(setting.reference),
                    the_object=context.the(name),
                    d=context.names.distance,
                    far=context.motion.distance_tree(name),
                )
            )


def _is_rolling(context: Context, force: Force) -> bool:
    """Whether a force is the rolling friction of a cart."""
    return force.interaction is Interaction.FRICTION and context.setting.rolls(force.on)


def _work(context: Context, force: Force, *, first_loss: bool) -> Iterator[Block]:
    names, tree = context.names, work_tree(context, force)
    symbol = names.work(force)
    if tree is None:
        yield Paragraph(text=say("system.work.value", force=names.phrase(force)))
        if symbol.value is not None:
            yield Working(equations=(context.result(symbol, symbol, "J"),))
        return
    parts: dict[str, Part] = {"force": names.phrase(force)}
    sine = context.motion.sine(force.on)
    if sine is not None:
        parts["component"] = product(context.motion.size(force), sine)
    if force.interaction is Interaction.BEARING_TORQUE:
        parts["phi"] = names.angle(force.on)
    way = _way(context, force)
    if first_loss:
        way = "rolling"
        parts |= {"the_surface": context.the(force.partner), "the_object": context.the(force.on)}
        parts["f"] = context.motion.size(force)
    yield Paragraph(text=say(f"system.work.{way}", **parts))
    yield Working(equations=(context.result(symbol, tree, "J"),))


def _way(context: Context, force: Force) -> str:
    """The key of the sentence that says how a force stands to the motion."""
    if force.interaction is Interaction.BEARING_TORQUE:
        return "bearing" if context.setting.tied else "bearing-free"
    if turns_as_well(context, force):
        return "moves-and-turns"
    if force.on not in context.setting.movers:
        return "turns-it" if force.interaction is Interaction.TENSION else "contact"
    along = context.setting.along(force) or 0.0
    way = "with" if along * context.setting.ways[force.on] > 0 else "against"
    sloping = force.interaction is Interaction.GRAVITY and context.motion.sine(force.on) is not None
    return f"{way}-component" if sloping else way


def _shows_pull(view: View) -> bool:
    """Whether the chart of the first slider's pull belongs to this view: to the first that can."""
    return _feels_pull(view) and not any(map(_feels_pull, _earlier(view)))


def _feels_pull(view: View) -> bool:
    sliders = view.context.setting.sliders
    return bool(sliders) and any(
        force.on == sliders[0] and force.interaction is Interaction.TENSION and force.work
        for force in view.working
    )


def potential_step(view: View) -> Step:
    """Whose potential energy changes, from which level it is counted, and by how much."""
    context = view.context
    still = [name for name in view.massive if name not in view.falling]
    parts: dict[str, Part] = {
        "the_hanging": listing([context.the(name) for name in view.falling]),
        "the_slider": listing([context.the(name) for name in still]),
    }
    several = "-several" if len(view.falling) > 1 else ""
    before, some = _told_before(view), _told_in_part(view)
    keys = ("as-before",) if before else (f"belongs{several}", f"zero{several}")
    keys = ("as-before-more",) if some and not before else keys
    blocks: list[Block] = [Paragraph(text=say(f"system.potential.{k}", **parts)) for k in keys]
    if still and not before:
        number = "level-several" if len(still) > 1 else "level"
        blocks.append(Paragraph(text=say(f"system.potential.{number}", **parts)))
    for name in view.falling:
        change, tree = context.names.potential_change(name), potential_tree(context, name)
        blocks.append(Paragraph(text=_height(context, name)))
        blocks.append(Working(equations=(context.result(change, tree, "J"),)))
    idea = "idea-more" if some else "idea"
    idea = "idea-again" if before else idea
    return view.step("potential", say(f"system.potential.{idea}"), blocks)


def _told_before(view: View) -> bool:
    """Whether an earlier featured system has the same potential energies."""
    return any(each.falling == view.falling for each in _earlier(view))


def _told_in_part(view: View) -> bool:
    """Whether an earlier featured system has some of them and no others."""
    falling = set(view.falling)
    return any(each.falling and set(each.falling) < falling for each in _earlier(view))


def _earlier(view: View) -> list[View]:
    systems = view.context.setting.scenario.systems
    return [View(view.context, choice) for choice in systems[: systems.index(view.choice)]]


def _height(context: Context, name: str) -> Text:
    """By how much an object gets lower or higher."""
    gravity = context.setting.force(Interaction.GRAVITY, name)
    assert gravity is not None
    distance = context.motion.distance_tree(name)
    sine = context.motion.sine(name)
    height = distance if sine is None else product(distance, sine)
    key = "comes-down" if (gravity.work or 0.0) > 0 else "goes-up"
    slope = "-slope" if sine is not None else ""
    the = context.the(name)
    return say(f"system.potential.{key}{slope}", the_hanging=the, h=height, s=distance)
