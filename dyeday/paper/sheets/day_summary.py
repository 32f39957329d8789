"""The page of the day: what to check, what is left for tomorrow, what was done, amounts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby, zip_longest
from typing import NamedTuple

from dyeday.craft.dye.measuring import figure
from dyeday.grouping import grouped
from dyeday.paper.layout.event_marks import EventMarks
from dyeday.paper.layout.sheet import Block, Paragraph, Part, Sheet, tick
from dyeday.paper.layout.sheet_text import text_pages
from dyeday.paper.sheets.day_tally import DyeUse, Tally, tally
from dyeday.plan.amount_text import acid_text
from dyeday.plan.batches import shares_text
from dyeday.terms import Outcome, State, TimerKind
from dyeday.text import batches_text, counted
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.bath_contents import acids_had
from dyeday.track.day.consumption import acid_by_plan
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, hanging_text, heat_in_all_min, heat_place, rounds_of, state_word
from dyeday.track.events.movements import AcidPutIn, Heated, Moved, UnitChanged
from dyeday.track.events.reading_text import reading_text
from dyeday.track.events.remarks import Noted
from dyeday.track.flags import Flag, flag_title, flag_words
from dyeday.track.timers.timers import doing_text, timer_of
from dyeday.track.timestamp import Moment, length_text, min_figure

MOST_PLAIN_PAGES = 2
"""longer texts start with the day at a glance; up to this, the page is one in HTML"""
MOST_NAMED = 60
"""batches named in one line of the day at a glance"""


def summary_sheet(day: Day, session_id: str, now: Moment, reorder: Sequence[str] = ()) -> Sheet:
    """Return the page of the day, a long one headed by a glance; ``reorder`` has lines of what to reorder."""
    sums = tally(day, now)
    plan = day.plan.session
    ended = f"{'closed' if day.closed else 'as at'} {day.time_text((day.closed or now).utc)}"
    blocks = tuple(_blocks(day, sums, now, reorder))
    about = f"{plan.date:%a %d %b %Y}, {ended}, session {session_id}"
    sheet = Sheet("summary", f"PAGE OF THE DAY  {plan.name}", about, blocks, dense=True)
    if len(text_pages(sheet)) <= MOST_PLAIN_PAGES:
        return sheet
    return replace(sheet, blocks=(Block(tuple(_glance(day, sums))), *blocks))


def _glance(day: Day, sums: Tally) -> Iterator[Part]:
    flagged = list(dict.fromkeys(no for flag in sums.open_flags for no in flag.batches or ("the day",)))
    yield Paragraph(f"{counted(len(sums.open_flags), 'flag')}{_named(flagged)}", lead="To check:")
    stay = [batch.no for batch in sums.unfinished if not batch.only_dries]
    left = f"{counted(len(stay), 'batch', 'batches')}{_named(stay)}{hanging_text(day)}"
    yield Paragraph(left, lead=f"{_not_done(day)}:")
    done = _named([batch.no for batch in sums.done])
    yield Paragraph(f"{sums.skeins_done} of {sums.skeins} pieces{done}", lead="Done:")


def _not_done(day: Day) -> str:
    return "Left for tomorrow" if day.closed else "Not done yet"


def _named(numbers: list[str]) -> str:
    more = f" and {len(numbers) - MOST_NAMED} more" if len(numbers) > MOST_NAMED else ""
    return f", {' '.join(numbers[:MOST_NAMED])}{more}" if numbers else ""


def _blocks(day: Day, sums: Tally, now: Moment, reorder: Sequence[str]) -> Iterator[Block]:
    marks = EventMarks(day)
    head = f"TO CHECK: {counted(len(sums.open_flags), 'flag')}"
    if not sums.open_flags:
        yield Block((Paragraph("Nothing to check."),), head)
    for numbers, flags in grouped((flag.batches, flag) for flag in sums.open_flags).items():
        whom = "; ".join(named(day.batches[no]) for no in numbers) or "The whole day"
        yield Block((Paragraph(whom, strong=True), *_flag_lines(day, flags)), head)
    left = counted(sum(not batch.only_dries for batch in sums.unfinished), "batch", "batches")
    stays = f"{_not_done(day).upper()}: {left}{hanging_text(day)}"
    if not sums.unfinished:
        yield Block((Paragraph("Nothing: all is done."),), stays)
    touches = ((_stays(day, batch, now), batch.no) for batch in sums.unfinished if _was_touched(batch))
    if touched := grouped((how, (no, left_min)) for (how, left_min), no in touches):
        texts = (f"{batches_text([no for no, _ in ones])} {how}{_left(ones)}" for how, ones in touched.items())
        yield Block((Paragraph("; ".join(texts)),), stays)
    if waiting := [batch for batch in sums.unfinished if not _was_touched(batch)]:
        text = "; ".join(f"{batch.no} {batch.colourway.name}" for batch in waiting)
        yield Block((Paragraph(text, lead="not started:"),), stays)
    broken = [(down, marks.of(UnitChanged, down.at.utc)) for down in sorted(_breakdowns(day))]
    if down := [f"{d.unit} since {day.time_text(d.at.utc)}{mark}{d.held}" for d, mark in broken if not d.back]:
        yield Block((Paragraph("; ".join(down), lead="still down:"),), stays)
    done = f"SO FAR: of {counted(sums.skeins, 'piece')} {sums.skeins_rinsed} rinsed, {sums.skeins_done} done"
    begun = grouped((_kind_of(day, batch, now), batch) for batch in day.unsplit if _was_touched(batch))
    for (yarn, rest), alike in begun.items():
        kind = f"{yarn}{' each' if alike[1:] else ''}{rest}"
        yield Block(tuple(_past_of(day, kind, alike, sums, marks, now)), done)
    if settled := tuple(_cleared(flag) for flag in sums.flags if flag.batch is None and flag.cleared):
        yield Block((Paragraph("The whole day", strong=True), *settled), done)
    yield Block(tuple(_amounts(day, sums)), "DYE AND ACID USED")
    if reorder:
        before = () if day.closed else (Paragraph("stock before this day's use"),)
        yield Block((*before, *(tick(line) for line in reorder)), "TO REORDER")
    notes = [(at, note, marks.of(Noted, at.utc)) for at, note in day.notes]
    notes += [(one.at, f"{one.unit} broke down{one.held}{one.back}", mark) for one, mark in broken if one.back]
    for at, text, mark in sorted(notes, key=lambda note: note[0].utc):
        yield Block((Paragraph(text, lead=day.time_text(at.utc) + mark),), "NOTES")
    if legend := marks.legend():
        yield Block((Paragraph(legend),), apart=True)


def _was_touched(batch: BatchRecord) -> bool:
    """Return whether anything of a batch is recorded here: a stay, a reading, acid, a note."""
    return bool(batch.stays or batch.readings or batch.acids or batch.notes or batch.state is not State.WAITING)


def named(batch: BatchRecord) -> str:
    """Return a batch by number, tag, colourway, base and pieces: "03 [red] Fern on Sock, 4 skeins"."""
    return f"{_tagged(batch)} {_yarn(batch)}"


def _tagged(batch: BatchRecord) -> str:
    return f"{batch.no} [{batch.tag}]" if batch.tag else batch.no


def _yarn(batch: BatchRecord) -> str:
    return f"{batch.colourway.name} on {batch.base.name}, {counted(batch.skeins, batch.base.form.value)}"


def _flag_lines(day: Day, flags: list[Flag]) -> Iterator[Paragraph]:
    for flag in flags:
        yield Paragraph(f"{flag_title(flag)}: {flag.why}", 1, day.time_text(flag.since))
        for word, text in flag.remarks[:1]:
            yield Paragraph("; ".join([text, *(f"{more} {what}" for more, what in flag.remarks[1:])]), 2, word)


def _stays(day: Day, batch: BatchRecord, now: Moment) -> tuple[str, float]:
    """Return what a batch that is not done is doing, and the minutes left of it, 0 where none are counted."""
    doing, timer = doing_text(day, batch, now), timer_of(day, batch, now)
    if timer is None or timer.left_s is None or timer.kind is TimerKind.WAIT:
        return doing, 0
    if timer.left_s > 0:
        return f"{doing}, ", timer.left_s / 60
    # How long harmless waiting has lasted is not useful on paper.
    return f"{doing}, {length_text(-timer.left_s / 60)} over" if timer.is_left_to_hands else f"{doing}, ready", 0


def _left(ones: list[tuple[str, float]]) -> str:
    lengths = dict.fromkeys(length_text(pick(left_min for _, left_min in ones)) for pick in (min, max))
    return f"{' to '.join(lengths)} left" if ones[0][1] else ""


def _kind_of(day: Day, batch: BatchRecord, now: Moment) -> tuple[str, str]:
    """Return what batches listed under one heading have in common: their yarn, and the rest."""
    outcome = f", sold as {batch.outcome.value}" if batch.outcome not in (None, Outcome.FIRST) else ""
    came = f", overdyed from {', '.join(batch.overdyed_from)}" if batch.overdyed_from else ""
    whose = shares_text(day.plan, batch.no, (batch.colourway.name, batch.base.name), batch.shares)
    lost = f", {batch.lost} more lost" if batch.lost > 0 else ""
    return _yarn(batch), f"{lost}{whose and ', for '}{whose}: {doing_text(day, batch, now)}{outcome}{came}"


def _past_of(
    day: Day, kind: str, alike: list[BatchRecord], sums: Tally, marks: EventMarks, now: Moment
) -> Iterator[Paragraph]:
    one = len(alike) == 1
    yield Paragraph(f"{_tagged(alike[0])} {kind}" if one else kind, strong=True)
    for batch in alike:
        text = _past(day, batch, marks, now)
        if text or not one:
            yield Paragraph(text, int(one), "" if one else _tagged(batch))
        yield from (_cleared(flag) for flag in sums.flags if batch.no in flag.batches and flag.cleared)
        for at, note in batch.notes:
            yield Paragraph(note + marks.of(Noted, at.utc, batch), 1, "note:")


def _past(day: Day, batch: BatchRecord, marks: EventMarks, now: Moment) -> str:
    steps = []
    for stay, following in zip_longest(batch.stays, batch.stays[1:]):
        word = state_word(batch, stay.state, stay.layer)
        recipe, number = batch.recipe_place(stay.layer)
        layer = f" layer {number}" if len(recipe) > 1 and stay.state in (State.PAINT, State.FIX) else ""
        # Its end is shown unless the next stay starts then.
        ends = stay.until is not None and (following is None or following.since.utc != stay.until.utc)
        end = f"-{day.time_text(stay.until.utc)}" if ends and stay.until else ""
        mark = marks.of(Moved, stay.since.utc, batch)
        steps.append(f"{word}{layer} {day.time_text(stay.since.utc)}{end}{mark}")
    in_one = groupby(batch.heats, key=lambda heat: (heat.layer, heat.heat_no, heat.unit))
    heats = [_heat_text(day, batch, [*stretches], now, marks) for _, stretches in in_one]
    readings = [
        f"{reading_text(r.name, r.value, r.where)} {day.time_text(r.at.utc)}{marks.of_reading(batch, r)}"
        for r in batch.readings
    ]
    acid = [
        acid_text(put.amount_ml, put.amount_g, kept=put.kept, share=put.shared)
        + ("" if put.kept else marks.of(AcidPutIn, put.at.utc))
        for put in acids_had(day, batch)
    ]
    parts = (("", ", ", steps), ("heat: ", ", ", heats), ("read: ", ", ", readings), ("acid: ", " + ", acid))
    return "; ".join(f"{lead}{joint.join(texts)}" for lead, joint, texts in parts if texts)


def _cleared(flag: Flag) -> Paragraph:
    return Paragraph(f"{flag_words(flag.rule.value)}: {flag.cleared.why if flag.cleared else ''}", 1, "cleared")


def _heat_text(day: Day, batch: BatchRecord, stretches: Sequence[Heat], now: Moment, marks: EventMarks) -> str:
    """Return a heat: "microwave 1 from 14:01, 2 + 2 min (4 planned, 2 dishes)", and what was given again after it."""
    first = stretches[0]
    planned = batch.planned_heat(first)
    wanted = heat_in_all_min(day.plan, batch, first.layer, first.heat_no)
    dishes = f", {wanted / planned.minutes:.0f} dishes" if wanted > planned.minutes else ""
    rounds = []
    for heats in filter(None, rounds_of(day.plan, stretches, wanted, now)):
        given = (f"{min_figure(at_heat_min(heat, now))}{_heat_marks(batch, heat, marks)}" for heat in heats)
        rounds.append((day.time_text(heats[0].start.utc), " + ".join(given)))
    (begun, had), *again = rounds
    more = "".join(f", again from {at}, {once_more} min" for at, once_more in again)
    so_far = " so far" if stretches[-1].is_on(now) else ""
    where, planned_text = heat_place(planned.how, first.unit), f"({wanted:g} planned{dishes})"
    at_heat = " at heat" if any(heat.at_heat_since.utc > heat.start.utc for heat in stretches) else ""
    return f"{where} from {begun}, {had} min{at_heat} {planned_text}{more}{so_far}"


def _heat_marks(batch: BatchRecord, heat: Heat, marks: EventMarks) -> str:
    ends = (heat.start, heat.heat_recorded_at, heat.end)
    signs = "".join(marks.of(Heated, at.utc, batch) for at in ends if at is not None)
    return "".join(dict.fromkeys(signs))


def _amounts(day: Day, sums: Tally) -> Iterator[Paragraph]:
    acid = [f"{amount:g} {unit}" for amount, unit in ((sums.acid_ml, "mL"), (sums.acid_g, "g")) if amount]
    strength = f" {day.plan.acid.strength_pct:g} %" if day.plan.acid.strength_pct else ""
    yield Paragraph(f"{day.plan.acid.kind.value}{strength}: {' and '.join(acid) or 'none recorded'}")
    for batch in day.batches.values():
        if planned := acid_by_plan(day, batch):
            amount = f"{figure(planned, 3)} {day.plan.acid.unit}"
            text = f"none recorded; the recipe's {amount} comes off the shelf in case you forgot to record it"
            yield Paragraph(f"{text}: if none went in, count the bottle", 1, f"{batch.no}:")
    if recorded := [f"{use.dye} {_recorded(use)}" for use in sums.dyes if use.used_ml or use.powder_g]:
        yield Paragraph(", ".join(recorded), lead="recorded:")
    by_recipe = [(use, f" ({use.by_recipe_ml:.0f} mL)" if use.by_recipe_ml else " as powder") for use in sums.dyes]
    if texts := [f"{use.dye} {use.by_recipe_g:.2f} g{how}" for use, how in by_recipe if use.by_recipe_g]:
        yield Paragraph(", ".join(texts), lead="not recorded, by recipe:")
    if not sums.dyes:
        earlier = [batch.no for batch in day.unsplit if batch.painted]
        none = f"no dye today; {batches_text(earlier)} had theirs before"
        yield Paragraph(none if earlier else "no dye put on yet")


def _recorded(use: DyeUse) -> str:
    powder = [f"{use.powder_g:g} g powder"] if use.powder_g else []
    return " and ".join([f"{use.used_ml:g} mL", *powder] if use.used_ml else powder)


class _Breakdown(NamedTuple):
    """When a unit broke down; ``held`` is ", with 01" or empty, ``back`` says since when it works again."""

    at: Moment
    unit: str
    held: str
    back: str


def _breakdowns(day: Day) -> Iterator[_Breakdown]:
    for unit in day.units.values():
        for n, (at, is_down) in enumerate(unit.downs):
            if is_down:
                places = ((b.no, place) for b in day.unsplit for place in b.placements if place.unit == unit.name)
                then = ((no, place) for no, place in places if place.since.utc <= at.utc)
                inside = [no for no, place in then if place.until is None or at.utc <= place.until.utc]
                held = f", with {batches_text(list(dict.fromkeys(inside)))} in it then" if inside else ""
                ups = (f"; works again since {day.time_text(up.utc)}" for up, down in unit.downs[n:] if not down)
                yield _Breakdown(at, unit.name, held, next(ups, ""))
