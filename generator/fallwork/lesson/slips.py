"""Slips as trees: a formula text from the slips file becomes a tree over the lesson's symbols.

Takes the slips file and a context; gives the slips of each topic. The formula language is
Python's arithmetic, read with ``ast``; its letters are the ``roles`` of the set-up.
"""

import ast
from collections.abc import Callable, Mapping

from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Operand,
    Quotient,
    Ref,
    Root,
    as_expression,
)
from fallwork.lesson.trees import rebuilt


def parse(formula: str, roles: Mapping[str, Operand]) -> Expression | None:
    """The tree of a formula text, zeros cleared away; None where it names an unknown role."""
    try:
        return rebuilt(_tree(ast.parse(formula, mode="eval").body, roles), {})
    except KeyError:
        return None


def _tree(node: ast.expr, roles: Mapping[str, Operand]) -> Expression:
    match node:
        case ast.Name(id=name):
            return as_expression(roles[name])
        case ast.Constant(value=int(value)):
            return Number(value=value)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_tree(operand, roles)
        case ast.Call(func=ast.Name(id="sqrt"), args=[argument]):
            return Root(body=_tree(argument, roles))
        case ast.Call(func=ast.Name(id="radsin"), args=[ast.Name(id=name)]):
            return Function(name="sin", argument=_digits(as_expression(roles[name])))
        case ast.Call(func=ast.Name(id=("sin" | "cos") as name), args=[argument]):
            return Function(name=name, argument=_tree(argument, roles))
        case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=int(exponent))):
            return _tree(left, roles) ** exponent
        case ast.BinOp(left=left, op=operator, right=right):
            return _OPERATORS[type(operator)](_tree(left, roles), _tree(right, roles))
    raise SyntaxError(ast.dump(node))


def _digits(angle: Expression) -> Expression:
    """The number of degrees without its unit, as a calculator set to radians takes it."""
    if not isinstance(angle, Ref) or not angle.symbol.written:
        raise KeyError("an angle with digits")
    whole, _, part = angle.symbol.written.partition(".")
    if not part.strip("0"):
        return Number(value=int(whole))
    return Quotient(top=Number(value=int(whole + part)), bottom=Number(value=10 ** len(part)))


_OPERATORS: Mapping[type[ast.operator], Callable[[Expression, Expression], Expression]] = {
    ast.Add: lambda left, right: left + right,
    ast.Sub: lambda left, right: left - right,
    ast.Mult: lambda left, right: left * right,
    ast.Div: lambda left, right: left / right,
}
