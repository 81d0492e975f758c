"""Mutants of a table in Python: each row dropped, and each row given the answer of the next that differs."""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.mutation.mutant import Mutant, replaced


def mutants(root: Path, path: str, table: str) -> Iterator[Mutant]:
    """Give the mutants of the dictionary that is assigned to ``table``."""
    text = (root / path).read_text()
    rows = _dictionary(ast.parse(text), table)
    pairs = [(key, value) for key, value in zip(rows.keys, rows.values, strict=True) if key is not None]
    spans = [(_place(text, key, begin=True), _place(text, value, begin=False)) for key, value in pairs]
    for number, (key, value) in enumerate(pairs):
        begin, end = spans[number]
        end += text[end:].startswith(",")
        name = ast.unparse(key)
        yield Mutant(path, key.lineno, f"{table}: no row {name}", replaced(text, begin, end, ""))
        own = ast.unparse(value)
        others = [ast.unparse(other) for _, other in pairs[number + 1 :] + pairs[:number]]
        other = next((other for other in others if other != own), None)
        if other is not None:
            begin = _place(text, value, begin=True)
            changed = replaced(text, begin, spans[number][1], other)
            yield Mutant(path, value.lineno, f"{table}: {name} -> {other}", changed)


def _dictionary(tree: ast.Module, table: str) -> ast.Dict:
    for node in tree.body:
        target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
        if isinstance(target, ast.Name) and target.id == table:
            return next(part for part in ast.walk(node) if isinstance(part, ast.Dict))
    raise LookupError(f"no table {table}")


def _place(text: str, node: ast.expr, begin: bool) -> int:
    lines = text.splitlines(keepends=True)
    line, column = (node.lineno, node.col_offset) if begin else (node.end_lineno or 0, node.end_col_offset or 0)
    return sum(map(len, lines[: line - 1])) + len(lines[line - 1].encode()[:column].decode())
