"""Events and states in words, for the screen, the log and the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dyeday.plan.step_ids import stored_step
from dyeday.terms import AdviceIs, AlarmKind, Outcome, ReadingKind, RunEdge, Serves, State, Water
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.event import Event
from dyeday.track.timestamp import length_text, parse_utc, whole_min

READING_WORDS = {
    ReadingKind.PH: "pH", ReadingKind.BATH_C: "bath °C", ReadingKind.YARN_C: "yarn °C",
    ReadingKind.RINSE_C: "rinse water °C", ReadingKind.WEIGHT_G: "weight g", ReadingKind.SPUN_G: "spun weight g",
    ReadingKind.EYE: "bath looks", ReadingKind.JAR: "jar match", ReadingKind.ABSORBANCE: "absorbance",
    ReadingKind.CLOTH: "cloth", ReadingKind.SWATCH: "against the swatch",
}  # fmt: skip


STATE_WORDS = {State.SET_ASIDE: "set aside"}
"""the screen's words for states that are not those of the record"""


def state_word(batch: BatchRecord, state: State | None = None, layer: int | None = None) -> str:
    """Return the screen's word for a state: paint is paint, speckle or dye, as its layer is put on."""
    of = state or batch.state
    if of is State.PAINT:
        return batch.layer_of(layer or batch.layer).word
    own: str = of.value
    return STATE_WORDS.get(of, own)


def placed(unit: str | None, *, hangs: bool) -> str:
    """Return " in tray 1", " on pegs 1" where it ``hangs`` there to dry, nothing where there is no unit."""
    return f" {'on' if hangs else 'in'} {unit}" if unit else ""


def reading_text(name: ReadingKind, value: Any, where: str | None = None) -> str:
    """Return a reading as one would say it: "pH 4.6", "jar match 1:12, 0.4 L left"."""
    if name is ReadingKind.JAR and isinstance(value, Mapping):
        first = f" of {value['first_l']:g} L" if value.get("first_l") else ""
        return f"jar match 1:{value['match']:g}, {value['left_l']:g} L left{first}"
    if name is ReadingKind.ABSORBANCE and isinstance(value, Mapping):
        return f"absorbance {value['first']:g} in {value['first_l']:g} L, {value['left']:g} in {value['left_l']:g} L"
    place = f" in the {where}" if where else ""
    if name is ReadingKind.EYE:
        return f"bath {value}{place}"
    for unit in (" °C", " g"):
        if READING_WORDS[name].endswith(unit):
            return f"{READING_WORDS[name].removesuffix(unit)} {value:g}{unit}"
    return f"{READING_WORDS[name]} {value}"


def whose(event: Event) -> str:
    """Return the batches an event is about with a space after them, "01, 03 "; nothing where it is about none."""
    return f"{batches_text(event.batches)} " if event.batches else ""


def event_text(event: Event, day: Day | None = None) -> str:
    """Return what an event says, without its batch and its time; with ``day``, in that day's own words."""
    why = f" ({event.data['why']})" if event.data.get("why") else ""
    if day is not None:
        about = day.event(str(event.data.get("strikes") or event.data.get("corrects") or ""))
        if about is not None and event.kind in ("struck", "unstruck", "corrected"):
            changed = "" if event.kind != "corrected" else f": {_correction(event, about)}"
            return f"{event.kind} {whose(about)}{_said(about)}{changed}{why}"
        record = day.batches.get(event.batch or "")
        if event.kind == "moved" and record is not None:
            word = state_word(record, State(event.data["to"]), event.data.get("layer"))
            return _said(event).replace(f"to {event.data['to']}", f"to {word}", 1) + why
    return _said(event) + why


def new_batches(day: Day, before: Mapping[str, BatchRecord]) -> str:
    """Return "batch 06 Kelp Light" or such of the batches ``day`` has and ``before`` had not; parts are not new."""
    fresh = [batch for batch in day.live if batch.no not in before and batch.parent is None]
    if not fresh:
        return ""
    names = ", ".join(f"{batch.no} {batch.colourway.name}" for batch in fresh)
    return f"batch{'es' if len(fresh) > 1 else ''} {names}, at the foot of the list"


