"""What a plan means where it says nothing and the default hangs on something else that it says.

All are common practice, no source. Defaults that hang on nothing stand where their key is read.
"""

from __future__ import annotations

from dataclasses import dataclass

from dyeday.craft.water.acids import VINEGAR_PCT, AcidKind
from dyeday.craft.yarn.cooling_curve import OUT_MIN, POT_MIN
from dyeday.terms import AcidPlace, Cover, How

ACID_PCT = {AcidKind.VINEGAR: VINEGAR_PCT}
"""strength by kind of acid, % w/v; the others have none until it is said"""


@dataclass(frozen=True, slots=True)
class UsualLayer:
    """What a layer is like where its table does not say."""

    liquor_ml_per_100g: float
    cover: Cover
    acid_in: AcidPlace
    cool_min: float


_PUT_ON = UsualLayer(90.0, Cover.WRAPPED, AcidPlace.SOAK, OUT_MIN)
_IMMERSED = UsualLayer(2000.0, Cover.LIDDED, AcidPlace.BATH, POT_MIN)


def usual_layer(how: How) -> UsualLayer:
    """Return the defaults of a layer that is painted or speckled, or that is immersed: 20 L/kg, cooled in its pot."""
    return _IMMERSED if how is How.IMMERSED else _PUT_ON
