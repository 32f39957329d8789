"""The thresholds a plan may set."""

from __future__ import annotations

from dataclasses import dataclass

from dyeday.terms import Cover, Look, PhWith


@dataclass(frozen=True, slots=True)
class Rules:
    """Every threshold of a flag or an alarm; defaults are common practice."""

    ph_limit: float = 0.7
    """of a strip; `usual_rules` has a meter's"""
    ph_low: float = 2.0
    """below the pH that an immersed layer's dyes want"""
    acid_share: float = 80.0
    soak: float | None = None
    """min, instead of each base's own"""
    open: float = 60.0
    lidded: float = 240.0
    wrapped: float = 1440.0
    fix_share: float = 90.0
    scorch_factor: float = 2.0
    exhaustion: float = 90.0
    shock: float = 10.0
    felting: float | None = None
    """°C of a bath, instead of each fibre's own limit (`craft.fibres`)"""
    cloth: str = "4-5"
    look: Look = Look.KNOWN_TO_BLEED
    """when what is left in the bath is to be looked at"""
    dry: float = 1.0
    reserve: float = 20.0
    overdue: float = 15.0
    overdue_after: float = 5.0
    steam_over: float = 15.0
    """min that heat may go on past its end where it is neither a bath of what felts nor of silk"""
    re_alarm: float = 5.0

    def cover_min(self, cover: Cover) -> float:
        """Return the minutes painted yarn may wait under ``cover``."""
        return {Cover.OPEN: self.open, Cover.LIDDED: self.lidded, Cover.WRAPPED: self.wrapped}[cover]


def usual_rules(ph_with: PhWith) -> Rules:
    """Return the defaults where pH is read with a strip or a meter, which may be held to less."""
    return Rules(ph_limit=0.5) if ph_with is PhWith.METER else Rules()
