"""DEVELOPERS.md is true of the code: what it names is there, and every room has its line."""

from __future__ import annotations

import ast
import importlib.util
import re
import tomllib
from pathlib import Path

from tests.fakes import ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
FILE = re.compile(r"`([\w.-]+(?:/[\w.-]+)*(?:/|\.(?:py|md|toml)))`")
NOT_HERE = {"backups/NAME/"}
"""a folder of the data"""


def found(name: str) -> Path | None:
    """Return the file or folder that a name means: from the top, or within the package."""
    return next((place / name for place in (ROOT, ROOT / "dyeday") if (place / name).exists()), None)


def named_at_the_top(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            names.add(node.name)
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        )
        names |= {target.id for target in targets if isinstance(target, ast.Name)}
    return names


def test_it_is_short_and_has_four_parts() -> None:
    """A page that grows is a page that is not read."""
    assert TEXT.count("\n") <= 200
    assert re.findall(r"^## (.+)$", TEXT, re.MULTILINE) == ["The house", "The commands", "Recipes", "Decisions"]


def test_every_file_named_is_there() -> None:
    """Every path it names exists."""
    names = set(FILE.findall(TEXT)) - NOT_HERE
    assert len(names) > 40
    assert [name for name in sorted(names) if found(name) is None] == []
    for name in re.findall(r"\]\(([^)#]+)\)", TEXT):
        assert (ROOT / name).is_file(), name


def test_every_table_named_behind_a_file_is_in_it() -> None:
    """ "`track/day/apply.py` (`APPLY`)": the place within the file is there too."""
    seen = 0
    for name, words in re.findall(r"`([\w/]+\.py)` \(([^)]*`[A-Z_a-z]+`[^)]*)\)", TEXT):
        path = found(name)
        assert path is not None, name
        for word in re.findall(r"`(_?[A-Z][A-Za-z_]+)`", words):
            seen += 1
            assert word in named_at_the_top(path), f"{word} in {name}"
    assert seen > 15


def test_the_rooms_are_those_the_import_rules_keep_in_their_order() -> None:
    """The table says what import-linter checks, top line lowest."""
    part = TEXT.split("| room |", 1)[1].split("\n\n", 1)[0]
    rows = [line.split("|")[1:3] for line in part.split("\n")[2:]]
    rooms = [row[0].strip(" `/").removesuffix(".py") for row in rows]
    rules = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    layers = [layer.removeprefix("dyeday.") for layer in rules["contracts"][0]["layers"]]
    assert rooms == layers[::-1]
    for room, text in rows:
        folder = ROOT / "dyeday" / room.strip(" `/")
        for word in re.findall(r"`([a-z_]+)`", text) if folder.is_dir() else []:
            assert list(folder.rglob(f"{word}.py")) or word in ("lp",), f"{word} in {room}"


def test_every_module_that_is_to_be_run_can_be() -> None:
    """Benchmarks, faults, fuzzing, pictures: each `python -m` names a module or a package with a main."""
    named = set(re.findall(r"-m (tests(?:\.\w+)+)", TEXT))
    assert {"tests.speed", "tests.faults", "tests.fuzz", "tests.screenshots", "tests.bench.afternoon"} <= named
    for name in named:
        path = ROOT.joinpath(*name.split("."))
        ran = path / "__main__.py" if path.is_dir() else path.with_suffix(".py")
        assert ran.is_file(), name
        assert "__main__" in ran.read_text(encoding="utf-8") or ran.name == "__main__.py", name
        assert importlib.util.find_spec(name) is not None
