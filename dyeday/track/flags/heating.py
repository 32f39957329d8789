"""Rules about heat: did painted yarn dry out waiting for it, and was the heat long enough."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.plan.model import FixStep
from dyeday.terms import STEADY_HEATS, HeatKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, left_fix, pass_min, pass_needed_min, pass_was_had, runs_of
from dyeday.track.day.waiting_time import wait_limit, waited_by_cover, waits
from dyeday.track.flags.rule import Raised, more_min, of
from dyeday.track.timestamp import SECOND_MIN, Now


def dried_out(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """Painted and not in heat for longer than its cover allows."""
    for wait in waits(batch):
        limit = wait_limit(batch, wait, day.plan, now)
        if limit is None:
            continue
        parts = waited_by_cover(batch, wait, now)
        said = ", then ".join(
            f"{cover.value} {of(length, day.plan.rules.cover_min(cover), 'min')}" for cover, length in parts
        )
        yield Raised(
            limit.utc,
            f"painted and out of heat: {said}",
            "mist it with acid water until it is damp again, wrap it, and fix it now; look for pale dry tips",
        )


def short_fix(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """A pass skipped or cut short, or less heat in all than the dye needs, when the batch left fix."""
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        short, missing = [], 0.0
        for pass_no, heat in enumerate(layer.heats, 1):
            if pass_was_had(day.plan, batch, stay.layer, pass_no, left):
                continue
            needed = pass_needed_min(day.plan, batch, stay.layer, pass_no)
            had = pass_min(batch, stay.layer, pass_no, left)
            missing += needed - had
            if runs_of(batch, stay.layer, pass_no, left):
                short.append(f"pass {pass_no} ({heat.how.value}) {of(had, needed, 'min')} at heat")
            else:
                short.append(f"pass {pass_no} ({heat.how.value} {heat.minutes:g} min) skipped")
        total = sum(at_heat_min(run, left) for run in runs_of(batch, stay.layer, until=left))
        minimum = day.plan.dye_minimum_min(layer)
        steamed = any(heat.how in STEADY_HEATS for heat in layer.heats)
        if steamed and total < minimum - SECOND_MIN:
            short.append(f"in all {of(total, minimum, 'min')} its dyes need")
            missing = max(missing, minimum - total)
        if short:
            more = f"{_how(layer.heats).value} for {more_min(missing)} min at heat"
            yield Raised(left.utc, "; ".join(short), f"fix again: {more}")


def _how(heats: tuple[FixStep, ...]) -> HeatKind:
    hows = [heat.how for heat in heats]
    return next((how for how in STEADY_HEATS if how in hows), hows[-1])
