"""What the page says: what is next, alarms and clocks, and nothing of the people the yarn is for."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.forecast import forecast
from dyeday.store.sessions import Sessions
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import fold, until
from dyeday.track.timestamp import Moment, local
from dyeday.watch.page_values import page_values
from tests.fakes import HEAVY_DAY, FakeClock, Ids, begun
from tests.typed_events import make
from tests.watch.served import MOMENT, demo_day


def values(day: Day, now: Moment) -> dict[str, Any]:
    return page_values(day, now, advice(day, now, 6, None), None)


def left_min(value: dict[str, Any], now: Moment) -> float:
    return round((float(value["due_ms"]) / 1000 - now.utc.timestamp()) / 60, 3)


def test_it_tells_the_demo_afternoon_in_the_order_of_the_far_view(tmp_path: Path) -> None:
    """Heat of 30 min in steamer 2 is nine minutes over: first, with its unit; what is ready comes last."""
    _, day, now = demo_day(tmp_path)
    said = values(day, now)
    first = said["next"][0]
    assert (first["about"], first["word"], first["unit"], first["harms"]) == ("06", "heat off", "steamer 2", True)
    assert left_min(first, now) == -9
    places = [(c["about"], c["due_ms"] > said["now_ms"], c["harms"]) for c in said["clocks"]]
    running = [about for about, runs, _ in places if runs]
    assert places[0] == ("06", False, True)
    assert running == [c["about"] for c in sorted(said["clocks"], key=lambda c: c["due_ms"]) if c["about"] in running]
    assert [runs for _, runs, _ in places[1:]] == sorted((runs for _, runs, _ in places[1:]), reverse=True)
    assert said["alarms"] == []
    assert said["sounding"] == []


def test_an_alarm_is_shown_since_when_and_sounds_until_it_is_silenced(tmp_path: Path) -> None:
    """Steam is an alarm 15 min after its end (`steam_over`), and sounds again every 5 min (`re_alarm`)."""
    file, day, now = demo_day(tmp_path)
    now = now.later(7 * 60)
    said = values(day, now)
    (alarm,) = said["alarms"]
    assert alarm["about"] == "06"
    assert "steamer 2" in alarm["what"]
    assert alarm["since_ms"] == (MOMENT + timedelta(minutes=6)).timestamp() * 1000
    assert not alarm["silenced"]
    assert len(said["sounding"]) == 1
    later = values(day, now.later(5 * 60))["sounding"]
    assert later != said["sounding"]
    acknowledged: dict[str, Any] = {"is": "acknowledged"}
    silence = make("alarm", now, Ids(), alarm=said["sounding"][0].split(".0.")[0], **acknowledged)
    quiet = values(fold(file.plan, (*file.events, silence)), now.later(60))
    assert [one["silenced"] for one in quiet["alarms"]] == [True]


def test_instants_hold_whatever_the_wall_clock_is_set_to(tmp_path: Path) -> None:
    """What is left goes by the boot clock: a wall clock set forward by an hour ends no heat."""
    clock = FakeClock()
    file = begun(tmp_path, clock)
    ids = Ids()
    file.add([make("moved", clock(), ids, batch="01", to="soak", unit="tray 1")])
    day = fold(file.plan, file.events)
    clock.on(minutes=5)
    before = values(day, clock())["clocks"][0]
    before_left = before["due_ms"] - clock().utc.timestamp() * 1000
    clock.step(hours=1)
    after = values(day, clock())["clocks"][0]
    assert after["due_ms"] - clock().utc.timestamp() * 1000 == before_left


def test_no_name_of_a_customer_is_on_it(tmp_path: Path) -> None:
    """Items, parcels, tags, notes and the day's own name may name people; none is shown at any hour of the day."""
    text = HEAVY_DAY.read_text(encoding="utf-8")
    import tomllib

    plan = tomllib.loads(text)
    people = {str(plan["session"]["name"]), *(str(order["item"]) for order in plan["order"])}
    people |= {str(order["parcel"]) for order in plan["order"] if "parcel" in order}
    file, day, now = demo_day(tmp_path)
    ids = Ids()
    named = [
        make("tagged", now, ids, batch="06", tag="for Zelda"),
        make("note", now, ids, batch="06", note="for Zelda"),
    ]
    day = fold(file.plan, (*file.events, *named))
    assert len(people) > 5
    found = forecast(day, now, evaluations=30)
    for hours in range(-6, 12):
        at = now.later(hours * 3600)
        then = until(day, at.utc)
        for foreseen in (None, found):
            said = json.dumps(page_values(then, at, advice(then, at, 6, foreseen), foreseen))
            assert "Zelda" not in said
            assert [name for name in people if name in said] == []


def test_a_name_cannot_steer_the_page(tmp_path: Path) -> None:
    """Signs that steer a terminal are gone; the script writes names as text, never as markup."""
    text = HEAVY_DAY.read_text(encoding="utf-8").replace("Bonfire Ash", "<b>\\u001b[2J</b>")
    clock = FakeClock(datetime.fromisoformat("2026-05-09T08:00:00+00:00"))
    file = begun(tmp_path, clock, HEAVY_DAY, text)
    batch = next(b for b in file.plan.batches if "<b>" in b.colourway)
    file.add([make("moved", clock(), Ids(), batch=batch.no, to="soak", unit="tray 1")])
    day = fold(file.plan, Sessions(tmp_path, clock).open(file.about.id).events)
    said = json.dumps(values(day, clock()))
    assert "\\u001b" not in said
    assert "<b>" in said


def test_finish_is_the_forecasts_and_is_left_out_where_there_is_none(tmp_path: Path) -> None:
    _, day, now = demo_day(tmp_path)
    found = forecast(day, now, evaluations=30)
    assert values(day, now)["finish"] == ""
    shown_finish = str(page_values(day, now, advice(day, now, 6, found), found)["finish"])
    assert shown_finish.endswith(f"{found.finish:%H:%M}") or day.plan.session.zone is None
    assert page_values(replace(day, closed=now), now, [], found)["finish"] == ""


def test_finish_has_its_weekday_only_where_it_is_more_than_twelve_hours_away(tmp_path: Path) -> None:
    """As on every screen: half past midnight, looked at before midnight, is near."""
    _, day, now = demo_day(tmp_path)
    found = forecast(day, now, evaluations=30)
    late = local(found.finish, day.plan.session.zone).replace(hour=0, minute=30) + timedelta(days=1)
    said = []
    for before_h in (1, 13):
        at = Moment(late - timedelta(hours=before_h))
        said.append(str(page_values(day, at, [], replace(found, finish=late))["finish"]))
    assert said[0] == "00:30"
    assert said[1].endswith(" 00:30")
