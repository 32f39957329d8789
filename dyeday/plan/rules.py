"""The thresholds a plan may set."""

from __future__ import annotations

from typing import Annotated

from dyeday.craft.dye.colour_difference import GRADES
from dyeday.plan.schema import Key
from dyeday.quick_dataclass import dataclass
from dyeday.terms import Cover, LookRule, PhWith

SPECKS_MIN = 60.0
"""Minutes that specks may wait for heat, under any cover; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Rules:
    """Every threshold of a flag or an alarm; defaults are common practice."""

    ph_limit: Annotated[
        float, Key("how far the pH may be above the target", "", 0, 4, usually="0.7; 0.5 with a meter")
    ] = 0.7
    """of a strip; `usual_rules` has a meter's"""
    ph_low: Annotated[float, Key("how far the pH of an immersed layer may be below what its dyes need", "", 0, 6)] = (
        2.0
    )
    acid_share: Annotated[float, Key("least share of the full dose of acid in the bath", "%", 0, 100)] = 80.0
    soak: Annotated[float | None, Key("shortest soak", "min", 0, 1440, usually="as the base says")] = None
    open: Annotated[float, Key("how long painted yarn may wait open", "min", 1, 10080)] = 60.0
    lidded: Annotated[float, Key("how long painted yarn may wait under a lid", "min", 1, 10080)] = 240.0
    wrapped: Annotated[float, Key("how long painted yarn may wait wrapped", "min", 1, 10080)] = 1440.0
    fix_share: Annotated[float, Key("least share of the needed minutes at heat", "%", 1, 100)] = 90.0
    scorch_factor: Annotated[
        float, Key("most minutes in a microwave, as a multiple of what the load needs", "", 1, 20)
    ] = 2.0
    exhaustion: Annotated[float, Key("least share of the dye taken up by the yarn", "%", 1, 100)] = 90.0
    shock: Annotated[float, Key("largest difference between yarn and rinse water", "°C apart", 0, 100)] = 10.0
    felting: Annotated[
        float | None,
        Key("hottest bath", "°C", 20, 110,
            usually="by fibre: wool 95 °C, mohair, alpaca and other hair 90 °C, silk 88 °C"),
    ] = None  # fmt: skip
    cloth: Annotated[str, Key("least grade of a white cloth: clean is 5, faint 4, marked 3-4", words=GRADES)] = "4-5"
    look: Annotated[
        LookRule,
        Key('when to look at the bath; "when known to bleed": once a bath of this colour on this yarn kept dye '
            "today"),
    ] = LookRule.KNOWN_TO_BLEED  # fmt: skip
    dry: Annotated[float, Key("how far yarn may be above its dry weight and count as dry", "%", 0.1, 50)] = 1.0
    reserve: Annotated[float, Key("a tank is low once this share of its minutes is left", "%", 0, 90)] = 20.0
    overdue: Annotated[float, Key("flag: how long an alarm of heat went unanswered", "min", 1, 600)] = 15.0
    overdue_after: Annotated[
        float, Key("alarm: how long over, painted yarn or a pot with silk or felting wool", "min", 0, 240)
    ] = 5.0
    steam_over: Annotated[float, Key("alarm: how long over, any other heat, as in a steamer", "min", 0, 240)] = 15.0
    """the alarm begins then, or after ``overdue_after``; ``overdue`` counts from the alarm"""
    re_alarm: Annotated[float, Key("minutes between two soundings of an alarm", "min", 0.5, 240)] = 5.0

    def wait_min(self, cover: Cover, *, specks: bool) -> float:
        """Return the minutes painted yarn may wait for heat under ``cover``; wrapped specks run too."""
        limit = {Cover.OPEN: self.open, Cover.LIDDED: self.lidded, Cover.WRAPPED: self.wrapped}[cover]
        return min(limit, SPECKS_MIN) if specks else limit


def usual_rules(ph_with: PhWith) -> Rules:
    """Return the defaults where pH is read with a strip or a meter, which may be held to less."""
    return Rules(ph_limit=0.5) if ph_with is PhWith.METER else Rules()
