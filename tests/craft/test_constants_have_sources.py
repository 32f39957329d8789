"""Every figure in the trade's arithmetic says where it comes from: a source, "common practice" or "from memory"."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import dyeday.craft

MODULES = sorted(Path(dyeday.craft.__file__).parent.rglob("*.py"))

PLAIN = {0, 1, 2, 3, 4, 5, 10, 50, 60, 100, 1000, 3600, 0.5, 14}
"""Numbers that are counts, exponents, percent, or steps between units and on the pH scale, wherever they stand."""

SLACK = 1e-6
"""Smaller numbers only say when two figures are one in binary."""

SAYS_WHERE = re.compile(
    r"common practice|from memory|definition|molar mass|numerical choice|"
    r"\b(?:1[89]|20)\d\d\b|\b(?:ISO|IUPAC|IAPWS|ASTM|ASHRAE|FAO|USGS|NFPA|NIST|CRC)\b",
    re.IGNORECASE,
)


def figures(node: ast.AST) -> Iterator[float]:
    """Every number of a piece of code that is not plain."""
    for part in ast.walk(node):
        value = part.value if isinstance(part, ast.Constant) else None
        if isinstance(value, (int, float)) and abs(value) not in PLAIN and abs(value) > SLACK:
            yield value


def bare(code: str) -> Iterator[str]:
    """The names of what holds figures and does not say where they come from, with the figures."""
    body, lines = ast.parse(code).body, code.splitlines()
    for node, after in zip(body, [*body[1:], None], strict=True):
        found = sorted(set(figures(node)))
        if not found:
            continue
        text = ast.get_source_segment(code, node) or ""
        if isinstance(node, (ast.Assign, ast.AnnAssign)):
            if isinstance(after, ast.Expr):
                text += ast.get_source_segment(code, after) or ""
            text += _comments_above(lines, node.lineno)
        if not SAYS_WHERE.search(text):
            yield f"{_name(node)}: {', '.join(f'{figure:g}' for figure in found)}"


def _comments_above(lines: list[str], lineno: int) -> str:
    above = []
    for line in reversed(lines[: lineno - 1]):
        if not line.startswith("#"):
            break
        above.append(line)
    return " ".join(above)


def _name(node: ast.AST) -> str:
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        return node.name
    if isinstance(node, ast.Assign):
        return ", ".join(ast.unparse(target) for target in node.targets)
    return ast.unparse(node)[:40]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_every_figure_says_where_it_comes_from(module: Path) -> None:
    assert list(bare(module.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("BOILS_C = 98.5\n", ["BOILS_C: 98.5"]),
        ('BOILS_C = 98.5\n"""Water on a hill."""\n', ["BOILS_C: 98.5"]),
        ('BOILS_C = 98.5\n"""Water on a hill; common practice, no source."""\n', []),
        ("# from memory\nBOILS_C = 98.5\n", []),
        ('def boil(m: float) -> float:\n    """Give it."""\n    return 100 - m / 293\n', ["boil: 293"]),
        ('def boil(m: float) -> float:\n    """Give it (ISO 2533)."""\n    return 100 - m / 293\n', []),
        ("HALF = 1 / 2\n", []),
    ],
)
def test_a_bare_figure_is_found_and_one_with_its_source_is_not(code: str, found: list[str]) -> None:
    assert list(bare(code)) == found
