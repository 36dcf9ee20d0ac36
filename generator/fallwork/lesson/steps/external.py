"""For a choice of system: which forces are external, and which of these do no work."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Items, Paragraph, Step, Table, Text
from fallwork.lesson.expression import Expression, Negative, as_expression
from fallwork.lesson.steps.directions import push_on_string
from fallwork.lesson.steps.pieces import head, kind_of, kind_of_other
from fallwork.lesson.steps.view import View
from fallwork.lesson.steps.works import work_tree
from fallwork.lesson.trees import ZERO
from fallwork.lesson.words import join, listing, say, sentence, series, title
from fallwork.mechanics.solution import Force, Interaction, ZeroWork
from fallwork.scenario.nouns import EARTH


def forces_step(view: View) -> Step:
    """What is external, and what of the rest is internal."""
    context = view.context
    shown = [force for force in view.account.external if _shown(force)]
    members = listing([context.the(name) for name in view.choice.members])
    key = "members" if len(view.choice.members) > 1 else "members-one"
    if not shown:
        key = "nothing"
    blocks: list[Block] = [Paragraph(text=say(f"system.forces.{key}", members=members))]
    if shown:
        blocks.append(
            Table(
                caption=title("system.forces.caption", title=view.choice.title),
                head=head("system.forces", "force", "on", "by", "symbol"),
                rows=tuple(_row(view, force) for force in shown),
            )
        )
    pairs = _internal_pairs(view)
    if pairs:
        blocks.append(Paragraph(text=say("system.forces.internal", pairs=listing(pairs))))
    blocks += [Paragraph(text=text) for text in _remarks(view)]
    if view.first and view.moving:
        key = "before-push" if context.setting.starts_moving else "before"
        text = say(f"system.forces.{key}", the_slider=context.the(view.moving[0]))
        blocks.append(Paragraph(text=text))
        if len(context.setting.driven) > 1:
            blocks.append(Paragraph(text=say("system.forces.first-part")))
    return view.step("forces", say(f"system.forces.idea{view.again}"), blocks)


def _shown(force: Force) -> bool:
    return force.reason is not ZeroWork.NO_FORCE and force.on != EARTH


def _row(view: View, force: Force) -> tuple[Text, ...]:
    context = view.context
    partner, on = context.the(force.partner), context.the(force.on)
    if force.on in context.setting.movers:
        symbol: Text = (context.motion.size(force),)
        return (kind_of(force),), (on,), (partner,), symbol
    return (kind_of_other(force),), (on,), (partner,), _symbol(context, force)


def _symbol(context: Context, force: Force) -> Text:
    """The size of a force on a pulley or a string, where the lesson has a symbol for it."""
    names = context.names
    if force.interaction is Interaction.BEARING_TORQUE:
        return (as_expression(names.bearing_torque(force.on)),)
    if force.interaction is Interaction.CONTACT and force.on in context.setting.apparatus.strings:
        push = push_on_string(context, force)
        if push is not None:
            return push
    if force.interaction is Interaction.TENSION:
        string, pulled = (
            (force.on, force.partner)
            if force.on in context.setting.apparatus.strings
            else (force.partner, force.on)
        )
        ends = context.setting.apparatus.strings[string].path
        if pulled in ends:
            return (as_expression(names.tension(string, pulled)),)
        (anchor,) = [n for n in (ends[0], ends[-1]) if n not in context.setting.movers][:1]
        return (as_expression(names.tension(string, anchor)),)
    return (sentence("system.forces.no-symbol"),)


def _internal_pairs(view: View) -> list[str]:
    setting = view.context.setting
    pulled = (*setting.movers, *setting.rotors)
    return list(
        dict.fromkeys(
            view.context.names.phrase(force)
            for force in view.account.internal
            if force.on in pulled and _shown(force)
        )
    )


def _remarks(view: View) -> Iterator[Text]:
    """What changes when a string is inside with all that it pulls."""
    context, inner = view.context, _inner_string(view)
    passing = list(_passing(view))
    if inner is not None:
        path = context.setting.apparatus.strings[inner].path
        outside = _pulled_before(view, inner)
        tension = context.names.tension(inner, outside or path[0])
        if outside is not None:
            yield say("system.forces.both", T=tension, the_object=context.the(outside))
        yield _two_ends(view, inner)
    elif passing:
        yield join(say("system.forces.internal-work"), passing.pop(0))
    else:
        return
    yield from passing
    if view.falling:
        yield say("system.forces.internal-gravity")
    if inner is not None and len(context.setting.apparatus.strings) == 1:
        yield say("system.forces.string", the_string=context.the(inner))


def _two_ends(view: View, string: str) -> Text:
    """How the works of a string cancel that pulls at its two ends alone."""
    context = view.context
    path = context.setting.apparatus.strings[string].path
    pulls = [(name, _pull_work(context, string, name)) for name in (path[0], path[-1])]
    pulls.sort(key=lambda pull: isinstance(pull[1], Negative))
    inside = [name for name in context.setting.taut if name in view.choice.members]
    each = len(inside) > 1 and inside == _inner_strings(view)
    return say(
        "system.forces.two-ends-each" if each else "system.forces.two-ends",
        plus=pulls[0][1],
        minus=pulls[1][1],
        the_first=context.the(pulls[0][0]),
        the_second=context.the(pulls[1][0]),
        the_string=context.the(string),
    )


def _passing(view: View) -> Iterator[Text]:
    """How the works of each string inside cancel that passes a pulley inside as well."""
    context, members = view.context, view.choice.members
    for string in (name for name in context.setting.taut if name in members):
        if string in _inner_strings(view):
            continue
        works = [
            (force.on, work_tree(context, force))
            for force in view.account.internal
            if force.partner == string and force.work
        ]
        told = [(name, tree) for name, tree in works if tree is not None]
        leaves = any(force.on == string for force in view.working)
        if len(told) < 2 or len(told) < len(works) or leaves:
            continue
        told.sort(key=lambda pair: isinstance(pair[1], Negative))
        texts = [say("system.forces.share", work=w, the_object=context.the(n)) for n, w in told]
        yield join(
            say("system.forces.passes", the_string=context.the(string)),
            series(texts),
            say("system.forces.passes-sum"),
        )


def _inner_strings(view: View) -> list[str]:
    """The strings inside whose two ends pull members with one tension."""
    setting = view.context.setting
    found = []
    for string in setting.taut:
        path = setting.apparatus.strings[string].path
        ends = path[0] in view.moving and path[-1] in view.moving
        passed = any(name in setting.movers for name in path[1:-1])
        known = view.context.names.stretch(string, path[0]).tension is not None
        one = view.context.names.one_tension(string)
        if string in view.choice.members and ends and not passed and known and one:
            found.append(string)
    return found


def _inner_string(view: View) -> str | None:
    """The one to be spoken of: one that was external to an earlier system, else the first."""
    strings = _inner_strings(view)
    before = [string for string in strings if _pulled_before(view, string) is not None]
    return next(iter([*before, *strings]), None)


def _pulled_before(view: View, string: str) -> str | None:
    """The member of an earlier featured system alone that the string pulls from outside."""
    path = view.context.setting.apparatus.strings[string].path
    for choice in view.context.setting.scenario.systems:
        if choice == view.choice:
            return None
        if len(choice.members) == 1 and choice.members[0] in (path[0], path[-1]):
            return choice.members[0]
    return None


def _pull_work(context: Context, string: str, name: str) -> Expression:
    """The work of a string's pull on the object at one of its ends."""
    for force in context.setting.forces_on(name):
        if force.interaction is Interaction.TENSION and force.partner == string:
            return work_tree(context, force) or ZERO
    raise KeyError(string)


