"""What each string imposes: how it ties the motions, and where it pulls equally."""

from collections.abc import Iterator, Mapping

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Step, Text, Working
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.free import rates
from fallwork.lesson.trees import ZERO, scaled, signed, total
from fallwork.lesson.words import listing, say, sentence, title
from fallwork.mechanics.layout import Role


def string_step(context: Context, string: str) -> Step:
    """What one string imposes on the objects that it meets."""
    setting = context.setting
    several = len(setting.apparatus.strings) > 1
    blocks: list[Block] = []
    if setting.moves and setting.partly_slack(string):
        blocks += _taut_part(context, string)
    elif setting.moves and string not in setting.phase.slack:
        blocks += _tie(context, string)
    blocks += _pull(context, string)
    return Step(
        id=f"string-{string}" if several else "string",
        topic=f"string{_sort(context, string)}",
        title=title("string.title", the_string=context.the(string)),
        idea=say(f"string.{_idea(context, string)}", the_string=context.the(string)),
        blocks=tuple(blocks),
    )


def _sort(context: Context, string: str) -> str:
    """The ending of the topic: nothing moves, or the string passes no pulley."""
    if not context.setting.moves:
        return ".rest"
    path = context.setting.apparatus.strings[string].path
    return "" if set(path) & set(context.setting.pulleys) else ".straight"


def _idea(context: Context, string: str) -> str:
    if not context.setting.moves:
        return "idea-rest"
    doubled = bool(_doubled(context, string))
    if not context.names.one_tension(string):
        return "idea-rotor-tied" if doubled else "idea-rotor"
    several = len(context.setting.apparatus.strings) > 1 or doubled
    return "idea-tied" if several else "idea"


def _tie(context: Context, string: str) -> Iterator[Block]:
    """The relation between the accelerations of the objects on a string."""
    constraint = context.setting.ties.constraint(string)
    movers = {n: k for n, k in constraint.items() if n in context.setting.senses}
    sizes = set(map(abs, movers.values()))
    if len(movers) == 2 and len(sizes) == 1 and len(constraint) == 2:
        yield from _same(context, *movers)
    elif len(constraint) > 1 and len(movers) == 1 and not _doubled(context, string):
        yield from _wound(context, string, next(iter(movers)))
    elif len(movers) >= 2:
        yield from _unequal(context, string, movers)
    elif movers:
        (only,) = movers
        yield Paragraph(
            text=say("string.held", the_string=context.the(string), the_object=context.the(only))
        )


def _taut_part(context: Context, string: str) -> Iterator[Block]:
    """What the taut part of a string imposes whose other part is slack."""
    yield Paragraph(text=say("string.slack-part", the_string=context.the(string)))
    conditions = [rates(context, tie) for tie in context.setting.ties.spans(string)]
    equations = [Equation(left=c, right=ZERO, unit="m/s²") for c in conditions if c != ZERO]
    if equations:
        yield Paragraph(text=say("string.taut-part"))
        yield Working(equations=tuple(equations))


def _same(context: Context, first: str, second: str) -> Iterator[Block]:
    names, the = context.names, context.the
    yield Paragraph(
        text=say(
            "string.same",
            the_first=the(first),
            the_second=the(second),
            sense_first=names.sense(first),
            sense_second=names.sense(second),
        )
    )
    common = (as_expression(names.acceleration),) if context.same_pace else ()
    yield Working(
        equations=(
            Equation(
                left=as_expression(names.acceleration_of(first)),
                right=as_expression(names.acceleration_of(second)),
                forms=common,
                unit="m/s²",
            ),
        )
    )


def _wound(context: Context, string: str, mover: str) -> Iterator[Block]:
    layout = context.setting.layout.strings[string]
    drums = [n for n, role in zip(layout.path, layout.roles, strict=True) if role is Role.DRUM]
    yield Paragraph(
        text=say(
            "string.wound",
            the_object=context.the(mover),
            the_drum=listing([context.the(name) for name in drums]),
        )
    )


def _doubled(context: Context, string: str) -> list[str]:
    """The moving pulleys in a string, over or round which it runs."""
    layout = context.setting.layout.strings[string]
    pairs = zip(layout.path, layout.roles, strict=True)
    return [name for name, role in pairs if role is Role.MOVING]


def _unequal(context: Context, string: str, movers: Mapping[str, int]) -> Iterator[Block]:
    """A string over or round moving pulleys: its parts lengthen and shorten together."""
    setting, the = context.setting, context.the
    layout = setting.layout.strings[string]
    doubled = _doubled(context, string)
    key = "several"
    if len(doubled) == 1:
        key = "round" if layout.bight(layout.path.index(doubled[0])) > 0 else "over"
    yield Paragraph(
        text=say(
            f"string.{key}",
            the_string=the(string),
            the_pulley=listing([the(name) for name in doubled]),
        )
    )
    left, right = sides_of(context, movers)
    seen = _relative(context, doubled[0], movers) if key == "over" else ()
    yield Working(equations=(*seen, Equation(left=left, right=right, unit="m/s²")))
    if setting.tied:
        yield from _common(context, list(movers))


