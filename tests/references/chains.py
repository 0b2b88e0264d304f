"""Chains of known answer, built through the planner's own parts with doubt taken out."""

from __future__ import annotations

from datetime import date, datetime, time

import numpy as np

from planner.chain import BottleSizes, CatheterChain, build_chain
from planner.normal import Floats
from planner.timing import SessionTiming
from planner.volume import LEARNING_STEP, RateKnowledge

AS_OF = date(2026, 3, 11)


def known_rate(
    log_rate: float, *, spread: float = 0.45, sd: float = 0.0, drift: float = 0.0
) -> RateKnowledge:
    """Knowledge of a rate: certain, or normal with a standard deviation."""
    offsets = LEARNING_STEP * np.arange(-90, 91, dtype=np.float64)
    at = np.where(offsets == 0.0, 1.0, 0.0)
    if sd > 0.0:
        at = np.exp(-0.5 * (offsets / sd) ** 2)
    weights = (at / at.sum())[None, None, :]
    return RateKnowledge(
        known_at=datetime.combine(AS_OF, time(12)),
        drifts=np.array([drift]),
        spreads=np.array([spread]),
        centres=np.array([log_rate]),
        offsets=offsets,
        weights=weights,
        carry_ml=np.zeros_like(weights),
        learned_from=100,
        prior_sd=1.0,
    )


def timing_of(chance: Floats, *, start_age_days: int = 1, gap_days: float = 1.0) -> SessionTiming:
    """Timing from a table [day, age - 1]."""
    return SessionTiming(
        chance=chance[None],
        weights=np.array([1.0]),
        restarts=frozenset(),
        start_age_days=start_age_days,
        kept_chance=None,
        usual_gap_days=gap_days,
    )


def daily(days: int, chance: float = 1.0) -> SessionTiming:
    """A session every day with the same chance."""
    return timing_of(np.full((days, 1), chance))


def chain_of(
    knowledge: RateKnowledge,
    timing: SessionTiming,
    *,
    limit_ml: int = 1000,
    loss_chance: float = 0.0,
    capacity_ml: int = 500,
    loose_ml: int | None = None,
) -> CatheterChain:
    """The planner's chain of these parts."""
    sizes = BottleSizes(
        kit_ml=capacity_ml,
        loose_ml=loose_ml,
        limits_ml=(limit_ml,) * timing.chance.shape[1],
    )
    return build_chain(knowledge, timing, sizes, AS_OF, loss_chance)