def no_work_step(view: View) -> Step:
    """The external forces that do no work, each with its reason."""
    said: set[str] = set()
    before = _idle_before(view)
    items = [
        say("system.no-work.again", force=view.context.names.phrase(force))
        if force.name in before
        else _reason(view, force, said)
        for force in view.idle
    ]
    blocks: list[Block] = []
    if items:
        blocks.append(Items(items=tuple(items)))
        if view.first and any(f.interaction is Interaction.NORMAL for f in view.idle):
            blocks.append(Paragraph(text=_not_because_it_balances(view)))
    else:
        key = "all-work" if any(map(_shown, view.account.external)) else "none-external"
        blocks.append(Paragraph(text=say(f"system.no-work.{key}")))
    return view.step("no-work", say(f"system.no-work.idea{view.again}"), blocks)


def _not_because_it_balances(view: View) -> Text:
    """What the reason isn't; on a slope the normal force balances a component only."""
    context = view.context
    normals = [force.on for force in view.idle if force.interaction is Interaction.NORMAL]
    sloping = [name for name in normals if context.motion.sine(name) is not None]
    if not sloping:
        return say("system.no-work.not-cancel")
    surface = context.the(context.names.surface(sloping[0]))
    return say("system.no-work.not-cancel-slope", the_surface=surface)


def _idle_before(view: View) -> set[str]:
    """The forces whose reason an earlier featured system has told."""
    systems = view.context.setting.scenario.systems
    earlier = systems[: systems.index(view.choice)]
    return {force.name for choice in earlier for force in View(view.context, choice).idle}


def _reason(view: View, force: Force, said: set[str]) -> Text:
    assert force.reason is not None
    context, kind = view.context, force.interaction
    key = force.reason.value
    if kind is Interaction.GRAVITY and key == "perpendicular":
        key = "perpendicular-gravity"
    if kind is Interaction.ROLLING:
        key = "rolling"
    if kind is Interaction.AXLE and key == "at-rest":
        key = "at-rest-axle"
    if key == "ideal-pulley" and key in said:
        key = "ideal-pulley-again"
    said.add(key)
    return say(
        f"system.no-work.{key}",
        force=context.names.phrase(force),
        the_object=context.the(force.on),
    )
