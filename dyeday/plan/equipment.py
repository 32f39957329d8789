"""The kit of a studio and the circuits it draws from."""

from __future__ import annotations

from math import ceil
from typing import Annotated

from dyeday.plan.schema import Key
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_TRAITS, KitKind


@dataclass(frozen=True, slots=True)
class Circuit:
    """One circuit of the house, with what may draw from it at once."""

    name: Annotated[str, Key("the name kit uses")]
    volts: Annotated[float, Key("its voltage", "V", 50, 500)]
    amps: Annotated[float, Key("its fuse or breaker", "A", 0.5, 200)]
    continuous_share: Annotated[
        float | None, Key("0.8 where local rules keep heaters that run 3 h or more to 80 %", "", 0.1, 1)
    ] = None
    lead_amps: Annotated[float | None, Key("limit of the extension lead, if there is one", "A", 0.5, 200)] = None


@dataclass(frozen=True, slots=True)
class Kit:
    """One kind of equipment: ``units`` pieces that hold the same and draw the same."""

    name: Annotated[str, Key('its name; its units are called "name 1", "name 2", …')]
    kind: Annotated[KitKind, Key("what it is; pegs are a drying rack or a line")]
    units: Annotated[int, Key("how many you have", "", 1, 99)] = 1
    holds_skeins: Annotated[
        int | None, Key('pieces in one unit, or a weight, "600 g"; on pegs 100 g of minis are one',
                        "", 1, 1000, "holds", own=True, usually="needed except for a sink")
    ] = None  # fmt: skip
    holds_g: float | None = None
    power_w: Annotated[float | None, Key("input, from the nameplate", "W", 1, 30_000, "power")] = None
    output_w: Annotated[float | None, Key("microwave output, from the nameplate", "W", 1, 5000, "output")] = None
    circuit: Annotated[str | None, Key("the [[circuit]] it is plugged into", own=True)] = None
    tank_l: Annotated[float | None, Key("a steamer's water, from MIN to MAX", "L", 0.05, 200, "tank")] = None
    lasts_min: Annotated[
        float | None, Key("from switching on full to MIN", "min", 1, 1440, "lasts", usually="by tank and power")
    ] = None
    warm_up_min: Annotated[
        float,
        Key("from switching on to full heat", "min", 0, 240, "warm_up", usually="10 min pot and steamer, else 0",
            usual=lambda v: KIT_TRAITS[v["kind"]].warm_up_min),
    ] = 0.0  # fmt: skip
    load_min: Annotated[float, Key("your minutes to put a load in", "min", 0, 120, "load")] = 2.0
    unload_min: Annotated[float, Key("your minutes to take a load out", "min", 0, 120, "unload")] = 2.0
    timer: Annotated[
        bool | None,
        Key("whether it switches itself off; stay in the house all the same",
            usually="true for a microwave, else false", usual=lambda v: KIT_TRAITS[v["kind"]].switches_off),
    ] = None  # fmt: skip
    """None: as its kind does, of a session begun before there was the key"""
    down: Annotated[tuple[str, ...], Key('units that are broken, ["steamer 2"]', own=True, usually="none")] = ()

    @property
    def switches_off(self) -> bool:
        """Whether its own timer ends a heat."""
        return KIT_TRAITS[self.kind].switches_off if self.timer is None else self.timer

    @property
    def unit_names(self) -> tuple[str, ...]:
        """ "NAME 1", "NAME 2", … of its units."""
        return tuple(f"{self.name} {n}" for n in range(1, self.units + 1))

    def skeins_of(self, skein_g: float) -> int | None:
        """Return how many skeins of ``skein_g`` one unit holds; None without a limit."""
        if self.holds_skeins is not None:
            return self.holds_skeins
        if self.holds_g is not None:
            return int((self.holds_g + 1e-9) // skein_g)
        return None


def dishes_of(kit: Kit | None, skeins: int, skein_g: float) -> int:
    """Return how many dishes ``skeins`` fill in one unit of ``kit``; 1 if the kit is unknown."""
    holds = kit.skeins_of(skein_g) if kit else None
    return ceil(skeins / holds) if holds else 1
