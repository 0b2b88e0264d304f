"""On which days sessions take place: regimen, habits, days away, the end of use."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest

from planner.dates import DateRange
from planner.habits import gap_chances, gap_hazards
from planner.household import Pause
from planner.ledger import Reversal
from planner.normal import Floats
from planner.timing import SessionTiming, session_timing
from tests.builders import (
    TODAY,
    as_needed,
    day,
    every,
    make_household,
    make_session,
    moment,
    on_weekdays,
    sessions_every,
)

DAYS = 30


def timing(**changes: Any) -> SessionTiming:  # noqa: ANN401 - any field
    home = make_household(**changes)
    return session_timing(home, home.catheters[0], TODAY, DAYS)


def test_chances_are_chances() -> None:
    for regimen in (every(1), every(3), on_weekdays("MO", "TH"), as_needed()):
        found = timing(catheter={"regimens": (regimen,)})
        assert found.chance.min() >= 0.0
        assert found.chance.max() <= 1.0
        assert found.weights.sum() == pytest.approx(1.0)


def test_a_session_done_today_is_not_done_again() -> None:
    done = timing(sessions=sessions_every(2, 6, last=0))
    assert done.start_age_days == 0
    assert not done.chance[:, 0].any()
    due = timing(sessions=sessions_every(2, 6, last=-2))
    assert due.start_age_days == 2
    assert due.chance[0, 0, 1] > 0.8


def test_a_session_is_likely_from_its_day_on_and_certain_in_the_end() -> None:
    hazards = gap_hazards(2, [], 10)
    assert hazards[0] < 0.05
    assert hazards[1:].min() > 0.5
    assert hazards[-1] == 1.0


@pytest.mark.parametrize("n_days", [1, 2, 7, 21, 22, 30, 60])
def test_every_gap_ends(n_days: int) -> None:
    """Whatever the prescribed gap, a session comes before twice that time and a week."""
    found = timing(catheter={"regimens": (every(n_days),)}, sessions=())
    row = found.chance[0, -1]
    alive = np.prod(1.0 - row) * (1.0 - row[-1]) ** 200
    assert alive < 1e-9


@pytest.mark.parametrize("n_days", [2, 7, 14, 30])
def test_a_missed_session_stays_in_the_table(n_days: int) -> None:
    """The mean gap of the table is the learned one, however long the prescribed gap is."""
    after = sessions_every(n_days, 3, last=-1)
    before = sessions_every(n_days, 4, last=-1 - 4 * n_days)
    found = timing(
        catheter={"regimens": (every(n_days, starts_on=date(2025, 1, 1)),)},
        sessions=(*before, *after),
    )
    chances = gap_chances(n_days, [n_days] * 5 + [2 * n_days])
    learned_days = sum(gap * chance for gap, chance in chances.items())
    in_table = sum(
        weight * mean_gap_days(row[-1])
        for weight, row in zip(found.weights, found.chance, strict=True)
    )
    assert in_table == pytest.approx(learned_days, rel=1e-6)


def mean_gap_days(hazards: Floats) -> float:
    """Days from one session to the next when the last hazard holds on. [days]"""
    lasting = np.cumprod(1.0 - hazards)
    return float(1.0 + lasting[:-1].sum() + lasting[-1] / hazards[-1])


def test_symptom_led_gaps_are_told_apart_as_far_as_they_matter() -> None:
    regimen = {"regimens": (as_needed(starts_on=date(2025, 1, 1)),)}

    def reach_days(gap_days: int, count: int) -> int:
        sessions = sessions_every(gap_days, count)
        return len(timing(catheter=regimen, sessions=sessions).chance[0, 0])

    assert reach_days(4, 20) == 21
    assert 25 <= reach_days(9, 20) <= 35
    assert reach_days(25, 8) == 45


def test_a_household_that_slips_is_known_to_slip() -> None:
    steady = timing(sessions=sessions_every(2, 20)).kept_chance
    slipping = timing(sessions=sessions_every(3, 20)).kept_chance
    assert steady is not None
    assert slipping is not None
    assert steady > 0.9
    assert slipping < 0.6


def test_ranges_overlap_when_a_day_lies_in_both() -> None:
    ends = (None, *range(6))
    ranges = [
        DateRange(day(first), None if end is None else day(end))
        for first in range(6)
        for end in ends
        if end is None or first <= end
    ]
    for one in ranges:
        for other in ranges:
            shared = any(day(n) in one and day(n) in other for n in range(7))
            assert one.overlaps(other) is shared


def test_gaps_over_days_away_are_no_habit() -> None:
    sessions = (*sessions_every(2, 6, last=-20), *sessions_every(2, 3, last=-1))
    away = (Pause(starts_on=day(-19), ends_on=day(-6)),)
    assert timing(sessions=sessions, pauses=away).kept_chance == pytest.approx(
        gap_chances(2, [2] * 7)[2]
    )


def test_fixed_weekdays_are_kept_on_their_days_only() -> None:
    found = timing(
        catheter={"regimens": (on_weekdays("MO", "WE", "FR"),)},
        sessions=tuple(
            one for one in sessions_every(1, 60) if one.drained_on.weekday() in {0, 2, 4}
        ),
    )
    for offset in range(DAYS):
        chance = float(found.weights @ found.chance[:, offset, 0])
        if day(offset).weekday() in {0, 2, 4}:
            assert chance > 0.95
        else:
            assert chance < 0.01


def test_a_missed_weekday_lowers_the_chance_of_keeping_one() -> None:
    regimen = {"regimens": (on_weekdays("MO", "WE", "FR"),)}
    mondays = tuple(one for one in sessions_every(1, 60) if one.drained_on.weekday() == 0)
    kept = timing(catheter=regimen, sessions=mondays).kept_chance
    assert kept is not None
    assert kept < 0.7


def test_nothing_happens_away_or_after_removal_or_before_the_start() -> None:
    away = timing(pauses=(Pause(starts_on=day(3), ends_on=day(6)),))
    assert not away.chance[:, 3:6].any()
    assert away.restarts == {6}
    assert away.chance[:, 6:].any(axis=(0, 2)).all()
    removed = timing(catheter={"removed_on": day(5)})
    assert removed.chance[:, :5].any()
    assert not removed.chance[:, 5:].any()
    later = timing(catheter={"regimens": (every(2, starts_on=day(4)),)}, sessions=())
    assert not later.chance[:, :4].any()


def test_a_stay_with_unknown_end_is_taken_to_end_tomorrow() -> None:
    now = timing(pauses=(Pause(starts_on=day(-2)),))
    assert not now.chance[:, 0].any()
    assert now.restarts == {1}
    assert now.chance[:, 1:].any(axis=(0, 2)).all()


def test_a_stay_to_come_with_unknown_end_changes_nothing_yet() -> None:
    ahead, home = timing(pauses=(Pause(starts_on=day(5)),)), timing()
    assert np.array_equal(ahead.chance, home.chance)
    assert ahead.restarts == home.restarts


def test_coming_home_counts_as_just_drained() -> None:
    back = timing(
        sessions=sessions_every(2, 6, last=-12), pauses=(Pause(starts_on=day(-11), ends_on=TODAY),)
    )
    assert back.start_age_days == 1


def test_symptom_led_sessions_follow_the_record_and_keep_their_doubt() -> None:
    starting = timing(catheter={"regimens": (as_needed(),)}, sessions=())
    weekly = timing(catheter={"regimens": (as_needed(),)}, sessions=sessions_every(7, 10))
    assert len(weekly.weights) == 3
    assert mean_chance(starting) == pytest.approx(1 / 14, rel=0.05)
    assert mean_chance(weekly) == pytest.approx(1 / 7, rel=0.15)
    assert relative_spread(weekly) < relative_spread(starting)
    assert weekly.kept_chance is None


def mean_chance(found: SessionTiming) -> float:
    return float((found.weights * found.chance[:, 0, 0]).sum())


def relative_spread(found: SessionTiming) -> float:
    return float(found.chance[:, 0, 0].max() / found.chance[:, 0, 0].min())


def test_a_new_regimen_starts_on_its_day() -> None:
    regimens = (every(1), every(4, starts_on=day(10)))
    found = timing(catheter={"regimens": regimens}, sessions=sessions_every(1, 12))
    assert found.chance[0, 9, 0] > 0.8
    assert found.chance[0, 10, 0] < 0.05


def test_a_session_taken_back_is_forgotten() -> None:
    once = make_session(moment(-1), id="slip")
    home = make_household(
        sessions=(*sessions_every(2, 6, last=-3), once),
        ledger=(Reversal(id="x", at=moment(0), reverses_id="slip"),),
    )
    found = session_timing(home, home.catheters[0], TODAY, DAYS)
    assert found.start_age_days == 3


def test_days_before_the_record_are_not_missed_days() -> None:
    regimen = on_weekdays("MO", "WE", "FR", starts_on=date(2020, 1, 1))
    found = timing(catheter={"regimens": (regimen,)}, sessions=(make_session(moment(-2)),))
    assert found.kept_chance == pytest.approx((0.95 * 20 + 1) / 21, abs=0.03)
