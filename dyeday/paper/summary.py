"""The end-of-day page: what is in doubt first, then what stays for tomorrow, then what was done, and the amounts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.paper.page import WIDTH, Block, paginate, wrap
from dyeday.paper.tally import DyeUse, Tally, tally
from dyeday.paper.when import clock_on, span
from dyeday.track.clocks import clock_of
from dyeday.track.day import Day
from dyeday.track.flags import Flag
from dyeday.track.fold import effective
from dyeday.track.instant import Now, whole_min
from dyeday.track.progress import acids_seen, at_heat_min
from dyeday.track.rates import rates
from dyeday.track.record import BatchRecord, Run
from dyeday.track.told import reading_text, state_word

LATE, CORRECTED = "~", "*"


def summary_pages(day: Day, session_id: str, now: Now) -> list[str]:
    """Return the day's page, or pages, as texts of at most 60 lines of 76 columns."""
    sums = tally(day, now)
    zone = day.plan.session.zone
    start = first_moment(day, now)
    plan = day.plan.session
    ended = (
        f"closed {clock_on(day.closed.utc, zone, start)}" if day.closed else f"as at {clock_on(now.utc, zone, start)}"
    )
    title = [
        *wrap(f"DAY'S END  {plan.name}", WIDTH),
        f"{plan.date:%a %d %b %Y}, session {session_id}, {ended}",
    ]
    return paginate(title, _blocks(day, sums, now, start))


def first_moment(day: Day, now: Now) -> datetime:
    """Return when the first thing happened, which later times are told from; now where nothing has."""
    return min((event.at for event in day.events), default=now.utc)


def _blocks(day: Day, sums: Tally, now: Now, start: datetime) -> Iterator[Block]:
    marks = Marks(day)
    head = f"IN DOUBT: {_count(len(sums.open_flags), 'flag')}"
    if not sums.open_flags:
        yield Block(("Nothing open.",), head)
    for batch in day.live:
        mine = [flag for flag in sums.open_flags if flag.batch == batch.no]
        if mine:
            yield Block(tuple(_doubt(day, batch, mine, start)), head)
    stays = f"STAYS FOR TOMORROW: {_count(len(sums.unfinished), 'batch', 'batches')}"
    if not sums.unfinished:
        yield Block(("Nothing: all is done.",), stays)
    for batch in sums.unfinished:
        yield Block(tuple(_stays(day, batch, now)), stays)
    done = f"BATCHES: {sums.skeins_done} of {sums.skeins} pieces done"
    for batch in day.live:
        resolved = [flag for flag in sums.flags if flag.batch == batch.no and flag.resolved]
        yield Block(tuple(_story(day, batch, resolved, marks, now, start)), done)
    yield Block(tuple(_amounts(day, sums)), "DYE AND ACID USED")
    yield Block(tuple(_rates(day, now, start)), "PROMPTS AND ALARMS")
    if day.notes:
        zone = day.plan.session.zone
        lines = [
            line
            for at, note in day.notes
            for line in wrap(note, indent="      ", first=f"{clock_on(at.utc, zone, start)} ")
        ]
        yield Block(tuple(lines), "NOTES")
    legend = marks.legend()
    if legend:
        yield Block(("", legend))


def _name(batch: BatchRecord) -> str:
    tag = f" [{batch.tag}]" if batch.tag else ""
    return f"{batch.no}{tag} {batch.colourway.name} on {batch.base.name}, {_count(batch.skeins, batch.base.form)}"


def _count(number: int, word: str, many: str | None = None) -> str:
    return f"{number} {word if number == 1 else many or word + 's'}"


def _doubt(day: Day, batch: BatchRecord, flags: list[Flag], start: datetime) -> Iterator[str]:
    zone = day.plan.session.zone
    yield from wrap(_name(batch), indent="   ", first="")
    for flag in flags:
        when = clock_on(flag.since, zone, start)
        yield from wrap(f"{flag.rule}: {flag.why}", indent="         ", first=f"   {when} ")
        yield from wrap(f"do: {flag.remedy}", indent="             ", first="         ")
        if flag.evidence:
            yield from wrap(f"since then: {flag.evidence}", indent="             ", first="         ")


def _stays(day: Day, batch: BatchRecord, now: Now) -> Iterator[str]:
    clock = clock_of(day, batch, now)
    where = f" in {batch.unit}" if batch.unit else ""
    left = ""
    if clock is not None and clock.left_s is not None:
        left = f", {span(clock.left_s)} left" if clock.left_s > 0 else f", {span(-clock.left_s)} over"
    yield from wrap(f"{_name(batch)}: {state_word(batch)}{where}{left}", indent="   ", first="")


