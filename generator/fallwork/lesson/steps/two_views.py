"""What the featured choices of system tell together: where energy goes, what friction changes."""

from collections.abc import Iterator, Sequence

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Paragraph, Step, Table, Text, Working
from fallwork.lesson.expression import as_expression
from fallwork.lesson.steps.other_systems import changes_text, works_text
from fallwork.lesson.steps.pieces import count_word, head
from fallwork.lesson.steps.view import View, view_of
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import listing, say, sentence, title
from fallwork.mechanics.solution import Interaction


def two_views_step(context: Context) -> Step | None:
    """The featured accounts in a table, a part and the whole in words; None without both."""
    part, whole = view_of(context, whole=False), view_of(context, whole=True)
    if part is None or whole is None or not _comparable(context, part, whole):
        return None
    blocks = (
        _plain(context, part, whole) if _is_plain(context, part) else _other(context, part, whole)
    )
    key = "idea" if context.rubs else "idea-frictionless"
    views = [View(context, choice) for choice in context.setting.scenario.systems]
    count = {"count": count_word(len(views)), "other": "other" if len(views) == 2 else "others"}
    return Step(
        id="two-views",
        topic="two-views",
        title=title("two-views.title", **count),
        idea=say(f"two-views.{key}", **count),
        blocks=(*([_table(views)] if len(views) > 2 else []), *blocks),
    )


def _table(views: Sequence[View]) -> Table:
    """What acts from outside and which energies change, with each choice."""
    return Table(
        caption=sentence("two-views.caption"),
        head=head("two-views", "system", "work", "energy"),
        rows=tuple(
            (
                (view.choice.title,),
                works_text(view.context, view.account),
                changes_text(view.context, view.account),
            )
            for view in views
        ),
    )


def _comparable(context: Context, part: View, whole: View) -> bool:
    """Whether the whole holds everything that moves, and the part is one object of it."""
    setting = context.setting
    moving = [name for name in setting.movers if not setting.rests(name)]
    strings = all(string in whole.choice.members for string in setting.taut)
    alone = len(part.moving) == 1 < len(moving)
    return alone and set(whole.moving) == set(moving) and strings and not setting.open_forces


def _is_plain(context: Context, part: View) -> bool:
    """A cart alone on a level track, pulled by a weight that comes down."""
    return (
        context.is_plain
        and context.moves_freely
        and part.moving == (context.slider,)
        and not context.setting.slope(context.slider)
        and context.setting.senses[context.weight] > 0
        and not context.setting.turns
    )


def _plain(context: Context, part: View, whole: View) -> Iterator[Block]:
    names, slider, weight = context.names, context.slider, context.weight
    suffix = "" if context.rubs else "-frictionless"
    pull = context.setting.force(Interaction.TENSION, slider)
    assert pull is not None
    work = names.work(pull)
    parts = {"the_slider": context.the(slider), "the_hanging": context.the(weight)}
    yield Paragraph(text=_titled(f"part{suffix}", part, **parts))
    yield Working(equations=(part.balance,))
    yield Paragraph(text=_titled(f"whole{suffix}", whole))
    yield Working(equations=(whole.balance,))
    yield Paragraph(text=say("two-views.difference", work=work, **parts))
    rest = total([-as_expression(names.potential_change(weight)), -as_expression(work)])
    kinetic = names.kinetic(weight)
    yield Working(equations=(context.result(kinetic, rest, "J"),))
    if context.rubs:
        loss = product(context.motion.frictions[slider], names.distance)
        surface = context.the(context.surface)
        shared = _shared(context, [slider])
        yield Paragraph(
            text=say("two-views.friction", loss=loss, the_surface=surface, shared=shared, **parts)
        )
    yield Paragraph(text=say("two-views.measured", the_slider=context.the(slider)))


def _other(context: Context, part: View, whole: View) -> Iterator[Block]:
    """The same in general words, for any other set-up."""
    yield Paragraph(text=_titled("part-other", part))
    yield Working(equations=(part.balance,))
    brakes = "" if whole.working else "-frictionless"
    yield Paragraph(text=_titled(f"whole-other{brakes}", whole))
    yield Working(equations=(whole.balance,))
    titles = {"part": part.choice.title, "whole": whole.choice.title}
    pulled = [f.on for f in part.working if f.interaction is Interaction.GRAVITY]
    if pulled and set(pulled) <= set(whole.falling):
        the = context.the(pulled[0])
        yield Paragraph(text=say("two-views.gravity", the_object=the, **titles))
    heavy = [name for name in whole.turning if name in context.setting.rotors]
    if heavy:
        the = context.the(heavy[0])
        yield Paragraph(text=say("two-views.rotor", the_pulley=the, **titles))
    if context.rubs and not whole.rubbed and not part.rubbed:
        surfaces = [context.names.surface(name) for name in context.motion.kinetic_frictions]
        the = listing([context.the(name) for name in dict.fromkeys(surfaces)])
        both = part.moving[0] in context.motion.kinetic_frictions
        key = "friction-other" if both else "friction-whole"
        shared = _shared(context, list(context.motion.kinetic_frictions))
        yield Paragraph(text=say(f"two-views.{key}", the_surface=the, shared=shared))


def _shared(context: Context, rubbing: list[str]) -> str:
    """Where the thermal energy arises."""
    rolling = all(context.setting.rolls(name) for name in rubbing)
    return sentence(f"two-views.shared-{'rolling' if rolling else 'sliding'}")


def _titled(key: str, view: View, **parts: str) -> Text:
    return say(f"two-views.{key}", title=view.choice.title, **parts)
