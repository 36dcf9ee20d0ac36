"""The last stretch: what the views tell together, the other choices of system, units."""

from fallwork.lesson.context import Context
from fallwork.lesson.document import (
    Block,
    Equation,
    Given,
    Items,
    Paragraph,
    Step,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.steps.systems import FORCE_WORDS, View, balance, view_of
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import listing, say, sentence, the, upper_first
from fallwork.mechanics import accounts
from fallwork.mechanics.solution import EARTH, Interaction, SystemAccount


def two_views_step(context: Context) -> Step | None:
    """The cart's account and that of the whole side by side; None without both."""
    part, whole = view_of(context, whole=False), view_of(context, whole=True)
    if part is None or whole is None or not (context.rubs or whole.falling):
        return None
    names = context.names
    suffix = "" if context.rubs else "-frictionless"
    weight, slider = context.weight, context.slider
    pull = context.setting.force(Interaction.TENSION, slider)
    assert pull is not None
    work = names.work(pull)
    blocks: list[Block] = [
        Paragraph(text=_titled(f"two-views.part{suffix}", part, the_slider=the(slider))),
        Working(equations=(balance(part),)),
        Paragraph(text=_titled(f"two-views.whole{suffix}", whole)),
        Working(equations=(balance(whole),)),
        Paragraph(
            text=say(
                "two-views.difference", the_hanging=the(weight), the_slider=the(slider), work=work
            )
        ),
        Working(
            equations=(
                Equation(
                    left=as_expression(names.kinetic(weight)),
                    right=total(
                        [-as_expression(names.potential_change(weight)), -as_expression(work)]
                    ),
                    unit="J",
                    numbers=context.numbers,
                ),
            )
        ),
    ]
    if context.rubs:
        loss = product(context.motion.frictions[slider], names.distance)
        blocks.append(
            Paragraph(
                text=say(
                    "two-views.friction",
                    loss=loss,
                    the_surface=the(context.surface),
                    the_slider=the(slider),
                )
            )
        )
    blocks.append(Paragraph(text=say("two-views.measured", the_slider=the(slider))))
    return Step(
        id="two-views",
        topic="two-views",
        title=sentence("two-views.title"),
        idea=say("two-views.idea"),
        blocks=tuple(blocks),
    )


def _titled(key: str, view: View, **parts: str) -> Text:
    return say(key, title=view.choice.title, **parts)


def other_systems_step(context: Context) -> Step:
    """One row for each class of choices that differ in works or energies."""
    setting = context.setting
    featured = {tuple(sorted(choice.members)) for choice in setting.scenario.systems}
    rows = []
    for found in _classes(context):
        if found.members not in featured:
            rows.append(
                (
                    (upper_first(listing([the(name) for name in _ordered(context, found)])),),
                    _works(context, found),
                    _changes(context, found),
                )
            )
    key = "pulley" if context.rubs else "pulley-frictionless"
    return Step(
        id="other-systems",
        topic="other-systems",
        title=sentence("other-systems.title"),
        idea=say("other-systems.idea"),
        blocks=(
            Paragraph(text=say("other-systems.intro")),
            Table(
                caption=sentence("other-systems.caption"),
                head=tuple(
                    (sentence(f"other-systems.head.{column}"),)
                    for column in ("members", "work", "energy")
                ),
                rows=tuple(rows),
            ),
            Paragraph(text=say(f"other-systems.{key}", the_surface=the(context.surface))),
        ),
    )


def _classes(context: Context) -> tuple[SystemAccount, ...]:
    """The smallest choice of each class that has something that moves in it."""
    setting = context.setting
    seen: dict[tuple[tuple[str, ...], tuple[str, ...]], SystemAccount] = {}
    for found in accounts(setting.apparatus, setting.phase):
        if not any(name in setting.movers for name in found.members):
            continue
        works = tuple(sorted(force.name for force in found.external if force.work))
        energies = tuple(
            sorted(f"{kind} {change!r}" for kind, change in found.energy_changes.items() if change)
        )
        seen.setdefault((works, energies), found)
    return tuple(seen.values())


def _ordered(context: Context, found: SystemAccount) -> list[str]:
    """Members in the order in which the file names them, Earth last."""
    apparatus = context.setting.apparatus
    order = [*context.setting.scenario.objects, *apparatus.strings, *apparatus.surfaces, EARTH]
    return sorted(found.members, key=order.index)


def _works(context: Context, found: SystemAccount) -> Text:
    parts: list[Expression | str] = []
    for force in found.external:
        if not force.work:
            continue
        if force.on in context.setting.movers:
            tree = as_expression(context.names.work(force))
        else:
            word = FORCE_WORDS[force.interaction]
            parts += [f"{word} of {the(force.partner)} on {the(force.on)}", ", "]
            continue
        parts += [tree, ", "]
    return tuple(parts[:-1]) or (sentence("other-systems.none"),)


def _changes(context: Context, found: SystemAccount) -> Text:
    names, setting = context.names, context.setting
    trees = [as_expression(names.kinetic(name)) for name in setting.movers if name in found.members]
    if EARTH in found.members:
        for name in setting.movers:
            force = setting.force(Interaction.GRAVITY, name)
            if name in found.members and force is not None and force.work:
                trees.append(as_expression(names.potential_change(name)))
    words: list[Expression | str] = []
    for tree in trees:
        words += [tree, ", "]
    if found.energy_changes.get("thermal"):
        loss = product(context.motion.frictions[context.slider], names.distance)
        words += [loss, " as thermal energy", ", "]
    return tuple(words[:-1])


def units_step(context: Context, givens: tuple[Given, ...]) -> Step:
    """The conversions of the givens, and how the derived units come about."""
    columns = ("quantity", "written", "si")
    blocks: list[Block] = []
    if context.numbers:
        blocks.append(
            Table(
                caption=sentence("units.caption"),
                head=tuple((sentence(f"units.head.{column}"),) for column in columns),
                rows=tuple(
                    ((as_expression(given.symbol),), (given.as_written,), (given.in_si,))
                    for given in givens
                ),
            )
        )
    blocks += [
        Paragraph(text=say("units.newton")),
        Items(items=(say("units.units-newton"), say("units.units-joule"))),
        Paragraph(text=say("units.tilt")),
        Paragraph(text=say("units.figures", figures=context.setting.figures)),
        Paragraph(text=say("units.gravity", g=context.names.gravity)),
    ]
    return Step(
        id="units",
        topic="units",
        title=sentence("units.title"),
        idea=say("units.idea"),
        blocks=tuple(blocks),
    )
