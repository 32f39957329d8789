"""A test of life: any sound plan is begun, lived, shown everywhere, closed, carried and gone on with.

The ordinary run lives the same 60 days each time. To dig: `pytest tests/test_life.py --hypothesis-profile=dig`, with
`--hypothesis-seed=N` for other days.
"""

from __future__ import annotations

import io
import json
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from datetime import datetime, timedelta
from pathlib import Path

from hypothesis import HealthCheck, event, given, settings

from dyeday.ahead.forecast import forecast
from dyeday.bench.looks.themes import DARK
from dyeday.bench.screens.forecast_screen import rest_text
from dyeday.bench.screens.log_screen import log_lines
from dyeday.bench.screens.text_screens import BatchSeen, batch_text, flags_text
from dyeday.bench.view.attention import needing_attention
from dyeday.bench.view.bench_layout import Layout, Scene, StatusAndKeys, next_line
from dyeday.bench.view.bench_view import ViewCache
from dyeday.bench.view.far_text import FarStatus, far_text
from dyeday.bench.widgets.board import Canvas
from dyeday.cli import main
from dyeday.store.sessions import Sessions
from dyeday.track.flags import flags_of_batch, flags_of_day, open_flags
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment
from tests.lives import Life, lives

SIZES = ((24, 8), (80, 24), (160, 50))
SHEETS = ("summary", "weigh", "day", "labels", "packing", "cautions")
DIGS = settings.get_current_profile_name() == "dig"
few = settings(
    max_examples=2000 if DIGS else 40,
    derandomize=not DIGS,
    database=None,
    print_blob=True,
    suppress_health_check=list(HealthCheck),
)


class Studio:
    """A data folder and the commands on it, in this process; whatever is raised fails the test."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.data = folder / "data"
        self.out = self.err = ""

    def __call__(self, *args: str) -> int:
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            status = main([args[0], "--data", str(self.data), *args[1:]])
        self.out, self.err = out.getvalue(), err.getvalue()
        assert status in (0, 1), (args, status, self.err)
        assert status == 0 or self.err.strip(), f"{args} ended with 1 and said nothing"
        return status

    def answers(self, *args: str) -> None:
        """Run a command that a sound day always answers."""
        assert self(*args) == 0, (args, self.err)


def lived(studio: Studio, life: Life, start: str) -> datetime:
    """Put on record what happens, each entry or its refusal; return when the last was."""
    at = datetime.fromisoformat(start)
    page = studio.folder / "events.jsonl"
    for minutes, keys in life.happens:
        at += timedelta(minutes=minutes)
        page.write_text(json.dumps({"at": at.isoformat(), **keys}) + "\n", encoding="utf-8")
        studio("mark", "--from", str(page))
    return at


def shown(studio: Studio, at: datetime) -> None:
    """Show the newest session on every page, sheet and answer."""
    as_of = at.strftime("%Y-%m-%dT%H:%M")
    few_tries = ("--evaluations", "5", "--as-of", as_of)
    studio("ahead", *few_tries)
    studio.answers("ahead", "--json", *few_tries)
    json.loads(studio.out)
    for args in (("flags", "--all"), ("flags", "--json"), ("log",), ("log", "--json"), ("weigh",), ("sessions",)):
        studio(*args)
    for sheet in SHEETS:
        studio("sheet", sheet, "--text", str(studio.folder / "page.txt"), "--html", str(studio.folder / "page.html"))
    for args in (("parcels",), ("shelf",), ("times", "--day"), ("lots",), ("look-back",), ("summary", "--json")):
        studio(*args)
    on_the_bench(studio, at)


def on_the_bench(studio: Studio, at: datetime) -> None:
    newest = json_sessions(studio)[0]
    file = Sessions(studio.data).open(newest)
    day, now = fold(file.plan, file.events), Moment(at)
    found = forecast(day, now, evaluations=5)
    flags = {batch.no: flags_of_batch(day, batch, now) for batch in day.unsplit}
    flags[""] = flags_of_day(day, now)
    kept = ViewCache()
    seen = kept.view(day, now, flags, found)
    for width, height in SIZES:
        chosen = seen.rows[0].no if seen.rows else None
        beside = StatusAndKeys(chosen, (), "", "said", False, ["page on"], [("?", "keys")], "nothing", "", True, True)
        lines = Layout().lines(Scene(seen, beside, day, now, found, flags, Canvas(width, height, DARK)))
        assert len(lines) == height
        for item in seen.next_up:
            assert next_line(item, width, DARK).cell_len <= width
        far_text(needing_attention(day, now, kept.items), Canvas(width, height, DARK), FarStatus(True, 174))
        rest_text(day, found, Canvas(width, 16, DARK), [])
        log_lines(day, list(day.events), 0, height, width, DARK)
        flags_text(open_flags(day, now), width, DARK)
        for batch in day.unsplit:
            batch_text(BatchSeen(day, batch, flags[batch.no], now), width, DARK)


def json_sessions(studio: Studio) -> list[str]:
    studio.answers("sessions", "--json")
    return [str(each["id"]) for each in json.loads(studio.out)]


@given(lives())
@few
def test_a_sound_plan_of_any_names_is_lived_to_its_end_and_gone_on_with(life: Life) -> None:
    """Begun, lived, shown, closed, carried, checked, begun again, gone on with: refusals, no traceback."""
    with tempfile.TemporaryDirectory() as folder:
        studio = Studio(Path(folder))
        plan, again = studio.folder / "day.toml", studio.folder / "next.toml"
        plan.write_text(life.plan, encoding="utf-8")
        if studio("check", "--json", str(plan)):
            event("not sound")
            return
        event("sound")
        studio("check", str(plan))
        studio.answers("begin", str(plan))
        at = lived(studio, life, "2026-03-14T09:00:00+00:00")
        shown(studio, at)
        studio.answers("close", "--yes")
        studio("summary")
        if studio("carry", str(again)):
            event("nothing to carry")
            return
        studio.answers("check", str(again))
        studio.answers("begin", str(again))
        event("carried")
        on_the_bench(studio, lived(studio, life, "2026-03-15T09:00:00+00:00"))
        studio.answers("close", "--yes")
