"""The heavy example, followed by its advice to the end with drawn minutes."""

from __future__ import annotations

from itertools import pairwise

from dyeday.ahead.accuracy import ended_at
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId, State
from dyeday.track.flags import flags_of
from dyeday.track.timestamp import Moment
from tests.ahead.follow import follow, stages, table
from tests.fakes import HEAVY_DAY

PLAN = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
HARM = (
    FlagId.DRIED_OUT,
    FlagId.SHORT_SOAK,
    FlagId.SHORT_FIX,
    FlagId.RINSED_HOT,
    FlagId.OVERLOADED_CIRCUIT,
    FlagId.OVER_FULL,
)
SEED = 4


def test_the_advice_leads_to_the_end_of_the_day_and_its_record_shows_the_forecasts_error() -> None:
    """Every batch rinsed, no flag that minutes decide, an hour and more before working stage by stage."""
    run = follow(PLAN, SEED, evaluations=12)
    assert all(batch.state == State.DRY for batch in run.day.unsplit)
    ended = ended_at(run.day)
    assert ended is not None
    raised = {(flag.rule, flag.batch) for flag in flags_of(run.day, Moment(ended)) if flag.rule in HARM}
    assert raised == set()
    start = run.day.events[0].at
    naive = stages(PLAN, SEED)
    assert (run.finish - start).total_seconds() / 60 < naive - 60
    hours = [one.at for one in run.recorded]
    assert len(hours) >= 8
    assert all((after - before).total_seconds() >= 3600 for before, after in pairwise(hours))
    errors = [abs(one.error_min) for one in run.recorded]
    assert errors[-1] <= 45
    assert len(list(table(run))) == len(hours) + 1
    assert run.changed < run.steps / 2
