"""The rooms of the house import only the rooms above them, at run time too."""

from __future__ import annotations

import ast
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

from tests.fakes import ROOT

ORDER = (
    *("text", "grouping", "quick_dataclass", "craft", "terms", "units", "plan", "track", "ahead", "studio"),
    *("files", "store", "paper", "bench", "watch", "commands", "cli"),
)
HEADLESS = tuple(room for room in ORDER if room != "bench")


def modules() -> list[Path]:
    return sorted((ROOT / "dyeday").rglob("*.py"))


def room_of(path: Path) -> str | None:
    first = path.relative_to(ROOT / "dyeday").parts[0].removesuffix(".py")
    return first if first in ORDER else None


def imported_rooms(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    parts = (name.split(".") for name in names)
    return {part[1] for part in parts if part[0] == "dyeday" and len(part) > 1 and part[1] in ORDER}


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_module_imports_only_its_own_room_and_rooms_above(path: Path) -> None:
    """The arrows of the house point one way, also for imports inside functions."""
    room = room_of(path)
    if room is None:
        assert path.name in ("__init__.py", "__main__.py")
        return
    below = [other for other in imported_rooms(path) if ORDER.index(other) > ORDER.index(room)]
    assert below == []


def test_a_package_shows_a_screenful_of_modules_and_a_module_one_idea() -> None:
    """At most 15 modules at one level, at most 400 lines in a module, 130 in the middle one."""
    shown = {
        folder: [p for p in folder.glob("*.py") if p.name != "__init__.py"]
        for folder in {p.parent for p in modules()}
    }
    assert {str(folder): len(there) for folder, there in shown.items() if len(there) > 15} == {}
    lines = {str(p): p.read_text(encoding="utf-8").count("\n") for there in shown.values() for p in there}
    assert {path: count for path, count in lines.items() if count > 400} == {}
    assert statistics.median(lines.values()) <= 130


def loaded_by(code: str) -> set[str]:
    """Return every module that running ``code`` in a Python of its own loads, packages among them."""
    command = f"import sys\n{code}\nprint('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(done.stdout.split())


def import_all(room: str) -> str:
    found = [p for p in modules() if room_of(p) == room and "open_bench" not in p.name]
    names = (".".join(p.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for p in found)
    return "\n".join(f"import {name}" for name in names)


@pytest.mark.parametrize("room", HEADLESS)
def test_a_room_without_a_screen_does_not_load_textual(room: str) -> None:
    """Only the bench knows the screen."""
    assert "textual" not in loaded_by(import_all(room))


@pytest.mark.parametrize(
    "room", [r for r in HEADLESS if r not in ("store", "files", "watch", "commands", "cli", "paper")]
)
def test_a_core_room_loads_neither_the_store_nor_pint(room: str) -> None:
    """The functional core has no files, and pint is met only when a typed unit is."""
    assert not {"tinydb", "pint", "platformdirs", "rich"} & loaded_by(import_all(room))


def test_reading_an_open_session_needs_no_pint(tmp_path: Path) -> None:
    """A begun session keeps its plan as plain numbers."""
    from tests.fakes import FakeClock, begun

    begun(tmp_path, FakeClock())
    code = (
        "from dyeday.cli import main\n"
        f"assert main(['flags', '--data', {str(tmp_path)!r}]) == 0\n"
        f"assert main(['summary', '--data', {str(tmp_path)!r}]) == 0"
    )
    loaded = loaded_by(code)
    assert "pint" not in loaded
    assert "textual" not in loaded


def test_the_first_frame_waits_for_nothing_that_only_keys_need() -> None:
    """Questions, pages, the plan's reader, the forecast and its search are loaded after it."""
    loaded = loaded_by("import dyeday.cli, dyeday.commands.screens.open_bench, dyeday.bench.app")
    late = {
        *(f"dyeday.bench.actions.{name}" for name in ("bench_actions", "correct_actions", "reading_actions")),
        *(f"dyeday.bench.prompts.{name}" for name in ("prompts", "offer_prompt", "offers")),
        *(f"dyeday.bench.screens.{name}" for name in ("far_screen", "log_screen", "text_screens")),
        *("dyeday.ahead.forecast", "dyeday.ahead.kernel.problem", "dyeday.ahead.kernel.search"),
        *("dyeday.craft.water.acid_dose", "dyeday.plan.weigh_out", "dyeday.commands.usage.options"),
        *("dyeday.bench.view.time_line", "dyeday.ahead.advising.reasons", "dyeday.ahead.foreseen_steps"),
        *("dyeday.plan.reading.plan_reader", "dyeday.units", "pint", "csv", "html", "zoneinfo", "secrets", "sqlite3"),
    }
    assert late & loaded == set()
