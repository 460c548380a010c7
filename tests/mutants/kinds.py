"""The kinds of deliberate fault: for one node of a syntax tree, what might wrongly stand in its place."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator, Mapping

Hints = Mapping[str, str]
"""The type hint of each parameter of the function around a node."""
_COMPARED: Mapping[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_TURNED: Mapping[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.Gt, ast.LtE: ast.GtE, ast.Gt: ast.Lt, ast.GtE: ast.LtE,
}  # fmt: skip
_RECKONED: Mapping[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
}  # fmt: skip
_OTHER_NAME = {"min": "max", "max": "min", "any": "all", "all": "any"}
_EMPTY = {"list": "[]", "dict": "{}", "tuple": "()", "set": "set()", "str": "''", "float": "0.0", "int": "0"}


def instead_of(node: ast.AST, hints: Hints, returns: str) -> list[ast.AST]:
    """What may be put in the place of a node; empty where no fault of these kinds fits.

    Parameters
    ----------
    hints : mapping
        Type hints of the parameters around it: only arguments of the same type change places.
    returns : str
        The type hint of what the function around it returns.
    """
    match node:
        case ast.Compare():
            found = _compared(node)
        case ast.BinOp(op=op) if type(op) in _RECKONED and not _is_text(node):
            found = iter([ast.BinOp(node.left, _RECKONED[type(op)](), node.right)])
        case ast.BoolOp(op=op):
            found = iter([ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), node.values)])
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            found = iter([node.operand])
        case ast.If() | ast.While() | ast.IfExp():
            found = _negated(node)
        case ast.Constant():
            found = _changed(node.value)
        case ast.Return(value=ast.expr() as value):
            found = _emptied(value, returns)
        case ast.Expr(value=ast.Call() | ast.Await()):
            found = iter([ast.Pass()])
        case ast.Slice():
            found = _off_by_one(node)
        case ast.Call():
            found = _called(node, hints)
        case _:
            found = iter([])
    return list(found)


def _compared(node: ast.Compare) -> Iterator[ast.AST]:
    for number, op in enumerate(node.ops):
        for other in (_COMPARED.get(type(op)), _TURNED.get(type(op))):
            if other is not None:
                ops = [*node.ops[:number], other(), *node.ops[number + 1 :]]
                yield ast.Compare(node.left, ops, node.comparators)


def _negated(node: ast.If | ast.While | ast.IfExp) -> Iterator[ast.AST]:
    other = copy.copy(node)
    other.test = ast.UnaryOp(ast.Not(), node.test)
    yield other


def _changed(value: object) -> Iterator[ast.AST]:
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int | float):
        others = {value * 2, value + 1, type(value)(0)} - {value}
        yield from (ast.Constant(other) for other in sorted(others))


def _emptied(value: ast.expr, returns: str) -> Iterator[ast.AST]:
    if returns == "bool":
        yield ast.Return(ast.UnaryOp(ast.Not(), value))
        return
    empty = _EMPTY.get(returns.partition("[")[0], "None")
    if ast.unparse(value) != empty:
        yield ast.Return(ast.parse(empty, mode="eval").body)


def _off_by_one(node: ast.Slice) -> Iterator[ast.AST]:
    for name in ("lower", "upper"):
        end = getattr(node, name)
        if end is not None:
            other = copy.copy(node)
            setattr(other, name, ast.BinOp(end, ast.Add(), ast.Constant(1)))
            yield other


def _called(node: ast.Call, hints: Hints) -> Iterator[ast.AST]:
    if isinstance(node.func, ast.Name) and node.func.id in _OTHER_NAME:
        yield ast.Call(ast.Name(_OTHER_NAME[node.func.id], ast.Load()), node.args, node.keywords)
        return
    for number, (one, other) in enumerate(zip(node.args, node.args[1:], strict=False)):
        if _type_of(one, hints) is not None and _type_of(one, hints) == _type_of(other, hints):
            args = [*node.args[:number], other, one, *node.args[number + 2 :]]
            yield ast.Call(node.func, args, node.keywords)


def _type_of(node: ast.expr, hints: Hints) -> str | None:
    """The type of an argument as far as it shows: its hint, or the unit that its name ends in."""
    name = node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""
    if name in hints and isinstance(node, ast.Name):
        return hints[name]
    _, mark, unit = name.rpartition("_")
    return f"unit {unit}" if mark and unit else None


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str | bytes))
        for side in (node.left, node.right)
    )
