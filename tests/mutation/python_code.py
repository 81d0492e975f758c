"""Mutants of an interpreter: one operator, constant, condition, argument or statement changed at a time."""

import ast
import copy
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.mutation.mutant import Mutant

_COMPARE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_BINARY: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitOr: ast.BitAnd,
}  # fmt: skip
_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}


def mutants(root: Path, path: str) -> Iterator[Mutant]:
    """Give the mutants of all functions of a module."""
    tree = ast.parse((root / path).read_text())
    hints = {id(part) for hint in _hints(tree) for part in ast.walk(hint)}
    for place, node in enumerate(ast.walk(tree)):
        if id(node) in hints or not _inside_a_function(tree, node):
            continue
        for what, change in _changes(node):
            other = copy.deepcopy(tree)
            twin = next(one for at, one in enumerate(ast.walk(other)) if at == place)
            change(twin)
            line = getattr(node, "lineno", 0)
            yield Mutant(
                path, line, f"{ast.unparse(node)[:70]!r}: {what}", ast.unparse(ast.fix_missing_locations(other))
            )


def _hints(tree: ast.Module) -> Iterator[ast.expr]:
    """Give the types that stand in the text for its readers: they change nothing."""
    for node in ast.walk(tree):
        hint = getattr(node, "annotation", None) or getattr(node, "returns", None)
        if hint is not None:
            yield hint


def _inside_a_function(tree: ast.Module, node: ast.AST) -> bool:
    if not hasattr(node, "lineno"):
        return False
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef) and any(
            inner is node for statement in function.body for inner in ast.walk(statement)
        ):
            return True
    return False


def _changes(node: ast.AST) -> Iterator[tuple[str, Callable[[Any], object]]]:
    if isinstance(node, ast.Compare) and type(node.ops[0]) in _COMPARE:
        to = _COMPARE[type(node.ops[0])]
        yield to.__name__, lambda twin: twin.ops.__setitem__(0, to())
    elif isinstance(node, ast.BinOp) and type(node.op) in _BINARY:
        op = _BINARY[type(node.op)]
        yield op.__name__, lambda twin: setattr(twin, "op", op())
    elif isinstance(node, ast.BoolOp):
        joined = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield joined.__name__, lambda twin: setattr(twin, "op", joined())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "no not", _without_not
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield "the other", lambda twin: setattr(twin, "value", not twin.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        yield "one more", lambda twin: setattr(twin, "value", twin.value + 1)
    elif isinstance(node, ast.Name) and node.id in _NAMES:
        yield _NAMES[node.id], lambda twin: setattr(twin, "id", _NAMES[twin.id])
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        yield "condition turned", lambda twin: setattr(twin, "test", ast.UnaryOp(ast.Not(), twin.test))
    elif isinstance(node, ast.Return) and not _is_none(node.value):
        yield "nothing given", lambda twin: setattr(twin, "value", ast.Constant(None))
    elif isinstance(node, ast.Assign | ast.AnnAssign | ast.AugAssign) and not isinstance(
        node.value, ast.Constant | None
    ):
        yield "assigned nothing", lambda twin: setattr(twin, "value", ast.Constant(None))
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield "not called", lambda twin: setattr(twin, "value", ast.Constant(None))
    elif isinstance(node, ast.Continue):
        yield "break", lambda twin: setattr(twin, "__class__", ast.Break)


def _is_none(value: ast.expr | None) -> bool:
    return value is None or (isinstance(value, ast.Constant) and value.value is None)


def _without_not(twin: Any) -> None:
    twin.op, twin.operand = ast.UAdd(), _truth(twin.operand)


def _truth(operand: ast.expr) -> ast.expr:
    return ast.Call(ast.Name("bool", ast.Load()), [operand], [])
