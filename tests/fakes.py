"""The fakes every test shares: a clock that is set, ids that count, a session in a folder of the test's own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.track.timestamp import Moment

ROOT = Path(__file__).resolve().parent.parent
SHORT_DAY = ROOT / "examples" / "short-day.toml"
HEAVY_DAY = ROOT / "examples" / "heavy-day.toml"
HOME_DAY = ROOT / "examples" / "home-day.toml"
ACCEPTANCE_DAY = ROOT / "tests" / "acceptance" / "day.toml"
MORNING = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)


@dataclass
class FakeClock:
    """A clock that stands until it is moved; the boot clock moves with it."""

    utc: datetime = MORNING
    boot_s: float = 1000.0
    boot_id: str = "boot"

    def __call__(self) -> Moment:
        return Moment(self.utc, self.boot_s, self.boot_id)

    def on(self, minutes: float = 0.0, seconds: float = 0.0) -> None:
        """Let time pass."""
        self.utc += timedelta(minutes=minutes, seconds=seconds)
        self.boot_s += minutes * 60 + seconds

    def step(self, hours: float) -> None:
        """Set the wall clock by hand: no time passes."""
        self.utc += timedelta(hours=hours)


@dataclass
class Ids:
    """Ids that count up, so that a failing test names the event."""

    numbers: Iterator[int] = field(default_factory=lambda: iter(range(1, 1_000_000)))

    def __call__(self) -> str:
        return f"event{next(self.numbers):04d}"


@dataclass
class Ring:
    """A bell that counts."""

    times: int = 0

    def __call__(self) -> None:
        self.times += 1


def impatient(text: str) -> str:
    """Return a plan's text with alarms of its steam after five minutes, as its baths have them."""
    return text if "[rules]" in text else f'{text}\n[rules]\nsteam_over = "5 min"\nreserve = "5 %"\n'


def begun(folder: Path, clock: FakeClock, plan: Path = SHORT_DAY, text: str | None = None) -> SessionFile:
    """Return a session of ``plan`` begun in ``folder``."""
    said = plan.read_text(encoding="utf-8") if text is None else text
    return Sessions(folder, clock).begin(read_plan(said), plan, said, clock())


def zoned(zone: str) -> str:
    """Return the text of the short day in a time zone of its own."""
    return SHORT_DAY.read_text(encoding="utf-8").replace("[session]\n", f'[session]\nzone = "{zone}"\n', 1)