def _story(
    day: Day, batch: BatchRecord, resolved: list[Flag], marks: Marks, now: Now, start: datetime
) -> Iterator[str]:
    zone = day.plan.session.zone
    outcome = f", sold as {batch.outcome}" if batch.outcome not in (None, "first") else ""
    came = f", overdyed from {', '.join(batch.overdyed_from)}" if batch.overdyed_from else ""
    yield from wrap(f"{_name(batch)}: {state_word(batch)}{outcome}{came}", indent="   ", first="")
    steps = []
    for stay in batch.stays:
        word = state_word(batch, stay.state, stay.layer)
        layer = f" {stay.layer}" if len(batch.colourway.layers) > 1 and stay.state in ("paint", "fix") else ""
        end = f"-{clock_on(stay.until.utc, zone, start)}" if stay.until else "-"
        mark = marks.of(stay.since.utc, batch.no)
        steps.append(f"{word}{layer} {clock_on(stay.since.utc, zone, start)}{end}{mark}")
    if steps:
        yield from wrap(", ".join(steps), indent="   ")
    heats = [_run_text(batch, run, now) for run in batch.runs]
    if heats:
        yield from wrap("heat: " + ", ".join(heats), indent="   ")
    readings = [
        f"{reading_text(r.name, r.value, r.where)} {clock_on(r.at.utc, zone, start)}{marks.of_event(r.event_id)}"
        for r in batch.readings
    ]
    if readings:
        yield from wrap("read: " + ", ".join(readings), indent="   ")
    acid = [f"{put.amount_ml:g} mL" if put.amount_ml else f"{put.amount_g:g} g" for put in acids_seen(day, batch)]
    if acid:
        yield from wrap("acid: " + " + ".join(acid), indent="   ")
    for flag in resolved:
        why = flag.resolved.why if flag.resolved else ""
        yield from wrap(f"resolved {flag.rule}: {why}", indent="     ", first="   ")
    for _, note in batch.notes:
        yield from wrap(f"note: {note}", indent="     ", first="   ")
    if batch.shares:
        yield from wrap("for: " + ", ".join(f"{item} ({count})" for item, count in batch.shares), indent="   ")


def _run_text(batch: BatchRecord, run: Run, now: Now) -> str:
    heats = batch.layer_of(run.layer).heats
    heat = heats[min(run.pass_no, len(heats)) - 1]
    where = heat.how
    if run.unit is not None:
        # "steamer 1" says steam already.
        where = run.unit if run.unit.startswith(heat.how) else f"{heat.how} in {run.unit}"
    on = "" if run.end else " so far"
    return f"{where} {at_heat_min(run, now):.0f} of {heat.minutes:g} min{on}"


def _amounts(day: Day, sums: Tally) -> Iterator[str]:
    acid = [f"{sums.acid_ml:g} mL" for _ in "x" if sums.acid_ml] + [f"{sums.acid_g:g} g" for _ in "x" if sums.acid_g]
    strength = f" {day.plan.acid.strength_pct:g} %" if day.plan.acid.strength_pct else ""
    yield f"{day.plan.acid.kind}{strength}: {' and '.join(acid) or 'none recorded'}"
    for use in sums.dyes:
        yield from wrap(f"{use.dye}: {_dye_text(use)}", indent="   ", first="")
    if not sums.dyes:
        yield "no dye put on yet"


def _dye_text(use: DyeUse) -> str:
    parts = []
    if use.used_ml:
        parts.append(f"{use.used_ml:g} mL recorded")
    if use.powder_g:
        parts.append(f"{use.powder_g:g} g powder recorded")
    if use.by_recipe_g:
        of_which = f" ({use.by_recipe_ml:.0f} mL)" if use.by_recipe_ml else " as powder"
        parts.append(f"{use.by_recipe_g:.2f} g{of_which} by the recipe, not recorded")
    return ", ".join(parts)


def _rates(day: Day, now: Now, start: datetime) -> Iterator[str]:
    counted = rates(day, now)
    zone = day.plan.session.zone
    yield f"{_count(counted.prompts, 'prompt')}, {_count(counted.alarms, 'alarm')}: {counted.per_hour:.1f} an hour"
    if counted.busiest_at is not None:
        at = clock_on(counted.busiest_at, zone, start)
        yield f"busiest ten minutes from {at}: {counted.busiest}"
    if counted.alarms:
        yield from wrap(
            f"longest an alarm stood: {whole_min(counted.longest_min * 60)} min ({counted.longest_text})",
            indent="   ",
            first="",
        )


class Marks:
    """Which times on the page were recorded late or corrected, and the legend for the marks used."""

    def __init__(self, day: Day) -> None:
        corrected = {str(e.data["corrects"]) for e in day.events if e.kind == "corrected" and e.id not in day.dead}
        self.signs: dict[str, str] = {}
        self.moments: dict[tuple[datetime, str | None], str] = {}
        self.struck = len([e for e in day.events if e.kind == "struck" and e.id not in day.dead])
        self.used: set[str] = set()
        for event in effective(day.events)[0]:
            sign = (CORRECTED if event.id in corrected else "") + (LATE if event.is_late else "")
            if sign:
                self.signs[event.id] = sign
                if event.kind in ("moved", "pass"):
                    self.moments[(event.at, event.batch)] = sign

    def of(self, moment: datetime, batch: str) -> str:
        return self._use(self.moments.get((moment, batch), ""))

    def of_event(self, event_id: str) -> str:
        return self._use(self.signs.get(event_id, ""))

    def _use(self, sign: str) -> str:
        self.used.update(sign)
        return sign

    def legend(self) -> str:
        parts = []
        if LATE in self.used:
            parts.append(f"{LATE} recorded later than it happened")
        if CORRECTED in self.used:
            parts.append(f"{CORRECTED} corrected afterwards")
        if self.struck:
            parts.append(f"{_count(self.struck, 'entry', 'entries')} struck, kept in the log")
        return "; ".join(parts)
