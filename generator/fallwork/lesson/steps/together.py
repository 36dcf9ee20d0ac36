"""The accelerations where the strings leave several motions free: equations solved together."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Step, Working
from fallwork.lesson.elimination import Solved
from fallwork.lesson.expression import Expression, Negative, Quotient, as_expression
from fallwork.lesson.free import FreeSolution, conditions, rates, solve_free
from fallwork.lesson.lab import Lab
from fallwork.lesson.steps.pieces import count_word
from fallwork.lesson.trees import ZERO
from fallwork.lesson.units import unit_of
from fallwork.lesson.words import Part, say, sentence, title


def together_step(context: Context) -> Step:
    """The forces inside first, then each acceleration."""
    setting = context.setting
    solved = solve_free(context)
    blocks: list[Block] = [*_forces(context, solved)]
    motions = tuple(_equation(context, item) for item in solved.accelerations)
    if motions:
        key = "free-motions" if solved.unknown else "free-motions-alone"
        blocks.append(Paragraph(text=say(f"acceleration.{key}")))
        blocks.append(Working(equations=motions))
    for name in setting.movers:
        if setting.rests(name):
            blocks.append(Paragraph(text=say("acceleration.resting", the_object=context.the(name))))
    return Step(
        id=context.suffixed("acceleration"),
        topic="acceleration.free",
        title=title("acceleration.title-free"),
        idea=say("acceleration.idea-free"),
        blocks=tuple(blocks),
        check=tuple(_check(context)),
    )


def _check(context: Context) -> Iterator[Block]:
    """What the strings impose, with the accelerations put in."""
    setting = context.setting
    equations = []
    for string in setting.taut:
        tie = setting.ties.constraint(string)
        moving = [name for name in tie if name in setting.senses and not setting.rests(name)]
        if len(tie) == len([n for n in tie if n in setting.senses]) and len(moving) > 1:
            left, right = Lab(context).sides(tie)
            equations.append(context.result(left, right, "m/s²"))
    if equations and context.numbers:
        yield Paragraph(text=say("acceleration.check-strings"))
        yield Working(equations=tuple(equations))


def _forces(context: Context, solved: FreeSolution) -> Iterator[Block]:
    parts = _counts(context)
    if not solved.unknown:
        yield Paragraph(text=say("acceleration.free-alone", **parts))
    elif not solved.forces:
        yield from _only_values(context, solved, parts)
    elif solved.denominator is not None and len(solved.forces) > 1:
        yield from _with_denominator(context, solved, solved.denominator, parts)
    else:
        yield Paragraph(text=say("acceleration.free", **parts))
        yield from _left_over(context, solved)
        yield Paragraph(text=say("acceleration.free-then"))
        yield Working(equations=tuple(_equation(context, item) for item in solved.forces))


def _left_over(context: Context, solved: FreeSolution) -> Iterator[Block]:
    """The conditions for the tensions alone, before they are solved."""
    equations = tuple(
        Equation(left=left, right=right) for left, right in conditions(context, solved)
    )
    if equations:
        yield Working(equations=equations)


def _counts(context: Context) -> dict[str, Part]:
    setting = context.setting
    moving = [name for name in setting.movers if not setting.rests(name)]
    taut = len(setting.taut)
    key = {0: "none", 1: "one"}.get(taut, "several")
    strings = sentence(f"acceleration.strings-taut.{key}").replace("{count}", count_word(taut))
    return {"movers": count_word(len(moving)), "strings": strings}


def _with_denominator(
    context: Context, solved: FreeSolution, bottom: Expression, parts: dict[str, Part]
) -> Iterator[Block]:
    """A letter for the denominator, so that rows stay short."""
    symbol = context.names.denominator(unit_of(bottom), context.value(bottom))
    yield Paragraph(text=say("acceleration.free", **parts))
    yield from _left_over(context, solved)
    yield Paragraph(text=say("acceleration.denominator", D=symbol))
    yield Working(equations=(context.result(symbol, bottom, symbol.unit),))
    yield Paragraph(text=say("acceleration.denominator-then"))
    equations = []
    for item in solved.forces:
        tree = item.tree
        body = tree.body if isinstance(tree, Negative) else tree
        assert isinstance(body, Quotient)
        short = body.top / as_expression(symbol)
        full = Equation(left=as_expression(item.symbol), right=short, unit=item.symbol.unit)
        signed = -short if isinstance(tree, Negative) else short
        equations.append(context.result(full.left, signed, full.unit))
    yield Working(equations=tuple(equations))


def _only_values(context: Context, solved: FreeSolution, parts: dict[str, Part]) -> Iterator[Block]:
    """The conditions of the strings, and the forces by value."""
    setting = context.setting
    yield Paragraph(text=say("acceleration.conditions", **parts))
    ties = [tie for string in setting.taut for tie in setting.ties.spans(string)]
    trees = [tree for tie in ties if (tree := rates(context, tie)) != ZERO]
    if trees:
        conditions = tuple(Equation(left=tree, right=ZERO, unit="m/s²") for tree in trees)
        yield Working(equations=conditions)
    known = [symbol for symbol in solved.unknown if symbol.value is not None]
    if not known:
        yield Paragraph(text=say("acceleration.no-values"))
        return
    yield Paragraph(text=say("acceleration.values"))
    yield Working(equations=tuple(context.result(s, s, s.unit) for s in known))


def _equation(context: Context, item: Solved) -> Equation:
    return context.result(item.symbol, item.tree, item.symbol.unit)