def _relative(context: Context, pulley: str, movers: Mapping[str, int]) -> Iterator[Equation]:
    """The accelerations of the two ends relative to the pulley, each in its own sense."""
    setting, names = context.setting, context.names
    ends = sorted((n for n in movers if n != pulley), key=lambda name: setting.senses[name])
    if len(ends) != 2 or set(ends) - set(setting.hanging) or any(map(setting.rests, movers)):
        return
    rises, sinks = (
        total(
            [
                signed(way * setting.senses[end], names.acceleration_of(end)),
                signed(-way * setting.senses[pulley], names.acceleration_of(pulley)),
            ]
        )
        for end, way in zip(ends, (-1, 1), strict=True)
    )
    yield Equation(left=rises, right=sinks, unit="m/s²")


def sides_of(context: Context, movers: Mapping[str, int]) -> tuple[Expression, Expression]:
    """The accelerations on a string: those that give string on the left, the others opposite."""
    setting, names = context.setting, context.names
    ties = {n: k * setting.senses[n] for n, k in movers.items() if not setting.rests(n)}
    give, take = (
        total(scaled(abs(k), names.acceleration_of(n)) for n, k in ties.items() if k * way > 0)
        for way in (-1, 1)
    )
    return (take, give) if give == ZERO else (give, take)


def _common(context: Context, movers: list[str]) -> Iterator[Block]:
    """All accelerations by the common one; what a moving pulley carries included."""
    setting, names, the = context.setting, context.names, context.the
    loads = [name for name, pulley in setting.carried.items() if pulley in movers]
    text = say("string.common", a=names.acceleration)
    if loads:
        number = "one" if len(loads) == 1 else "several"
        words = sentence(f"string.moves.{number}").replace(
            "{loads}", listing(list(map(the, loads)))
        )
        text = say(
            "string.common-carried",
            loads=words,
            the_pulley=the(setting.carried[loads[0]]),
            a=names.acceleration,
        )
    yield Paragraph(text=text)
    yield Working(
        equations=tuple(
            Equation(
                left=as_expression(names.acceleration_of(name)),
                right=context.motion.acceleration_tree(name),
                unit="m/s²",
            )
            for name in setting.movers
            if name in movers or name in loads
        )
    )


def _pull(context: Context, string: str) -> Iterator[Block]:
    """Where the string pulls equally, and where it doesn't."""
    setting, names, the = context.setting, context.names, context.the
    if string in setting.phase.slack:
        yield Paragraph(text=say("string.slack", the_string=the(string)))
        return
    path = setting.apparatus.strings[string].path
    passed = list(dict.fromkeys(n for n in path[1:-1] if n in setting.pulleys))
    ideal = [n for n in passed if n not in setting.rotors]
    heavy = [n for n in passed if n in setting.rotors]
    for pulley in heavy:
        yield Paragraph(text=_two_sides(context, string, pulley))
    if heavy:
        return
    tension = names.tension(string, path[0])
    if not ideal:
        yield Paragraph(text=say("string.tension-straight", T=tension, the_string=the(string)))
    elif _explained_before(context, string):
        yield Paragraph(text=say("string.tension-again", T=tension, the_string=the(string)))
    else:
        pulleys = listing([the(name) for name in ideal])
        yield Paragraph(
            text=say("string.tension", the_pulley=pulleys, T=tension, the_string=the(string))
        )
        if not setting.rotors:
            yield Paragraph(
                text=say("string.unlike" if context.setting.moves else "string.unlike-rest")
            )


def _explained_before(context: Context, string: str) -> bool:
    """Whether an earlier string over an ideal pulley has had the full explanation."""
    setting = context.setting
    for other in setting.apparatus.strings.values():
        if other.name == string:
            return False
        inner = other.path[1:-1]
        ideal = any(n in setting.pulleys and n not in setting.rotors for n in inner)
        if (
            ideal
            and other.name not in setting.phase.slack
            and context.names.one_tension(other.name)
        ):
            return True
    return False


def _two_sides(context: Context, string: str, pulley: str) -> Text:
    setting, names = context.setting, context.names
    path = setting.apparatus.strings[string].path
    at = path.index(pulley)
    return say(
        "string.tension-rotor",
        the_pulley=context.the(pulley),
        first=names.tension(string, pulley),
        second=names.tension(string, pulley, after=True),
        the_before=context.the(path[at - 1]),
        the_after=context.the(path[at + 1]),
    )
