"""Slips as trees: a formula text from the slips file becomes a tree over the lesson's symbols.

Takes the slips file and the symbols of a set-up with one slider and one hanging weight; gives the
slips of each topic. The formula language is Python's arithmetic, read with ``ast``.
"""

import ast
import math
from collections.abc import Callable, Mapping
from typing import Any

from fallwork.lesson.context import Context
from fallwork.lesson.document import Slip
from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Root,
    Symbol,
    as_expression,
    evaluate,
)
from fallwork.lesson.questions import is_raised
from fallwork.lesson.steps.systems import view_of
from fallwork.lesson.words import fill, texts, the
from fallwork.mechanics.solution import Interaction


def slips_for(context: Context, topic: str) -> tuple[Slip, ...]:
    """The slips of one topic whose formulas this set-up can evaluate and which go wrong in it."""
    if not context.is_plain or not context.moves_freely or not context.speeds_up:
        return ()
    symbols = slip_symbols(context)
    slips = (_slip(entry, symbols, context) for entry in texts("slips") if entry["topic"] == topic)
    return tuple(slip for slip in slips if slip is not None)


def _slip(entry: Any, symbols: Mapping[str, Symbol], context: Context) -> Slip | None:
    formula = parse(entry["formula"], symbols)
    if formula is None or entry["of"] not in symbols or not is_raised(entry, context):
        return None
    right = symbols[entry["of"]]
    value = evaluate(formula) if context.numbers else None
    values = (value, right.value)
    if None not in values and math.isclose(*values, rel_tol=1e-9):  # type: ignore[arg-type]
        return None
    parts = {"g": context.names.gravity, "a": context.names.acceleration}
    done = fill(
        entry["done"],
        the_slider=the(context.slider),
        the_weight=the(context.weight),
        the_surface=the(context.surface),
        **parts,
    )
    return Slip(id=entry["id"], of=right, done=done, formula=formula, unit=right.unit, value=value)


def slip_symbols(context: Context) -> dict[str, Symbol]:
    """The letters of the slips file for a set-up of one slider and one hanging weight."""
    names, slider, weight = context.names, context.slider, context.weight
    symbols = {
        "m1": names.mass(slider),
        "m2": names.mass(weight),
        "g": names.gravity,
        "d": names.distance,
        "a": names.acceleration,
        "T": names.tension(context.string, slider),
        "v": names.speed,
        "t": names.time,
        "K1": names.kinetic(slider),
        "U": names.potential_change(weight),
    }
    pull = context.setting.force(Interaction.TENSION, slider)
    if pull is not None and view_of(context, whole=False) is not None:
        symbols["W_T"] = names.work(pull)
    rubbing = context.setting.force(Interaction.FRICTION, slider)
    if context.setting.slope(slider):
        symbols["th"] = names.slope(names.surface(slider))
        symbols["U1"] = names.potential_change(slider)
    if context.rubs and rubbing is not None:
        symbols |= {
            "mu": names.coefficient(slider),
            "f": names.friction(slider),
            "W_f": names.work(rubbing),
            "s": names.coasting_distance,
        }
    return symbols


def parse(formula: str, symbols: Mapping[str, Symbol]) -> Expression | None:
    """The tree of a formula text; None where it names a symbol that the set-up hasn't got."""
    try:
        return _tree(ast.parse(formula, mode="eval").body, symbols)
    except KeyError:
        return None


def _tree(node: ast.expr, symbols: Mapping[str, Symbol]) -> Expression:
    match node:
        case ast.Name(id=name):
            return as_expression(symbols[name])
        case ast.Constant(value=int(value)):
            return Number(value=value)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_tree(operand, symbols)
        case ast.Call(func=ast.Name(id="sqrt"), args=[argument]):
            return Root(body=_tree(argument, symbols))
        case ast.Call(func=ast.Name(id=("sin" | "cos") as name), args=[argument]):
            return Function(name=name, argument=_tree(argument, symbols))
        case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=int(exponent))):
            return _tree(left, symbols) ** exponent
        case ast.BinOp(left=left, op=operator, right=right):
            return _OPERATORS[type(operator)](_tree(left, symbols), _tree(right, symbols))
    raise SyntaxError(ast.dump(node))


_OPERATORS: Mapping[type[ast.operator], Callable[[Expression, Expression], Expression]] = {
    ast.Add: lambda left, right: left + right,
    ast.Sub: lambda left, right: left - right,
    ast.Mult: lambda left, right: left * right,
    ast.Div: lambda left, right: left / right,
}
