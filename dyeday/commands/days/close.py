"""`close`: the day ended, taken into the books, and what stays where."""

from __future__ import annotations

from argparse import Namespace

from dyeday.commands.common import Refusal, answer, complain, opened, say
from dyeday.store import clock
from dyeday.store.closing import Settled
from dyeday.studio.carry_over import stays_lines, what_stays
from dyeday.track.day.fold import take_all
from dyeday.track.events.event import make

CAUTION_OFF = "Is every heat off at the wall? Nothing here can see it. Steam burns: let units cool closed."


def close(args: Namespace) -> int:
    at = opened(args, reading=False)
    if at.day.closed is not None:
        raise Refusal(f"{at.file.about.id} is closed already; `dyeday log` shows when")
    on = [batch for batch in at.day.live if batch.open_run is not None]
    if on and not args.yes:
        said = ", ".join(f"{batch.no} in {batch.unit or 'heat'}" for batch in on)
        first, run = on[0], on[0].open_run
        number = run.pass_no if run is not None else 1
        ends = f"dyeday mark {first.no} --pass {number} end"
        raise Refusal(f"heat is still on by the record: {said}; off at the wall, then `{ends}`, or add --yes")
    event = make("closed", at.day.steady(clock.now()), clock.new_id, why=args.why)
    at.file.add([event])
    settled = at.file.settled or Settled()
    if settled.trouble:
        raise Refusal(settled.trouble)
    day = take_all(at.day, [event])
    stays = what_stays(day)
    if args.json:
        left = [{"batch": b, "where": where} for b, where in stays]
        answer({"closed": at.file.about.id, "stays": left, "told": list(settled.told)})
        return 0
    say(f"{at.file.about.id} is closed", *settled.told)
    say(*stays_lines(day))
    complain([CAUTION_OFF])
    return 0
