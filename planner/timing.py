"""On which days sessions really take place: the regimen plus what the household does.

Everything is expressed as one table: the probability of a session on day t, given the
days since the last one. That covers regimens counted from the last session (a renewal
process), fixed weekdays with missed and extra sessions, symptom-led drainage, changes of
regimen, days away and the end of use.

References:
    Discrete renewal process, Feller, An Introduction to Probability Theory, vol. 1, 3rd ed.,
    ch. XIII (memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from planner import assumptions
from planner.dates import DateRange, days_from, in_any
from planner.habits import BetaHabit, Doubt, GapHabit, gap_chances, gap_weights, hazards
from planner.household import Catheter, Household
from planner.normal import Floats
from planner.regimen import Pattern, Regimen, regimen_on

LEAST_REACH_DAYS = 21
"""Days since the last session are told apart at least this far where gaps are long."""

MOST_AS_NEEDED_REACH_DAYS = 45
"""And no further than this when drainage follows symptoms; it costs time and changes little."""

_GAPS_IN_REACH = 3
_PAST_GAP_DAYS = 7
_UNKNOWN_GAP_DAYS = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionTiming:
    """Chances of a session by day and by days since the last one.

    Attributes:
        chance: probability of a session, [variant, day, age - 1]; the last age stands for
            itself and everything longer.
        weights: probability of each variant; they stand for doubt about the household's
            habits. [variant]
        restarts: days on which the household comes home with the fluid just drained
            elsewhere, as offsets from the first day.
        start_age_days: days since the last session on the first day; 0 when that day's
            session is already done.
        kept_chance: chance that a prescribed session takes place on its day.
        usual_gap_days: usual days between sessions. [days]
    """

    chance: Floats
    weights: Floats
    restarts: frozenset[int]
    start_age_days: int
    kept_chance: float | None
    usual_gap_days: float


def session_timing(
    household: Household, catheter: Catheter, as_of: date, horizon_days: int
) -> SessionTiming:
    """Table of session chances for `horizon_days` days from the day of the plan."""
    days = list(days_from(as_of, horizon_days))
    drained = _drained_on(household, catheter, as_of)
    away = _away_ranges(household, catheter, as_of)
    tables = _Tables(household, catheter, drained, as_of)
    regimen_now = regimen_on(catheter.regimens, as_of) or min(
        catheter.regimens, key=lambda regimen: regimen.starts_on
    )
    ages = max(tables.reach_days(regimen) for regimen in catheter.regimens)
    doubt = tables.doubt(regimen_now, ages)
    gap = regimen_now.usual_gap_days or tables.as_needed_gap_days(regimen_now, doubt)
    chance = np.zeros((len(doubt.weights), horizon_days, ages))
    in_use = [_regimen_in_use(catheter, away, day) for day in days]
    for regimen in catheter.regimens:
        ahead = [t for t, one in enumerate(in_use) if one is regimen]
        if ahead:
            on = [days[t] for t in ahead]
            chance[:, ahead] = tables.chances(regimen, on, ages, doubt.scores)
    if drained and drained[-1] == as_of:
        chance[:, 0] = 0.0
    restarts = frozenset(
        (one.ends_on - as_of).days
        for one in away
        if one.ends_on is not None and 0 <= (one.ends_on - as_of).days < horizon_days
    )
    return SessionTiming(
        chance=chance,
        weights=doubt.weights,
        restarts=restarts,
        start_age_days=_start_age(drained, away, as_of, gap, ages),
        kept_chance=tables.kept_on_day(regimen_now),
        usual_gap_days=gap,
    )


def _regimen_in_use(catheter: Catheter, away: Sequence[DateRange], day: date) -> Regimen | None:
    """The regimen in force on a day at home with the catheter; None on other days."""
    removed = catheter.removed_on is not None and day >= catheter.removed_on
    return None if removed or in_any(day, away) else regimen_on(catheter.regimens, day)


def _drained_on(household: Household, catheter: Catheter, as_of: date) -> list[date]:
    days = {
        session.drained_on
        for session in household.valid_sessions
        if session.catheter_id == catheter.id and session.drained_on <= as_of
    }
    return sorted(days)


def _away_ranges(household: Household, catheter: Catheter, as_of: date) -> tuple[DateRange, ...]:
    """Days away. A stay with an unknown end counts as ending tomorrow.

    The shelf has to be ready on the day of coming home, whenever that is. For the same
    reason a stay that lies ahead without a known end is not counted on at all.
    """
    tomorrow = as_of + timedelta(days=1)
    return tuple(
        DateRange(one.starts_on, tomorrow) if one.ends_on is None else one
        for one in household.pauses_of(catheter.id)
        if one.ends_on is not None or one.starts_on <= as_of
    )


def _start_age(
    drained: Sequence[date],
    away: Sequence[DateRange],
    as_of: date,
    gap_days: float,
    ages: int,
) -> int:
    if any(as_of in one for one in away):
        return 1
    homecomings = [
        one.ends_on - timedelta(days=1)
        for one in away
        if one.ends_on is not None and one.ends_on <= as_of
    ]
    last = max([*drained, *homecomings], default=None)
    age = math.ceil(gap_days) if last is None else (as_of - last).days
    return min(max(age, 0), ages)


class _Tables:
    """Learned habits of one catheter, by regimen version."""

    def __init__(
        self, household: Household, catheter: Catheter, drained: list[date], as_of: date
    ) -> None:
        self._catheter = catheter
        self._drained = drained
        self._away = household.pauses_of(catheter.id)
        self._as_of = as_of
        self._gaps: dict[date, list[int]] = {}
        self._habits: dict[date, tuple[BetaHabit, BetaHabit]] = {}
        self._slots: dict[date, frozenset[date]] = {}

    def reach_days(self, regimen: Regimen) -> int:
        """Days since a session that are told apart; what is longer counts as this long.

        There is room for two missed sessions where gaps are short. Where they are long there is
        room for a week more and for the longest gap seen, for a missed day of the calendar, and
        for three gaps when drainage follows symptoms: fluid that is held longer would not be
        counted.
        """
        if regimen.pattern is Pattern.AS_NEEDED:
            gap_days = self.as_needed_gap_days(regimen, self._as_needed(regimen).doubt())
            reach = max(math.ceil(_GAPS_IN_REACH * gap_days), LEAST_REACH_DAYS)
            return min(reach, MOST_AS_NEEDED_REACH_DAYS)
        gap = math.ceil(regimen.usual_gap_days or _UNKNOWN_GAP_DAYS)
        longest = gap + _PAST_GAP_DAYS
        if regimen.pattern is Pattern.EVERY_N_DAYS:
            longest = max(longest, *self._gaps_under(regimen), 0)
        elif gap > _PAST_GAP_DAYS:
            longest += gap
        return min(_GAPS_IN_REACH * gap + 1, max(longest, LEAST_REACH_DAYS))

    def doubt(self, regimen: Regimen, ages: int) -> Doubt:
        """Points that stand for what is not known about a regimen's habit."""
        if regimen.pattern is Pattern.AS_NEEDED:
            return self._as_needed(regimen).doubt()
        if regimen.pattern is Pattern.RRULE:
            return self._kept_and_extra(regimen)[0].doubt()
        return self._gap_habit(regimen, ages).doubt()

    def chances(self, regimen: Regimen, days: Sequence[date], ages: int, scores: Floats) -> Floats:
        """Chance of a session by score, day and age from 1 to `ages`. [score, day, age - 1]

        A score says how far the habit lies towards more use, in standard deviations. Axes
        on which nothing depends may have length 1.
        """
        if regimen.pattern is Pattern.AS_NEEDED:
            needed = self._as_needed(regimen)
            return np.array([[[needed.at(float(score))]] for score in scores])
        if regimen.pattern is Pattern.RRULE:
            kept, extra = self._kept_and_extra(regimen)
            due = np.array([day in self._slots_of(regimen) for day in days])
            on_slots = np.array([[kept.at(float(score))] for score in scores])
            return np.where(due, on_slots, extra.mean)[:, :, None]
        habit = self._gap_habit(regimen, ages)
        return np.stack([hazards(habit.at(float(score)), ages) for score in scores])[:, None]

    def kept_on_day(self, regimen: Regimen) -> float | None:
        """Chance that a prescribed session takes place on its day."""
        if regimen.pattern is Pattern.AS_NEEDED:
            return None
        if regimen.pattern is Pattern.RRULE:
            return self._kept_and_extra(regimen)[0].mean
        every = regimen.every_n_days or 1
        return gap_chances(every, self._gaps_under(regimen)).get(every, 0.0)

    def as_needed_gap_days(self, regimen: Regimen, doubt: Doubt) -> float:
        """Mean days between symptom-led sessions."""
        habit = self._as_needed(regimen)
        per_day = np.array([habit.at(float(score)) for score in doubt.scores])
        return float((doubt.weights / per_day).sum())

    def _gap_habit(self, regimen: Regimen, ages: int) -> GapHabit:
        every = regimen.every_n_days or 1
        longest = min(ages, 3 * every + 1)
        return GapHabit(weights=gap_weights(every, self._gaps_under(regimen), longest))

    def _as_needed(self, regimen: Regimen) -> BetaHabit:
        weight = assumptions.AS_NEEDED_WEIGHT
        habit = BetaHabit(hits=weight, misses=weight * (assumptions.AS_NEEDED_GAP_DAYS - 1.0))
        under = [day for day in self._drained if day >= regimen.starts_on]
        if not under:
            return habit
        days = days_from(under[0], (self._as_of - under[0]).days)
        home = sum(not in_any(day, self._away) for day in days)
        return habit.learned(len(under) - 1, max(home - (len(under) - 1), 0))

    def _slots_of(self, regimen: Regimen) -> frozenset[date]:
        if regimen.starts_on not in self._slots:
            end = self._as_of + timedelta(days=366)
            days = regimen.calendar_days(DateRange(regimen.starts_on, max(end, regimen.starts_on)))
            self._slots[regimen.starts_on] = frozenset(days)
        return self._slots[regimen.starts_on]

    def _under(self, regimen: Regimen) -> list[date]:
        """Past days at home under this regimen after the first recorded session.

        The day of that session itself says nothing: the record begins with it.
        """
        if not self._drained:
            return []
        first = max(regimen.starts_on, self._drained[0] + timedelta(days=1))
        days = days_from(first, max((self._as_of - first).days, 0))
        return [
            day
            for day in days
            if regimen_on(self._catheter.regimens, day) is regimen and not in_any(day, self._away)
        ]

    def _kept_and_extra(self, regimen: Regimen) -> tuple[BetaHabit, BetaHabit]:
        if regimen.starts_on not in self._habits:
            days = self._under(regimen)
            slots = self._slots_of(regimen)
            drained = set(self._drained)
            due = [day in drained for day in days if day in slots]
            other = [day in drained for day in days if day not in slots]
            self._habits[regimen.starts_on] = (
                _habit(assumptions.KEPT_CHANCE, assumptions.KEPT_WEIGHT, due),
                _habit(assumptions.EXTRA_CHANCE, assumptions.EXTRA_WEIGHT, other),
            )
        return self._habits[regimen.starts_on]

    def _gaps_under(self, regimen: Regimen) -> list[int]:
        if regimen.starts_on not in self._gaps:
            under = [regimen_on(self._catheter.regimens, day) is regimen for day in self._drained]
            self._gaps[regimen.starts_on] = [
                (later - earlier).days
                for n, (earlier, later) in enumerate(pairwise(self._drained))
                if under[n]
                and under[n + 1]
                and not any(DateRange(earlier, later).overlaps(one) for one in self._away)
            ]
        return self._gaps[regimen.starts_on]


def _habit(prior_chance: float, prior_weight: float, seen: Sequence[bool]) -> BetaHabit:
    prior = BetaHabit(hits=prior_chance * prior_weight, misses=(1.0 - prior_chance) * prior_weight)
    return prior.learned(sum(seen), len(seen) - sum(seen))
