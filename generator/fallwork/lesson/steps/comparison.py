"""The last stretch: what the views tell together, the other choices of system, units."""

from collections.abc import Iterator, Sequence

from fallwork.lesson.context import Context
from fallwork.lesson.document import (
    Block,
    Given,
    Inline,
    Items,
    Paragraph,
    Step,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import as_expression
from fallwork.lesson.names import force_phrase
from fallwork.lesson.steps.forces import head
from fallwork.lesson.steps.systems import View, balance, view_of
from fallwork.lesson.steps.works import work_tree
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import listing, say, sentence, the, upper_first
from fallwork.mechanics import accounts
from fallwork.mechanics.solution import EARTH, Interaction, SystemAccount
from fallwork.scenario.model import SystemChoice


def two_views_step(context: Context) -> Step | None:
    """The cart's account and that of the whole side by side; None without both."""
    part, whole = view_of(context, whole=False), view_of(context, whole=True)
    if part is None or whole is None or not _comparable(context, part, whole):
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
                context.result(
                    names.kinetic(weight),
                    total([-as_expression(names.potential_change(weight)), -as_expression(work)]),
                    "J",
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


def _comparable(context: Context, part: View, whole: View) -> bool:
    """Whether the text fits: a cart alone and everything, pulled by a weight that comes down."""
    return (
        context.is_plain
        and context.moves_freely
        and part.moving == (context.slider,)
        and set(whole.moving) == set(context.setting.movers)
        and context.string in whole.choice.members
        and context.setting.senses[context.weight] > 0
        and not context.turns
    )


def _titled(key: str, view: View, **parts: str) -> Text:
    return say(key, title=view.choice.title, **parts)


MOST_ROWS = 16  # a table of systems longer than this is cut down to the telling choices


def other_systems_step(context: Context) -> Step:
    """One row for each class of choices that differ in works or energies."""
    setting = context.setting
    featured = {_class(context, View(context, c).account) for c in setting.scenario.systems}
    found = [account for key, account in _classes(context) if key not in featured]
    chosen = found
    if len(found) > MOST_ROWS:
        telling = _telling(context)
        chosen = [account for account in found if account.members in telling]
    rows = tuple(
        (
            (upper_first(listing([the(name) for name in _ordered(context, account)])),),
            _works(context, account),
            _changes(context, account),
        )
        for account in chosen
    )
    intro = "intro" if chosen == found else "intro-selection"
    return Step(
        id="other-systems",
        topic="other-systems",
        title=sentence("other-systems.title"),
        idea=say("other-systems.idea"),
        blocks=(
            Paragraph(text=say(f"other-systems.{intro}", count=len(found))),
            Table(
                caption=sentence("other-systems.caption"),
                head=head("other-systems", "members", "work", "energy"),
                rows=rows,
            ),
            *_new_works(context, chosen),
            *(Paragraph(text=text) for text in _neutral(context)),
        ),
    )


def _new_works(context: Context, rows: Sequence[SystemAccount]) -> Iterator[Block]:
    """An equation for each work in the table that no featured system has brought up."""
    shown = {
        force.name
        for choice in context.setting.scenario.systems
        for force in View(context, choice).working
    }
    equations = {}
    for force in (force for row in rows for force in row.external):
        tree = work_tree(context, force)
        if force.on in context.setting.movers and force.name not in shown and tree is not None:
            equations[force.name] = context.result(context.names.work(force), tree, "J")
    if equations:
        yield Paragraph(text=say("other-systems.works"))
        yield Working(equations=tuple(equations.values()))


def _neutral(context: Context) -> Iterator[Text]:
    """Whether pulleys and surfaces make a difference."""
    setting = context.setting
    for pulley in setting.pulleys:
        if pulley not in setting.movers:
            key = "pulley-rotor" if pulley in setting.rotors else "pulley"
            yield say(f"other-systems.{key}", the_pulley=the(pulley))
            break
    surfaces = [the(name) for name in setting.apparatus.surfaces]
    if surfaces:
        key = "surface" if context.rubs else "surface-frictionless"
        yield say(f"other-systems.{key}", the_surface=listing(surfaces))


def _telling(context: Context) -> set[tuple[str, ...]]:
    """Each mover, with and without Earth and its surface, and all of them, step by step."""
    setting = context.setting
    choices: list[tuple[str, ...]] = []
    for name in setting.movers:
        choices += [(name,), (name, EARTH)]
        if name in setting.sliders:
            choices.append((name, context.names.surface(name)))
    everything: tuple[str, ...] = setting.movers
    for more in ((), tuple(setting.apparatus.strings), setting.rotors, (EARTH,)):
        everything = (*everything, *more)
        choices.append(everything)
    choices.append((*everything, *setting.apparatus.surfaces))
    return {tuple(sorted(set(choice))) for choice in choices}


_Key = tuple[tuple[str, ...], tuple[str, ...]]


def _class(context: Context, found: SystemAccount) -> _Key:
    works = tuple(sorted(force.name for force in found.external if force.work))
    members = [n for n in context.setting.scenario.objects if n in found.members]
    holders = tuple(name for name in members if _holds_energy(context, name))
    energies = tuple(kind for kind, change in found.energy_changes.items() if change)
    return works, (*holders, *energies)


def _holds_energy(context: Context, name: str) -> bool:
    setting = context.setting
    return (name in setting.movers and bool(setting.mass(name))) or name in setting.rotors


def _classes(context: Context) -> Iterator[tuple[_Key, SystemAccount]]:
    """The smallest choice of each class that has something in it that moves."""
    setting = context.setting
    seen: set[_Key] = set()
    for found in accounts(setting.apparatus, setting.phase):
        key = _class(context, found)
        if key not in seen and any(name in setting.movers for name in found.members):
            seen.add(key)
            yield key, found


def _ordered(context: Context, found: SystemAccount) -> list[str]:
    """Members in the order in which the file names them, Earth last."""
    apparatus = context.setting.apparatus
    order = [*context.setting.scenario.objects, *apparatus.strings, *apparatus.surfaces, EARTH]
    return sorted(found.members, key=order.index)


def _works(context: Context, found: SystemAccount) -> Text:
    parts: list[Inline] = []
    for force in found.external:
        if force.work and force.on in context.setting.movers:
            parts += [as_expression(context.names.work(force)), ", "]
        elif force.work:
            parts += [force_phrase(force), ", "]
    return tuple(parts[:-1]) or (sentence("other-systems.none"),)


def _changes(context: Context, found: SystemAccount) -> Text:
    names = context.names
    view = View(context, SystemChoice(id="", title="", members=found.members))
    trees = [as_expression(names.kinetic(name)) for name in view.massive]
    trees += [as_expression(names.rotational(name)) for name in view.turning]
    trees += [as_expression(names.potential_change(name)) for name in view.falling]
    parts: list[Inline] = []
    for tree in trees:
        parts += [tree, ", "]
    for name in view.rubbed:
        loss = product(context.motion.frictions[name], context.motion.distance_tree(name))
        parts += [loss, sentence("other-systems.thermal"), ", "]
    return tuple(parts[:-1]) or (sentence("other-systems.none"),)


def units_step(context: Context, givens: tuple[Given, ...]) -> Step:
    """The conversions of the givens, and how the derived units come about."""
    blocks: list[Block] = []
    if context.numbers:
        blocks.append(
            Table(
                caption=sentence("units.caption"),
                head=head("units", "quantity", "written", "si"),
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
