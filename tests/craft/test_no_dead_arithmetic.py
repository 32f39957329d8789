"""What the trade's arithmetic offers, the program uses: a function for tests alone is none."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import dyeday

ROOT = Path(dyeday.__file__).parent


def defined(tree: ast.AST) -> Iterator[str]:
    """The public functions, methods, classes, fields and constants of a module."""
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            yield node.name
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            yield node.target.id
        elif isinstance(node, ast.Assign):
            yield from (target.id for target in node.targets if isinstance(target, ast.Name))


def used(tree: ast.AST) -> Iterator[str]:
    """The names a module reads."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.ImportFrom):
            yield from (alias.name for alias in node.names if alias.asname)


def test_every_name_of_craft_is_read_somewhere_in_the_program() -> None:
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in ROOT.rglob("*.py")}
    reads = Counter(name for tree in trees.values() for name in used(tree))
    offered = {
        name
        for path, tree in trees.items()
        if path.is_relative_to(ROOT / "craft")
        for name in defined(tree)
        if not name.startswith("__")
    }

    assert len(offered) > 100
    assert sorted(name for name in offered if not reads[name]) == []
