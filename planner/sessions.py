"""What happened at the catheter: sessions, the bottles they filled and what was lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from planner.errors import InvalidValue, require_int, require_text

DRY_ML = 50
"""A session of at most this volume counts as dry. [mL]

Common practice; the threshold is second-hand from the IPC-Plus trial (Bhatnagar R et al.,
NEJM 2018;378:1313-22), the three-in-a-row rule is from memory of the AABIP report (Miller RJ
et al., 2020).
"""


class StopReason(StrEnum):
    """Why a session ended."""

    RAN_DRY = "ran-dry"
    LIMIT_REACHED = "limit-reached"
    BOTTLE_FULL = "bottle-full"
    PAIN = "pain"
    NO_FURTHER_BOTTLE = "no-further-bottle"
    NOT_SAID = "not-said"


CENSORING = (
    StopReason.LIMIT_REACHED,
    StopReason.BOTTLE_FULL,
    StopReason.PAIN,
    StopReason.NO_FURTHER_BOTTLE,
)
"""Endings that leave fluid behind: the true volume was at least what was recorded."""


class LossReason(StrEnum):
    """Why a bottle was used up without collecting fluid as it should."""

    VACUUM_LOST = "vacuum-lost"
    SEPARATED = "separated"
    DROPPED = "dropped"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class BottleUse:
    """One bottle opened in a session.

    Attributes:
        volume_ml: what it collected; a lost bottle may hold none. [mL]
        item_code: the kit or loose bottle it came from; None when not said.
        loss: why it was lost, None for a good bottle.
    """

    volume_ml: int
    item_code: str | None = None
    loss: LossReason | None = None

    def __post_init__(self) -> None:
        require_int("volume_ml", self.volume_ml, at_least=0, at_most=5000, unit="mL")


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One drainage session at home.

    Attributes:
        id: unique within the household.
        catheter_id: which catheter was drained.
        started_at: local wall-clock time.
        bottles: every bottle opened, in order; at least one.
        stop_reason: why it ended.
    """

    id: str
    catheter_id: str
    started_at: datetime
    bottles: tuple[BottleUse, ...]
    stop_reason: StopReason = StopReason.NOT_SAID

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        if self.started_at.tzinfo is not None:
            fix = "give the household's own clock, without a time zone"
            raise InvalidValue("at", self.started_at, fix)
        if not self.bottles:
            fix = "list at least one bottle; a skipped session is not recorded at all"
            raise InvalidValue("bottles", None, fix)

    @property
    def drained_on(self) -> date:
        """The day of the session."""
        return self.started_at.date()

    @property
    def volume_ml(self) -> int:
        """All fluid collected. [mL]"""
        return sum(bottle.volume_ml for bottle in self.bottles)

    @property
    def bottles_lost(self) -> int:
        """How many bottles were lost."""
        return sum(bottle.loss is not None for bottle in self.bottles)

    @property
    def is_dry(self) -> bool:
        """Whether next to nothing came out, though a kit was used."""
        return self.volume_ml <= DRY_ML

    def is_censored(self, session_limit_ml: int | None) -> bool:
        """Whether fluid stayed behind, so that the volume is only a lower bound."""
        at_limit = session_limit_ml is not None and self.volume_ml >= session_limit_ml
        return at_limit or self.stop_reason in CENSORING