def _correction(event: Event, about: Event) -> str:
    """Return what a correction makes of the event it is ``about``: "60 mL acid", "of batch 04", "its time"."""
    new = {key: value for key, value in event.data.items() if key not in ("corrects", "why")}
    elsewhere = event.batch is not None and event.batch != about.batch
    try:
        changed = _said(about.corrected(new))
    except (KeyError, TypeError, ValueError):
        return _new_keys(event)  # refused when it was entered; a file edited by hand shows as it is
    said = [changed] if changed != _said(about) else []
    said += [f"of batch {event.batch}"] if elsewhere else []
    said += ["its time"] if "at" in new or not (new or elsewhere) else []
    return ", ".join(said) or _new_keys(event)


def _new_keys(event: Event) -> str:
    return ", ".join(f"{key} {value}" for key, value in event.data.items() if key not in ("corrects", "why"))


def _said(event: Event) -> str:
    data = event.data
    unit = placed(data.get("unit"), hangs=data.get("to") == State.DRY.value)
    match event.kind:
        case "load":
            return _load_text(data)
        case "moved":
            layer = f", layer {data['layer']}" if data.get("layer") else ""
            sold = f", {data['outcome']}" if data.get("outcome", Outcome.FIRST.value) != Outcome.FIRST.value else ""
            return f"to {data['to']}{layer}{sold}{unit}{_water_text(data)}"
        case "overdyed":
            return f"overdyed into {data['colourway']}"
        case "acid put in":
            return f"{_acid_text(data)}{unit}"
        case "pass":
            return f"pass {data['pass']} {_RAN[RunEdge(data['run'])]}{unit}"
        case "reading":
            return reading_text(ReadingKind(data["reading"]), data["value"], data.get("where"))
        case "used":
            return _amounts_text(data)
        case "unit":
            return f"{data['unit']} {data['is']}"
        case "placed":
            return f"moved to {data['unit']}{_water_text(data)}"
        case "split":
            return "split into " + ", ".join(f"{no} ({count})" for no, count in data["into"].items())
        case "counted":
            return f"counted {data['skeins']} skeins"
        case "tagged":
            return f"tag {data['tag']}"
        case "covered":
            return f"now {data['cover']}"
        case "note":
            return f"note: {data['note']}"
        case "alarm":
            kind, _, about = str(data["alarm"]).partition("-")
            about = about.rsplit("-", 1)[0] if kind == AlarmKind.TANK.value else about.split("-")[0]
            return f"{about} {kind} alarm {data['is']}" + (f" {data['minutes']:g} min" if data.get("minutes") else "")
        case "resolved":
            return f"{data['rule']} resolved"
        case "struck" | "unstruck":
            return f"{event.kind} {data['strikes']}"
        case "corrected":
            return f"corrected {data['corrects']}: {_new_keys(event)}"
        case "added":
            return f"order added: {data['order'].get('item', '')}"
        case "received":
            return f"came: {data['amount']:g} {data.get('measure', 'more')} of {data['name']}"
        case "chore":
            return f"done: {_chore_text(data)}"
        case "advice":
            return _advice_text(data)
        case "foreseen":
            likely, late = (length_text(_minutes_between(event, str(data[key]))) for key in ("hands_off", "late"))
            return f"hands off foreseen in {likely}, one day in ten {late}"
        case "carried":
            return f"came over from {data['from']}, {data['was']} there" if data.get("from") else "carried"
        case "clock stepped":
            seconds = float(data.get("seconds") or 0.0)
            by = f"{abs(seconds):.0f} s" if abs(seconds) < 60 else length_text(round(abs(seconds) / 60))
            return f"the clock was set {by} {'forward' if seconds > 0 else 'back'}"
        case "plan changed":
            return "the plan was changed"
        case _:
            return event.kind


_RAN = {RunEdge.START: "started", RunEdge.HEAT: "at heat", RunEdge.END: "ended"}


def _water_text(data: Mapping[str, Any]) -> str:
    return f", {_WATER[Water(data['water'])]}" if "water" in data else ""


_WATER = {Water.NEW: "new water", Water.KEPT: "water kept"}


