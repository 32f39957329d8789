"""Small changes to a module's code, each of which some test should notice."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

SWAPPED_COMPARE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
SWAPPED_SUM: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
SWAPPED_NAME = {"min": "max", "max": "min", "any": "all", "all": "any", "ceil": "floor", "floor": "ceil"}
UNTOUCHED_WORDS = {"slots", "frozen", "maxsize", "default_factory", "strict", "rel_tol"}
"""Keyword arguments that say how a class or a cache is made, not what it does."""
SLACK = 1e-6
"""Smaller figures only say when two floats are one."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: where, what was there, what is there now, and the module's code with it."""

    line: int
    function: str
    was: str
    now: str
    code: str

    @property
    def change(self) -> str:
        """The change in words."""
        return f"{self.was} -> {self.now}"


def mutant(code: str, wanted: int) -> Mutant:
    """The mutant of this number, from 0, in the order of the code."""
    tree = ast.parse(code)
    for seen, (node, function) in enumerate(_places(tree)):
        if seen == wanted:
            was, line, new = _short(ast.unparse(node)), getattr(node, "lineno", 0), _changed(node)
            _put(tree, node, new)
            return Mutant(line, function, was, _short(ast.unparse(new)), ast.unparse(ast.fix_missing_locations(tree)))
    raise IndexError(wanted)


def count(code: str) -> int:
    """How many mutants a module has."""
    return sum(1 for _ in _places(ast.parse(code)))


def changes(code: str) -> Iterator[tuple[str, str]]:
    """Every mutant's function and change, in the order of the code."""
    for node, function in _places(ast.parse(code)):
        yield function, f"{_short(ast.unparse(node))} -> {_short(ast.unparse(_changed(node)))}"


def _places(tree: ast.Module) -> Iterator[tuple[ast.AST, str]]:
    """Every node that may be changed, with the function it is in: no annotation, docstring, decorator or message."""

    def walk(node: ast.AST, function: str) -> Iterator[tuple[ast.AST, str]]:
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            for default in (*node.args.defaults, *(d for d in node.args.kw_defaults if d is not None)):
                yield from walk(default, node.name)
            for part in node.body:
                yield from walk(part, node.name)
            return
        if isinstance(node, ast.AnnAssign):
            if node.value is not None:
                yield from walk(node.value, function)
            return
        if isinstance(node, (ast.Raise, ast.JoinedStr, ast.Import, ast.ImportFrom)) or _is_types_only(node):
            return
        if isinstance(node, ast.keyword) and node.arg in UNTOUCHED_WORDS:
            return
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                yield from walk(part, node.name)
            return
        yield node, function
        for child in ast.iter_child_nodes(node):
            yield from walk(child, function)

    yield from ((node, function) for node, function in walk(tree, "") if _can_change(node))


def _is_types_only(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"


def _can_change(node: ast.AST) -> bool:
    if isinstance(node, ast.Compare):
        return len(node.ops) == 1 and type(node.ops[0]) in SWAPPED_COMPARE
    if isinstance(node, ast.BinOp):
        return type(node.op) in SWAPPED_SUM and not (_is_text(node.left) or _is_text(node.right))
    if isinstance(node, (ast.BoolOp, ast.IfExp)):
        return True
    if isinstance(node, ast.UnaryOp):
        return isinstance(node.op, ast.Not)
    if isinstance(node, ast.Constant):
        value = node.value
        if isinstance(value, bool):
            return True
        return isinstance(value, (int, float)) and not 0 < abs(value) <= SLACK
    if isinstance(node, ast.Name):
        return node.id in SWAPPED_NAME and isinstance(node.ctx, ast.Load)
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Call)
    return False


def _is_text(node: ast.AST) -> bool:
    if isinstance(node, ast.BinOp):
        return _is_text(node.left) or _is_text(node.right)
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _changed(node: ast.AST) -> ast.AST:
    new = copy.deepcopy(node)
    if isinstance(new, ast.Compare):
        new.ops = [SWAPPED_COMPARE[type(new.ops[0])]()]
    elif isinstance(new, ast.BinOp):
        new.op = SWAPPED_SUM[type(new.op)]()
    elif isinstance(new, ast.BoolOp):
        new.op = ast.Or() if isinstance(new.op, ast.And) else ast.And()
    elif isinstance(new, ast.IfExp):
        new.body, new.orelse = new.orelse, new.body
    elif isinstance(new, ast.UnaryOp):
        return new.operand
    elif isinstance(new, ast.Constant):
        new.value = _other(new.value)
    elif isinstance(new, ast.Name):
        new.id = SWAPPED_NAME[new.id]
    elif isinstance(new, ast.Expr):
        return ast.Pass()
    return new


def _other(value: object) -> float:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    return value * 1.1 if isinstance(value, float) and value else 1.0


def _put(tree: ast.AST, old: ast.AST, new: ast.AST) -> None:
    for parent in ast.walk(tree):
        for name, value in ast.iter_fields(parent):
            if value is old:
                setattr(parent, name, new)
                return
            if isinstance(value, list) and any(one is old for one in value):
                value[[one is old for one in value].index(True)] = new
                return


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= 90 else f"{line[:87]}..."
