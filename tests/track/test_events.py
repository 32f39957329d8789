"""Events in their JSON form: every kind read with and without its name, given back unchanged, or refused."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.serialize import to_plain
from dyeday.terms import ReadingKind
from dyeday.track.day.day_state import LATE_S, Event, in_order_of_recording, spread
from dyeday.track.event_keys import EventError
from dyeday.track.events.event_json import KINDS, read_event
from dyeday.track.folding.fold import refuse, refuse_all
from dyeday.track.timestamp import Moment
from dyeday.track.typed_entries import parts_of, typed_reading
from tests.track.days import THE_PLAN, Line, at, booted, day_of, events, heated, instant, now, plan_with, soaked
from tests.typed_events import make

LATER = now("20:00")

BY_KEYS: dict[str, Line] = {
    "load": at(
        "09:00", batches=["01", "03"], unit="tray 1", to="soak", water="new", acid_ml=60, heat_no=1, run="start"
    ),
    "moved": at("09:00", "03", to="soak", unit="tray 1", layer=1, why="early"),
    "overdyed": at("09:00", "03", colourway="Harbour"),
    "acid put in": at("09:00", "03", acid_ml=45.5),
    "pass": at("09:00", "03", heat_no=2, run="start", unit="oven 1"),
    "reading": at("09:00", "03", reading="eye", value="tinted", where="puddle"),
    "used": at("09:00", "03", used={"Navy": 40, "powder": {"Slow": 0.5}}, left_over={"Navy": 3}),
    "unit": at("09:00", unit="tray 1", is_="emptied"),
    "placed": at("09:00", "03", unit="tray 2"),
    "hours": at("09:00", stop="20:00"),
    "split": at("09:00", "03", into={"03a": 3, "03b": 1}),
    "counted": at("09:00", "03", skeins=4),
    "tagged": at("09:00", "03", tag="blue tie"),
    "covered": at("09:00", "03", cover="lidded"),
    "note": at("09:00", note="kettle broke"),
    "alarm": at("09:00", alarm="heat-03-1.1-103000", is_="shelved", minutes=10),
    "resolved": at("09:00", "03", rule="short-soak", why="soaked longer"),
    "struck": at("09:00", strikes="abc", why="twice"),
    "corrected": at("09:00", corrects="abc", value=4.5, why="misread"),
    "added": at("09:00", order={"item": "rush", "colourway": "Peat", "base": "Wool", "skeins": 2}),
    "received": at("09:00", thing="dye", name="Navy", amount=100, measure="g", why="by post"),
    "plan changed": at("09:00", plan=to_plain(THE_PLAN), renews="dry yarn"),
}
"""one of every kind that its keys alone tell"""
BY_NAME: dict[str, Line] = {
    "unstruck": at("09:00", strikes="abc", event="unstruck"),
    "clock stepped": at("09:00", event="clock stepped", seconds=-7200),
    "guard on": at("09:00", event="guard on"),
    "guard off": at("09:00", event="guard off"),
    "chore begun": at("09:00", "03", event="chore begun", chore="wrap", when="after paint", layer=1),
    "chore": at("09:00", "03", event="chore", chore="wrap after 1"),
    "advice": at("09:00", "03", event="advice", is_="not now", step="paint 1", minutes=30),
    "foreseen": at(
        "09:00",
        event="foreseen",
        hands_off="2026-04-18T19:05:00Z",
        late="2026-04-18T19:40:00Z",
        late_scale=1.5,
        rinsed=5,
        of=8,
    ),
    "closed": at("09:00", event="closed", why="tired"),
    "carried": at("09:00", event="carried", into_plan="sunday.toml"),
}
"""one of every kind that must be named"""
EVERY = {**BY_KEYS, **BY_NAME}


def test_there_is_an_example_of_every_kind() -> None:
    """None is left out here."""
    assert set(EVERY) == set(KINDS)


@pytest.mark.parametrize("kind", BY_KEYS)
def test_a_kind_is_known_by_its_keys(kind: str) -> None:
    """A script need not name it."""
    assert kind == read_event(BY_KEYS[kind], LATER).body.NAME


@pytest.mark.parametrize("kind", EVERY)
def test_a_kind_may_be_named(kind: str) -> None:
    """And its name in any usual spelling is the same event."""
    named = read_event({**EVERY[kind], "event": kind}, LATER)
    assert kind == named.body.NAME
    assert named == read_event({**EVERY[kind], "event": kind.replace(" ", "-").upper()}, LATER)
    assert named == read_event({**EVERY[kind], "event": kind.replace(" ", "_")}, LATER)


@pytest.mark.parametrize("kind", BY_KEYS)
def test_named_or_not_it_is_the_same_event(kind: str) -> None:
    """To the id."""
    assert read_event({**BY_KEYS[kind], "event": kind}, LATER) == read_event(BY_KEYS[kind], LATER)


@pytest.mark.parametrize("kind", EVERY)
def test_what_the_log_gives_is_taken_back_unchanged(kind: str) -> None:
    """Through JSON text, at another time, with every key it had."""
    first = read_event({**EVERY[kind], "boot_s": 12.5, "boot_id": "one"}, LATER)
    text = json.dumps(first.to_json())
    again = read_event(json.loads(text), now("40:00"))
    assert again == first
    assert json.dumps(again.to_json()) == text


@pytest.mark.parametrize(
    ("reading", "value"),
    [
        ("ph", 0), ("ph", 14), ("ph", 4.55),
        ("bath_c", -5), ("bath_c", 110), ("yarn_c", 22.5), ("rinse_c", 12),
        ("weight_g", 312.4), ("spun_g", 500),
        ("eye", "clear"), ("eye", "tinted"), ("eye", "coloured"),
        ("jar", {"match": 12, "left_l": 0.4}), ("jar", {"match": 1, "left_l": 0.4, "first_l": 2}),
        ("absorbance", {"first": 1.2, "first_l": 8, "left": 0.1, "left_l": 7.5}),
        ("cloth", "clean"), ("cloth", "faint"), ("cloth", "marked"), ("cloth", "4-5"), ("cloth", "1"),
        ("swatch", "match"), ("swatch", "bluer"),
    ],
)  # fmt: skip
def test_every_reading_is_taken_with_its_value_as_it_is(reading: str, value: Any) -> None:
    """To both ends of its range."""
    event = read_event(at("09:00", "03", reading=reading, value=value), LATER)
    assert (event.body.to_json()["reading"], event.body.to_json()["value"]) == (reading, value)


@pytest.mark.parametrize(
    "to", ["waiting", "soak", "paint", "fix", "cool", "rinse", "dry", "done", "set-aside", "scrapped"]
)
def test_every_state_can_be_moved_to(to: str) -> None:
    """As it is written."""
    assert read_event(at("09:00", "03", to=to), LATER).body.to_json()["to"] == to


def test_an_event_that_needs_only_a_time_is_recorded_when_it_was_read() -> None:
    """`at` alone will do; no boot clock is made up."""
    event = read_event(at("09:00", "03", to="soak"), LATER)
    assert (event.at, event.recorded_at) == (instant("09:00"), LATER.utc)
    assert (event.boot_s, event.boot_id) == (None, None)
    assert event.is_late


def test_an_event_is_late_when_it_was_recorded_more_than_a_minute_after() -> None:
    """At sixty seconds it is not."""
    event = read_event(at("09:00", "03", to="soak"), LATER)
    assert LATE_S == 60
    assert not replace(event, recorded_at=event.at + timedelta(seconds=60)).is_late
    assert replace(event, recorded_at=event.at + timedelta(seconds=60.001)).is_late


@pytest.mark.parametrize(
    "text", ["2026-04-18T09:05:00Z", "2026-04-18T11:05:00+02:00", "2026-04-18T09:05", "2026-04-18T05:05:00-04:00"]
)
def test_a_time_is_an_instant_whatever_zone_it_is_written_in(text: str) -> None:
    """Without a zone it is UTC; it is given back as UTC."""
    event = read_event({"at": text, "batch": "03", "to": "soak"}, LATER)
    assert event.at == instant("09:05")
    assert event.to_json()["at"] == "2026-04-18T09:05:00Z"


def test_an_event_without_an_id_gets_one_from_what_it_says() -> None:
    """The same line read again, later, is the same event: a file can be taken in twice."""
    line = at("09:00", "03", to="soak", unit="tray 1")
    assert read_event(line, LATER).id == read_event(dict(reversed(list(line.items()))), now("33:00")).id


@pytest.mark.parametrize(
    "other",
    [
        at("09:01", "03", to="soak", unit="tray 1"),
        at("09:00", "02", to="soak", unit="tray 1"),
        at("09:00", "03", to="paint", unit="tray 1"),
        at("09:00", "03", to="soak", unit="tray 2"),
        at("09:00", "03", to="soak"),
    ],
)
def test_events_that_say_something_else_have_other_ids(other: Line) -> None:
    """Another time, batch or key."""
    line = at("09:00", "03", to="soak", unit="tray 1")
    assert read_event(line, LATER).id != read_event(other, LATER).id


def test_equal_lines_of_one_file_can_be_told_apart() -> None:
    """The second of two is a twin."""
    line = at("09:00", "03", acid_ml=20)
    assert read_event(line, LATER).id != read_event(line, LATER, twin=1).id


def test_an_id_that_is_given_is_kept() -> None:
    """It came from a log of dyeday."""
    assert read_event({**at("09:00", "03", to="soak"), "id": "abc123"}, LATER).id == "abc123"


def test_text_that_could_steer_a_terminal_is_made_harmless() -> None:
    """An escape in a note is shown, not obeyed."""
    assert read_event(at("09:00", note="a\x1b[2Jb\nc"), LATER).body.to_json()["note"] == "a\\x1b[2Jb c"


REFUSED: list[tuple[object, str]] = [
    ("soak 03", "not a JSON object"),
    (["03", "soak"], "not a JSON object"),
    ({}, "nothing in it says what happened"),
    ({"at": "2026-04-18T09:00:00Z", "batch": "03"}, "nothing in it says what happened"),
    ({"batch": "03", "to": "soak"}, "it has no time"),
    ({"at": "nine", "batch": "03", "to": "soak"}, "at 'nine' is not a time"),
    ({"at": 9, "batch": "03", "to": "soak"}, "is not a time"),
    ({"at": "0001-01-01T00:00:00+14:00", "batch": "03", "to": "soak"}, "is not a time"),
    ({**at("09:00", "03", to="soak"), "recorded_at": "later"}, "recorded_at 'later' is not a time"),
    (at("09:00", to="soak"), "'moved' names no batch"),
    (at("09:00", acid_ml=20), "'acid put in' names no batch"),
    (at("09:00", tag="blue"), "'tagged' names no batch"),
    ({**at("09:00", to="soak"), "batch": 3}, "batch 3 is not text"),
    (at("09:00", "03", to="soak", unti="tray 1"), "has no key 'unti'.*unit"),
    (at("09:00", "03", to="sook"), "to cannot be 'sook'.*soak"),
    (at("09:00", "03", event="dunked"), "'dunked' is not an event"),
    (at("09:00", "03", event="moved"), "'moved' has no to"),
    (at("09:00", "03", event="acid put in"), "has no amount; add acid_ml or acid_g"),
    (at("09:00", "03", acid_ml=-1), "acid_ml cannot be -1; write a number from 0 to"),
    (at("09:00", "03", acid_ml=math.nan), "cannot be .*; write a number from"),
    (at("09:00", "03", acid_g=math.inf), "cannot be .*; write a number from"),
    (at("09:00", "03", acid_ml=True), "cannot be .*; write a number from"),
    (at("09:00", "03", acid_ml="20"), "cannot be .*; write a number from"),
    (at("09:00", "03", heat_no=0, run="start"), "pass cannot be .*; write a whole number from"),
    (at("09:00", "03", heat_no=1.5, run="start"), "pass cannot be .*; write a whole number from"),
    (at("09:00", "03", heat_no=1), "'pass' has no run"),
    (at("09:00", "03", heat_no=1, run="stop"), "run cannot be 'stop'"),
    (at("09:00", "03", reading="ph"), "'reading' has no value"),
    (at("09:00", "03", reading="acidity", value=4), "reading cannot be 'acidity'"),
    (at("09:00", "03", reading="ph", value=14.1), "write a number from 0 to 14"),
    (at("09:00", "03", reading="ph", value=-0.1), "write a number from 0 to 14"),
    (at("09:00", "03", reading="ph", value=math.nan), "write a number from 0 to 14"),
    (at("09:00", "03", reading="bath_c", value=110.1), "write a number from -5 to 110"),
    (at("09:00", "03", reading="yarn_c", value=-5.1), "write a number from -5 to 110"),
    (at("09:00", "03", reading="weight_g", value=0), "weight_g"),
    (at("09:00", "03", reading="eye", value="murky"), "eye cannot be 'murky'"),
    (at("09:00", "03", reading="eye", value="clear", where="jug"), "where cannot be 'jug'"),
    (at("09:00", "03", reading="cloth", value="6"), "cloth cannot be '6'"),
    (at("09:00", "03", reading="swatch", value="nicer"), "swatch cannot be 'nicer'"),
    (at("09:00", "03", reading="jar", value=12), "jar needs match, left_l"),
    (at("09:00", "03", reading="jar", value={"match": 12}), "jar needs match, left_l"),
    (at("09:00", "03", reading="jar", value={"match": 0.9, "left_l": 1}), "jar match"),
    (at("09:00", "03", reading="jar", value={"match": 2, "left_l": 1, "litres": 2}), "jar has no 'litres'"),
    (at("09:00", "03", reading="absorbance", value={"first": 1, "left": 0.1}), "absorbance needs"),
    (at("09:00", "03", used={}), "used is not a table of amounts"),
    (at("09:00", "03", used={"Navy": -4}), "used Navy"),
    (at("09:00", "03", used="40 mL"), "used is not a table of amounts"),
    (at("09:00", unit="tray 1", is_="broken"), "is cannot be 'broken'"),
    (at("09:00", "03", into={"03a": 3}), "a split needs two parts or more"),
    (at("09:00", "03", into={"3-a": 3, "03b": 1}), "'3-a' is not a batch number"),
    (at("09:00", "03", into={"03a": 3, "03b": 0}), "into 03b"),
    (at("09:00", "03", skeins=0), "skeins"),
    (at("09:00", "03", cover="foil"), "cover cannot be 'foil'"),
    (at("09:00", note=7), "note is not a text"),
    (at("09:00", note="x" * 1001), "at most 1000 characters"),
    (at("09:00", alarm="heat", is_="snoozed"), "is cannot be 'snoozed'"),
    (at("09:00", alarm="heat", is_="shelved", minutes=16), "write a number from 0 to 15"),
    (at("09:00", "03", event="resolved", rule="short-soak"), "'resolved' has no why"),
    (at("09:00", event="struck"), "'struck' has no strikes"),
    (at("09:00", order="a rush"), "order is not a table"),
    (at("09:00", thing="solution", name="Navy", amount=100), "thing cannot be 'solution'"),
    (at("09:00", thing="dye", name="Navy"), "'received' has no amount"),
    (at("09:00", thing="dye", name="Navy", amount=-1), "amount cannot be -1"),
    (at("09:00", "03", to="done", outcome="third"), "outcome cannot be 'third'"),
    ({**at("09:00", "03", to="soak"), "id": ""}, "its id is not a short text"),
    ({**at("09:00", "03", to="soak"), "id": "x" * 65}, "its id is not a short text"),
    ({**at("09:00", "03", to="soak"), "boot_s": "5"}, "boot_s '5' is not a number"),
    ({**at("09:00", "03", to="soak"), "boot_s": math.nan}, "boot_s nan is not a number"),
    ({**at("09:00", "03", to="soak"), "boot_id": 5}, "boot_id is not text"),
]


@pytest.mark.parametrize(("raw", "message"), REFUSED, ids=[f"{n}" for n in range(len(REFUSED))])
def test_what_cannot_be_is_refused_and_says_what_would_be_right(raw: object, message: str) -> None:
    """What is wrong, a semicolon, what would be right."""
    with pytest.raises(EventError, match=message) as refused:
        read_event(raw, LATER)
    assert refused.value.what
    assert refused.value.hint
    assert str(refused.value) == f"{refused.value.what}; {refused.value.hint}"


def test_a_dye_may_be_called_as_the_key_of_another_measure() -> None:
    """A number under the key `powder` is solution, of a dye of that name; where there is none, it is refused."""
    used = at("10:00", "01", used={"powder": 40})
    (event,) = events([used])
    with pytest.raises(EventError, match="the plan has no dye 'powder'"):
        refuse(day_of([]), event)
    day = day_of([used], plan_with(more='[[dye]]\nname = "powder"'))
    assert dict(day.batches["01"].used_ml) == {"powder": 40}
    assert event.text(day) == "used 40 mL powder"


@pytest.mark.parametrize("since", [[], [at("11:16", note="tea")]])
def test_an_end_by_hand_overrules_the_microwaves_own_whatever_was_entered_since(since: list[Line]) -> None:
    """Its two minutes from 11:10 are over; an entry says that it ran until 11:20."""
    lines = [*soaked("04"), at("11:10", "04", to="fix"), at("11:10", "04", heat_no=1, run="start", unit="oven 1")]
    end = at("11:20", "04", heat_no=1, run="end")
    refuse(day_of([*lines, *since]), events([end])[0])
    (heat,) = day_of([*lines, *since, end]).batches["04"].heats
    assert heat.end is not None
    assert (heat.end.utc, heat.timed_out) == (instant("11:20"), False)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)
OF_KINDS = {key for kind in KINDS.values() for key in kind.JSON_KEYS}
KEYS = st.sampled_from(sorted(OF_KINDS | {"event", "at", "batch", "id"}))


@given(st.dictionaries(KEYS, JSON, max_size=5) | JSON)
def test_any_json_at_all_is_an_event_or_refused_in_words(raw: object) -> None:
    """Never another error, and what is taken can be given and taken back."""
    try:
        event = read_event(raw, LATER)
    except EventError as refused:
        assert refused.hint
        return
    assert read_event(event.to_json(), now("40:00")) == event


def test_an_event_made_at_the_bench_has_the_moment_and_its_boot_clock() -> None:
    """Now, or some minutes ago by both clocks."""
    event = make("moved", booted("09:05"), lambda: "id1", batch="03", to="soak", unit=None)
    assert (event.at, event.boot_s, event.recorded_at, dict(event.body.to_json())) == (
        instant("09:05"),
        9 * 3600 + 300,
        instant("09:05"),
        {"to": "soak"},
    )
    ago = make("moved", booted("09:05"), lambda: "id2", batch="03", minutes_ago=3, to="soak")
    assert (ago.at, ago.boot_s, ago.recorded_at) == (instant("09:02"), 9 * 3600 + 120, instant("09:05"))
    with pytest.raises(EventError, match="sook"):
        make("moved", booted("09:05"), lambda: "id3", batch="03", to="sook")


def test_events_recorded_in_one_go_keep_their_order() -> None:
    """A microsecond apart, so that sorting by recording gives them back as they were."""
    in_one_go = events(soaked())
    apart = spread(in_one_go)
    assert [event.id for event in in_order_of_recording(reversed(apart))] == [event.id for event in in_one_go]


DAY = day_of([*soaked(), *heated(), at("12:00", "02", into={"02a": 2, "02b": 1})])


def event(line: Line) -> Event:
    return read_event(line, LATER)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (at("13:00", "77", to="soak"), "there is no batch '77'"),
        (at("13:00", "7" * 80, to="soak"), f"there is no batch '{'7' * 38}…;"),
        (at("13:00", "01", to="rinse", unit="sink 2"), "the kit has no unit 'sink 2'"),
        (at("13:00", "02", to="soak"), "batch 02 was split; name one of 02a, 02b"),
        (at("13:00", "01", to="paint", layer=2), "'Harbour' has no layer 2"),
        (at("13:00", "01", heat_no=2, run="start"), "has no heat 2"),
        (at("13:00", "01", heat_no=1, run="end"), "no heat is on for batch 01"),
        (at("13:00", "04", heat_no=1, run="heat"), "a microwave is at full heat at once"),
        (at("13:00", "01", colourway="Harbor"), "the plan has no colourway 'Harbor'.*Harbour"),
        (at("13:00", "01", into={"01a": 3, "01b": 1}), "batch 01 has 3 skeins, the parts have 4"),
        (at("13:00", "01", into={"02a": 2, "01b": 1}), "batch 02a exists already"),
        (at("13:00", "03", reading="jar", value={"match": 1, "left_l": 9}), "more than was put in"),
        (at("13:00", "01", left_over={"powder": {"Navy": 2}}), "more Navy is left over than was used; record what"),
        (at("13:00", "01", used={"Navy": 40}, left_over={"Navy": 41}), "more Navy is left over than was used"),
        (at("13:00", strikes="unknown"), "no event has the id 'unknown'"),
        (at("13:00", "01", rule="too-blue", why="x", event="resolved"), "'too-blue' is not a flag of a batch"),
        (at("13:00", "01", rule="short-stock", why="x", event="resolved"), "'short-stock' is not a flag of a batch"),
        (at("13:00", rule="short-soak", why="x", event="resolved"), "'short-soak' is not a flag of the whole day"),
        (at("13:00", order={"item": "x"}), "the order cannot be read"),
        (
            at("13:00", order={"item": "x", "colourway": "Mud", "base": "Wool", "skeins": 1}),
            "the plan has no colourway 'Mud'",
        ),
        (at("13:00", order={"item": "x", "colourway": "Peat", "base": "Wool", "skeins": 0}), "one skein or more"),
    ],
)
def test_what_cannot_be_true_of_the_day_is_refused(line: Line, message: str) -> None:
    """Names that do not exist, sums that do not add up, readings that cannot be."""
    with pytest.raises(EventError, match=message):
        refuse(DAY, event(line))


@pytest.mark.parametrize(
    "line",
    [
        at("13:00", "01", to="rinse", unit="sink 1"),
        at("13:00", "01", into={"01a": 2, "01b": 1}),
        at("13:00", "02", note="split for want of room"),
        at("13:00", "01", heat_no=1, run="start", unit="steamer 2"),
        at("13:00", "03", reading="jar", value={"match": 12, "left_l": 7}),
        at("13:00", "01", rule="short-soak", why="x", event="resolved"),
        at("13:00", rule="short-stock", why="x", event="resolved"),
    ],
)
def test_what_can_be_true_of_the_day_is_not_refused(line: Line) -> None:
    """No complaint."""
    refuse(DAY, event(line))


def test_the_end_of_another_heat_than_the_one_that_is_on_is_refused() -> None:
    day = day_of([*soaked("04"), at("10:30", "04", heat_no=1, run="start", unit="oven 1")])
    with pytest.raises(EventError, match="heat 1 is on for batch 04; end heat 1"):
        refuse(day, event(at("10:31", "04", heat_no=2, run="end")))


def test_parts_of_a_split_are_typed_in_whole_skeins() -> None:
    batch = DAY.batches["01"]
    assert parts_of("2 1", batch) == parts_of(" 2, 1 ", batch) == {"01a": 2, "01b": 1}
    assert parts_of("1", batch) == {"01a": 1, "01b": 2}
    for text in ("1.5 1", "0 3", "2 2", "3", "0", "4"):
        with pytest.raises(ValueError, match="01 has 3 skeins; write parts that add up to it"):
            parts_of(text, batch)


def test_a_part_from_three_splits_is_not_split_again() -> None:
    lines = [at("10:00", "01", event="counted", skeins=6)]
    for n, no in enumerate(("01", "01a", "01aa")):
        lines.append(at("10:00", no, into={f"{no}a": 5 - n, f"{no}b": 1}))
    many = day_of(lines).batches["01aaa"]
    with pytest.raises(ValueError, match="01aaa is from three splits and cannot be split again"):
        parts_of("1 1", many)


@pytest.mark.parametrize(
    ("reading", "value", "form"),
    [
        ("jar", {"match": 1, "left_l": 9, "first_l": 3}, "litres at first: 16 2.5 3"),
        ("absorbance", {"first": 0.1, "first_l": 3, "left": 0.9, "left_l": 2.5}, "first, litres, left, litres"),
    ],
)
def test_a_look_that_shows_more_dye_than_was_put_in_is_refused_with_its_own_form(
    reading: str, value: dict[str, float], form: str
) -> None:
    with pytest.raises(EventError, match=form):
        refuse(day_of(soaked("03")), event(at("10:30", "03", reading=reading, value=value)))


def test_a_correction_is_held_to_what_it_corrects() -> None:
    """A key its event has not, a value it cannot have, or nothing new at all is refused; a new value is not."""
    day = day_of([{**at("09:00", "01", reading="ph", value=4.9), "id": "ph"}])
    for line, message in (
        (at("13:00", "01", corrects="ph", value=15), "write a number from 0 to 14"),
        (at("13:00", "01", corrects="ph", vlaue=4.5), "has no key 'vlaue'"),
        (at("13:00", "01", corrects="ph", value=4.9), "changes nothing"),
        (at("13:00", "77", corrects="ph", value=4.5), "there is no batch '77'"),
    ):
        with pytest.raises(EventError, match=message):
            refuse(day, event(line))
    refuse(day, event(at("13:00", "01", corrects="ph", value=4.5)))
    refuse(day, event(at("08:30", "01", corrects="ph")))


def test_a_heat_that_begins_once_more_says_whether_it_is_the_next_dish() -> None:
    """Dish after dish in a microwave, if it takes more than one; a steaming that was broken off goes on."""
    bursts = [
        at(f"11:0{n}", "04", heat_no=1, run=run, unit="oven 1") for n, run in enumerate(["start", "end", "start"])
    ]
    one_dish = day_of([at("09:00", "04", skeins=2), *bursts])
    assert one_dish.events[-1].text(one_dish) == "1st heat started in oven 1, again"
    day = day_of([*bursts, *heated(), at("11:40", "01", heat_no=1, run="start", unit="steamer 1")])
    said = {event.at.strftime("%H:%M ") + (event.batch or ""): event.text(day) for event in day.events}
    assert said["11:00 04"] == "1st heat started in oven 1"
    assert said["11:02 04"] == "1st heat started in oven 1, next dish"
    assert said["11:40 01"] == "1st heat started in steamer 1, again"


def test_many_events_at_once_are_each_held_against_the_day_before_them() -> None:
    """In any order of lines: the end of a heat is fine after its start, and refused without one."""
    heat = [event(line) for line in (*heated()[:3], at("11:21", "01", to="cool"))]
    assert refuse_all(THE_PLAN, [], list(reversed(heat)), []) == {}
    lonely = heat[2]
    complaints = refuse_all(THE_PLAN, [], [lonely], [])
    assert list(complaints) == [lonely.id]
    assert "no heat is on" in str(complaints[lonely.id])


def test_events_from_a_log_of_dyeday_are_only_held_to_their_names() -> None:
    """What they follow may have been undone later."""
    lonely = event(heated()[2])
    assert refuse_all(THE_PLAN, [], [lonely], [lonely.id]) == {}
    unknown = event(at("09:00", "77", to="soak"))
    assert list(refuse_all(THE_PLAN, [], [unknown], [unknown.id])) == [unknown.id]


def test_a_moment_earlier_or_later_is_so_by_both_clocks() -> None:
    """And a moment without a boot clock gets none."""
    assert booted("09:05").earlier(300) == booted("09:00")
    assert booted("09:05").later(300) == booted("09:10")
    assert Moment(instant("09:05")).later(60) == Moment(instant("09:06"))


def test_a_cloth_typed_as_a_colour_meters_figures_becomes_its_grade() -> None:
    # ISO 105-A04:1989, from memory: ΔE_GS 3.11, rating 4.29.
    assert typed_reading(ReadingKind.CLOTH, "94 0 3 / 91 2.5 1") == "4-5"
    with pytest.raises(ValueError, match=r"L\* is 194"):
        typed_reading(ReadingKind.CLOTH, "194 0 3 / 91 2.5 1")
