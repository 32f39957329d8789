"""Every kind of event, in the order in which a line of JSON that names none is tried."""

from __future__ import annotations

from dyeday.track.events.batch_changes import Counted, DyeUsed, Overdyed, Split, Tagged
from dyeday.track.events.body import Body
from dyeday.track.events.kit_events import AcidPutIn, UnitChanged
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import Covered, Heated, Load, Moved, Placed
from dyeday.track.events.remarks import AdviceWished, AlarmHandled, ChoreFinished, FlagResolved, Foreseen, Noted
from dyeday.track.events.rewriting import Corrected, Struck, Unstruck
from dyeday.track.events.session_events import (
    CarriedOver,
    ClockStepped,
    Closed,
    KeyLockOff,
    KeyLockOn,
    OrderAdded,
    PlanChanged,
    Received,
)

_ALL: tuple[type[Body], ...] = (
    Corrected,  # first: the keys it corrects stand beside it
    Load,
    *(Moved, Overdyed, AcidPutIn, Heated, Measured, DyeUsed, Split, AlarmHandled, FlagResolved, Struck),
    *(OrderAdded, PlanChanged, Counted, Tagged, Covered, CarriedOver, Received, Noted),
    # last: others have these keys too
    *(UnitChanged, Placed),
    *(Unstruck, AdviceWished, ChoreFinished, Foreseen, ClockStepped, KeyLockOn, KeyLockOff, Closed),
)
KINDS = {kind.NAME: kind for kind in _ALL}
"""by their names in JSON"""
KNOWN_BY = {key: kind for kind in _ALL for key in kind.KNOWN_BY}
"""by the keys that tell them, in this order"""
