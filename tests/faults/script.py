"""A scripted day and its model: what each entry does, written a second time without the fold, the file or TinyDB."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store.records.taking_in import take_in
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.track.day.day_state import Event
from dyeday.track.folding.fold import fold
from tests.fakes import MORNING, SHORT_DAY, FakeClock
from tests.typed_events import make

STEPS = ("soak", "paint", "fix", "cool", "rinse", "dry")
PLAN_TEXT = SHORT_DAY.read_text(encoding="utf-8")
PLAN = read_plan(PLAN_TEXT)
NUMBERS = [batch.no for batch in fold(PLAN, ()).unsplit]


def entries() -> list[Event]:
    """Return the day's entries in order, each with an id of its own, a minute apart."""
    found: list[Event] = []
    clock = FakeClock()

    def put(kind: str, batch: str, **data: Any) -> None:
        clock.on(1)
        number = len(found)
        found.append(make(kind, clock(), lambda: f"entry{number:04d}", batch=batch, **data))

    for step in STEPS:
        for batch in NUMBERS:
            put("moved", batch, to=step)
            if step == "soak":
                put("acid put in", batch, acid_ml=40.0)
            if step == "cool":
                put("reading", batch, reading="ph", value=4.6)
            put("note", batch, note=f"{batch} {step}: “tie dry” ✓")
    return found


ENTRIES = entries()


@dataclass
class Model:
    """What the day is after some entries, kept the simplest way there is."""

    states: dict[str, str] = field(default_factory=lambda: dict.fromkeys(NUMBERS, "waiting"))
    acid_ml: dict[str, float] = field(default_factory=dict)
    notes: dict[str, int] = field(default_factory=dict)

    def take(self, event: Event) -> None:
        batch = event.batch or ""
        if event.body.NAME == "moved":
            self.states[batch] = str(event.body.to_json()["to"])
        elif event.body.NAME == "acid put in":
            self.acid_ml[batch] = self.acid_ml.get(batch, 0.0) + float(event.body.to_json()["acid_ml"])
        elif event.body.NAME == "note":
            self.notes[batch] = self.notes.get(batch, 0) + 1


def model_of(count: int) -> Model:
    """Return the model after the first ``count`` entries."""
    model = Model()
    for event in ENTRIES[:count]:
        model.take(event)
    return model


def is_as_the_model(session: SessionFile) -> bool:
    """Tell whether a session's file holds the script's first entries, in order, and its day is what they make."""
    count = len(session.events)
    if [event.id for event in session.events] != [event.id for event in ENTRIES[:count]]:
        return False
    day, model = fold(session.plan, session.events), model_of(count)
    return (
        {no: batch.state.value for no, batch in day.batches.items()} == model.states
        and {no: sum(a.amount_ml for a in b.acids) for no, b in day.batches.items() if b.acids} == model.acid_ml
        and {no: len(b.notes) for no, b in day.batches.items() if b.notes} == model.notes
    )


def started(folder: Path, count: int = 0) -> SessionFile:
    """Return a session in ``folder`` with the script's first ``count`` entries on record."""
    clock = FakeClock()
    clock.utc = MORNING - timedelta(minutes=5)
    session = Sessions(folder, clock).begin(PLAN, Path("short-day.toml"), PLAN_TEXT, clock())
    if count:
        session.add(ENTRIES[:count])
    return session


def finished(folder: Path) -> SessionFile:
    """Return a session whose whole day is on record and whose batches are done, not closed yet."""
    session = started(folder, len(ENTRIES))
    clock = FakeClock()
    clock.on(600)
    ids = iter([f"last{no}" for no in NUMBERS])
    session.add([make("moved", clock(), lambda: next(ids), batch=no, to="done") for no in NUMBERS])
    return session


def close(session: SessionFile) -> None:
    """Close a day as commands and the bench do."""
    session.add([closing()])
    take_in(session)


def closing() -> Event:
    """Return the entry that closes the day of `finished`."""
    clock = FakeClock()
    clock.on(700)
    return make("closed", clock(), lambda: "closing")


def again(folder: Path) -> SessionFile:
    """Return the one session in ``folder``, opened as another shell would after a plug was pulled."""
    found = Sessions(folder).newest(unfinished=False)
    assert found is not None
    return found
