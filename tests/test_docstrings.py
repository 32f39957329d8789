"""Public names say what they are."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator

from tests.fakes import ROOT

LEAST = 0.95
HOOKS = ("on_", "action_", "compose", "render")
"""how the methods that Textual calls by name begin; Textual says what they do"""

Function = ast.FunctionDef | ast.AsyncFunctionDef
Bases = dict[str, list[ast.ClassDef]]


def is_hook(node: ast.stmt) -> bool:
    return isinstance(node, Function) and node.name.startswith(HOOKS)


def ancestors(node: ast.ClassDef, classes: Bases) -> Iterator[ast.ClassDef]:
    """Yield the classes of the program that ``node`` derives from, by their names."""
    for base in node.bases:
        plain = base.value if isinstance(base, ast.Subscript) else base
        name = plain.attr if isinstance(plain, ast.Attribute) else plain.id if isinstance(plain, ast.Name) else ""
        for found in classes[name]:
            if found is not node:
                yield found
                yield from ancestors(found, classes)


def inherits(owner: ast.ClassDef, name: str, classes: Bases) -> bool:
    methods = (each for found in ancestors(owner, classes) for each in found.body if isinstance(each, Function))
    return any(each.name == name and ast.get_docstring(each) for each in methods)


def public(node: ast.Module | ast.ClassDef, at: str, classes: Bases) -> Iterator[tuple[str, bool]]:
    """Yield each public class, function and method, and whether it has a docstring or inherits one."""
    for each in node.body:
        if not isinstance(each, ast.ClassDef | Function) or each.name.startswith("_"):
            continue
        owner = node if isinstance(node, ast.ClassDef) else None
        if owner is not None and is_hook(each):
            continue
        said = bool(ast.get_docstring(each)) or (owner is not None and inherits(owner, each.name, classes))
        yield f"{at}.{each.name}", said
        if isinstance(each, ast.ClassDef):
            yield from public(each, f"{at}.{each.name}", classes)


def test_at_least_95_in_100_public_names_have_a_docstring() -> None:
    """In the bench alone too. A method without its own may inherit that of the method it overrides."""
    paths = sorted((ROOT / "dyeday").rglob("*.py"))
    trees = {str(p.relative_to(ROOT)): ast.parse(p.read_text(encoding="utf-8")) for p in paths}
    classes: Bases = defaultdict(list)
    for tree in trees.values():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                classes[node.name].append(node)
    found = [each for path, tree in trees.items() for each in public(tree, path, classes)]
    bench = [(name, said) for name, said in found if "/bench/" in name]
    for part in (found, bench):
        silent = [name for name, said in part if not said]
        assert len(silent) <= (1 - LEAST) * len(part), "\n".join(["without a docstring:", *silent])