def _acid_text(data: Mapping[str, Any]) -> str:
    amounts = [(data.get("acid_ml"), "mL"), (data.get("acid_g"), "g")]
    return " and ".join(f"{amount:g} {of}" for amount, of in amounts if amount is not None) + " acid"


def _load_text(data: Mapping[str, Any]) -> str:
    """Return a load's movement and all that was done with it: "to soak in tray 1, new water, 60 mL acid"."""
    layer = f", layer {data['layer']}" if data.get("layer") else ""
    to = f"to {data['to']}{layer}" if "to" in data else "loaded" if "run" not in data else ""
    place = placed(data.get("unit"), hangs=data.get("to") == State.DRY.value)
    run = RunEdge(data["run"]) if "run" in data else None
    ends = run is RunEdge.END
    heats = [f"heat {_heats_text(data['pass'])} {_RAN[run]}{place if ends or not to else ''}"] if run else []
    moved = [f"{to}{'' if ends else place}"] if to else []
    said = [*heats, *moved] if ends else [*moved, *heats]
    said += [data["cover"]] if "cover" in data else []
    said += ["tank filled"] if "tank" in data else []
    said += [_WATER[Water(data["water"])]] if "water" in data else []
    said += [_acid_text(data)] if "acid_ml" in data or "acid_g" in data else []
    return ", ".join(said)


def _heats_text(heats: int | Mapping[str, int]) -> str:
    if not isinstance(heats, Mapping):
        return str(heats)
    if len(set(heats.values())) == 1:
        return str(next(iter(heats.values())))
    return ", ".join(f"{heat} of {no}" for no, heat in heats.items())


def _minutes_between(event: Event, moment: str) -> int:
    return whole_min((parse_utc(moment) - event.at).total_seconds())


def batches_text(numbers: Sequence[str]) -> str:
    """Return batches in one phrase, many that follow one another as a stretch: "01, 03a, 05 to 60"."""
    stretches: list[list[str]] = []
    for no in numbers:
        last = stretches[-1][-1] if stretches else ""
        if last.isdigit() and no.isdigit() and int(no) == int(last) + 1:
            stretches[-1].append(no)
        else:
            stretches.append([no])
    parts = [f"{s[0]} to {s[-1]}" if len(s) >= STRETCH else ", ".join(s) for s in stretches]
    return ", ".join(parts)


STRETCH = 6
"""numbers that follow one another from which the first and the last are told: fewer are read off one by one"""


def _chore_text(data: Mapping[str, Any]) -> str:
    """Return a chore by its own name, with the layer or the lot it is of where it has one."""
    name = str(data["chore"])
    layer, lot = int(data.get("layer") or 0), data.get("lot")
    return f"{name}, layer {layer}" if layer > 1 else f"{name}, lot of {lot}" if lot else name


SERVES_WORDS = {Serves.TONIGHT: "all rinsed tonight", Serves.BY_STOP: "most rinsed by stop"}
"""the screen's words for what the forecast answers"""


def _advice_text(data: Mapping[str, Any]) -> str:
    what = AdviceIs(data["is"])
    if what is AdviceIs.SERVES:
        asked = SERVES_WORDS[Serves(data["serves"])] if data.get("serves") else ""
        return f"the advice is for {asked}"
    step = _chore_text(data) if data.get("chore") else stored_step(str(data.get("step", ""))).words
    if what is AdviceIs.INSTEAD:
        return f"this one instead: {step}"
    wait = f" for {data['minutes']:g} min" if data.get("minutes") else ""
    return f"not now{wait}: {step}"


def _amounts_text(data: Mapping[str, Any]) -> str:
    parts = []
    for key, word in (("used", "used"), ("left_over", "left over")):
        for name, amount in (data.get(key) or {}).items():
            if name == "powder" and isinstance(amount, Mapping):
                parts += [f"{word} {grams:g} g {dye} powder" for dye, grams in amount.items()]
            elif name == "extra" and isinstance(amount, Mapping):
                parts += [f"{word} {much:g} of {extra}" for extra, much in amount.items()]
            else:
                parts.append(f"{word} {amount:g} mL {name}")
    return ", ".join(parts)
