"""The other choices of system, as a table with one row for each class that differs."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TypeVar

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Inline, Paragraph, Step, Table, Text, Working
from fallwork.lesson.expression import as_expression
from fallwork.lesson.steps.pieces import head
from fallwork.lesson.steps.view import View
from fallwork.lesson.steps.works import work_tree
from fallwork.lesson.words import listing, say, sentence, title, upper_first
from fallwork.mechanics import account, is_small, objects
from fallwork.mechanics.solution import Force, SystemAccount
from fallwork.scenario.model import SystemChoice
from fallwork.scenario.nouns import EARTH

MOST_ROWS = 8  # a table of systems longer than this is cut down to the telling choices
MOST_NAMES = 4  # of one kind; more in a row are told by what they have in common
MOST_TERMS = 6  # in a cell; of more the first and the last are shown

T = TypeVar("T")
_Key = tuple[tuple[str, ...], tuple[str, ...]]


def other_systems_step(context: Context) -> Step:
    """One row for each class of choices that differ in works or energies."""
    found = list(_unfeatured(context))
    telling = _telling(context)
    chosen = found
    if len(found) > MOST_ROWS:
        chosen = [account for account in found if account.members in telling]
    every = chosen == found and is_small(context.setting.apparatus)
    intro = "intro" if every else "intro-selection"
    blocks: list[Block] = [Paragraph(text=say(f"other-systems.{intro}"))]
    if chosen:
        blocks.append(
            Table(
                caption=sentence("other-systems.caption"),
                head=head("other-systems", "members", "work", "energy"),
                rows=tuple(_row(context, account) for account in chosen),
            )
        )
    blocks += _new_works(context, chosen)
    blocks += [Paragraph(text=text) for text in _neutral(context)]
    return Step(
        id="other-systems",
        topic="other-systems",
        title=title("other-systems.title"),
        idea=say("other-systems.idea"),
        blocks=tuple(blocks),
    )


def _row(context: Context, found: SystemAccount) -> tuple[Text, ...]:
    members = (upper_first(listing(_members(context, found))),)
    return members, works_text(context, found), changes_text(context, found)


def _members(context: Context, found: SystemAccount) -> list[str]:
    """Members in words; a kind of which all the many are members in one phrase."""
    setting = context.setting
    kinds = {
        "movers": setting.movers,
        "strings": tuple(setting.apparatus.strings),
        "pulleys": tuple(name for name in setting.rotors if name not in setting.movers),
        "surfaces": tuple(setting.apparatus.surfaces),
    }
    phrases: dict[str, str] = {}
    for kind, names in kinds.items():
        if len(names) > MOST_NAMES and set(names) <= set(found.members):
            phrases |= dict.fromkeys(names, sentence(f"other-systems.all-{kind}"))
    words = (phrases.get(name) or context.the(name) for name in _ordered(context, found))
    return list(dict.fromkeys(words))


# Which choices.


def _unfeatured(context: Context) -> Iterator[SystemAccount]:
    """The smallest choice of each class that no featured system belongs to."""
    setting = context.setting
    seen = {_class(context, View(context, c).account) for c in setting.scenario.systems}
    for members in _choices(context):
        if not any(name in setting.movers for name in members):
            continue
        found = account(setting.apparatus, setting.phase, members)
        key = _class(context, found)
        if key not in seen:
            seen.add(key)
            yield found


def _choices(context: Context) -> Iterator[tuple[str, ...]]:
    """Every choice, the smallest first; of a large set-up only the telling ones."""
    everything = objects(context.setting.apparatus)
    if not is_small(context.setting.apparatus):
        yield from sorted(_telling(context), key=lambda members: (len(members), members))
        return
    for size in range(1, len(everything) + 1):
        yield from combinations(everything, size)


def _class(context: Context, found: SystemAccount) -> _Key:
    works = tuple(sorted(force.name for force in _working(found)))
    members = [n for n in context.setting.scenario.objects if n in found.members]
    holders = tuple(name for name in members if _holds_energy(context, name))
    energies = tuple(kind for kind, change in found.energy_changes.items() if change)
    return works, (*holders, *energies)


def _open(force: Force) -> bool:
    return force.work is None and force.reason is None


def _holds_energy(context: Context, name: str) -> bool:
    setting = context.setting
    return (name in setting.movers and bool(setting.mass(name))) or name in setting.rotors


def _telling(context: Context) -> set[tuple[str, ...]]:
    """Each mover, with and without Earth and its surface, and all of them, step by step.

    Of many movers only the run's object and the first on a surface stand for the others.
    """
    setting = context.setting
    choices: list[tuple[str, ...]] = []
    few = (*setting.sliders[:1], setting.scenario.run.object)
    for name in setting.movers if len(setting.movers) <= MOST_NAMES else few:
        choices += [(name,), (name, EARTH)]
        if name in setting.sliders:
            choices.append((name, context.names.surface(name)))
    everything: tuple[str, ...] = setting.movers
    for more in ((), tuple(setting.apparatus.strings), setting.rotors, (EARTH,)):
        everything = (*everything, *more)
        choices.append(everything)
    choices.append((*everything, *setting.apparatus.surfaces))
    return {tuple(sorted(set(choice))) for choice in choices}


def _ordered(context: Context, found: SystemAccount) -> list[str]:
    """Members in the order in which the file names them, Earth last."""
    apparatus = context.setting.apparatus
    order = [*context.setting.scenario.objects, *apparatus.strings, *apparatus.surfaces, EARTH]
    return sorted(found.members, key=order.index)


# What stands in a row.


def works_text(context: Context, found: SystemAccount) -> Text:
    """The works from outside, by their symbols."""
    return _cell([tuple(_one_work(context, force)) for force in _working(found)])


def _working(found: SystemAccount) -> list[Force]:
    return [force for force in found.external if force.work or _open(force)]


def _ends(terms: Sequence[T]) -> Sequence[T]:
    """Of many terms the first two and the last."""
    return terms if len(terms) <= MOST_TERMS else (*terms[:2], terms[-1])


def _cell(*kinds: Sequence[Sequence[Inline]]) -> Text:
    """Terms with commas between; an ellipsis for what is left out of many of one kind."""
    parts: list[Inline] = []
    for terms in kinds:
        shown = [[*term, ", "] for term in _ends(terms)]
        if len(shown) < len(terms):
            shown.insert(-1, ["…, "])
        parts += [part for term in shown for part in term]
    return tuple(parts[:-1]) or (sentence("other-systems.none"),)


def _one_work(context: Context, force: Force) -> Iterator[Inline]:
    """Its symbol; for what acts on a string the force in words, with its work as a formula."""
    if _has_symbol(context, force):
        yield as_expression(context.names.work(force))
        return
    tree = work_tree(context, force)
    yield context.names.phrase(force)
    if tree is not None:
        yield " ("
        yield tree
        yield ")"


def _has_symbol(context: Context, force: Force) -> bool:
    """Whether an equation on the page gives the work: on movers, and on pulleys with a formula."""
    if force.on in context.setting.movers:
        return True
    return context.names.has_symbol(force) and work_tree(context, force) is not None


def changes_text(context: Context, found: SystemAccount) -> Text:
    """The energies that change, by their symbols."""
    names = context.names
    view = View(context, SystemChoice(id="", title="", members=found.members))
    return _cell(
        [(as_expression(names.kinetic(name)),) for name in view.massive],
        [(as_expression(names.rotational(name)),) for name in view.turning],
        [(as_expression(names.potential_change(name)),) for name in view.falling],
        [(loss, sentence("other-systems.thermal")) for loss in view.thermal],
    )


def _new_works(context: Context, rows: Sequence[SystemAccount]) -> Iterator[Block]:
    """An equation for each work in the table that no featured system has brought up."""
    shown = {
        force.name
        for choice in context.setting.scenario.systems
        for force in View(context, choice).working
    }
    equations = {}
    for force in (force for row in rows for force in _ends(_working(row))):
        if not _has_symbol(context, force) or force.name in shown:
            continue
        symbol, tree = context.names.work(force), work_tree(context, force)
        if tree is not None:
            equations[force.name] = context.result(symbol, tree, "J")
        elif symbol.value is not None:
            equations[force.name] = context.result(symbol, symbol, "J")
    if equations:
        yield Paragraph(text=say("other-systems.works"))
        yield Working(equations=tuple(equations.values()))


def _neutral(context: Context) -> Iterator[Text]:
    """Whether pulleys and surfaces make a difference."""
    setting = context.setting
    fixed = [name for name in setting.pulleys if name not in setting.movers]
    ideal = [context.the(name) for name in fixed if name not in setting.rotors]
    if ideal:
        key = "pulley" if len(ideal) == 1 else "pulleys"
        yield say(f"other-systems.{key}", the_pulley=_together("pulleys", ideal))
    for key, turning in (
        ("rotor", [n for n in fixed if n in setting.rotors and setting.pulleys[n].inertia]),
        ("drag", [n for n in fixed if n in setting.rotors and not setting.pulleys[n].inertia]),
    ):
        if len(turning) > MOST_NAMES:
            yield say(f"other-systems.pulleys-{key}")
        else:
            for name in turning:
                yield say(f"other-systems.pulley-{key}", the_pulley=context.the(name))
    surfaces = [context.the(name) for name in setting.apparatus.surfaces]
    if surfaces:
        key = "surface" if len(surfaces) == 1 else "surfaces"
        suffix = "" if context.rubs else "-frictionless"
        yield say(f"other-systems.{key}{suffix}", the_surface=_together("surfaces", surfaces))


def _together(kind: str, names: Sequence[str]) -> str:
    """Names in a row, or what they have in common."""
    return listing(names) if len(names) <= MOST_NAMES else sentence(f"other-systems.all-{kind}")
