"""The prescribed drain frequency as a value."""

from __future__ import annotations

from datetime import date

import pytest

from planner.dates import DateRange
from planner.errors import InvalidValue
from planner.regimen import Pattern, Regimen, regimen_on
from tests.builders import as_needed, by_rule, day, every, on_weekdays


@pytest.mark.parametrize(
    ("regimen", "gap"),
    [
        (every(2), 2.0),
        (on_weekdays("MO", "WE", "FR"), 7 / 3),
        (by_rule("FREQ=DAILY;INTERVAL=10"), 364 / 37),
        (as_needed(), None),
    ],
)
def test_the_usual_gap_is_the_mean_of_a_year(regimen: Regimen, gap: float | None) -> None:
    assert regimen.usual_gap_days == (None if gap is None else pytest.approx(gap))


def test_the_version_in_force_is_the_latest_that_has_begun() -> None:
    old, new = every(1, starts_on=day(-9)), every(2, starts_on=day(3))
    for regimens in ((old, new), (new, old)):
        assert regimen_on(regimens, day(-10)) is None
        assert regimen_on(regimens, day(2)) is old
        assert regimen_on(regimens, day(3)) is new


def test_only_a_calendar_rule_fixes_days() -> None:
    week = DateRange(date(2026, 3, 9), date(2026, 3, 16))
    assert on_weekdays("MO", "FR").calendar_days(week) == (date(2026, 3, 9), date(2026, 3, 13))
    assert every(2).calendar_days(week) == ()
    assert as_needed().calendar_days(week) == ()
    assert on_weekdays("MO").calendar_days(DateRange(date(2026, 3, 9))) == ()


def test_two_times_on_one_day_are_one_day() -> None:
    twice = by_rule("FREQ=DAILY;BYHOUR=9,18")
    assert len(twice.calendar_days(DateRange(date(2026, 3, 9), date(2026, 3, 12)))) == 3


@pytest.mark.parametrize(
    "rule", ["", "every monday", "FREQ=HOURLY", "FREQ=WEEKLY;BYDAY=XX", "FREQ=DAILY\nFREQ=DAILY"]
)
def test_a_rule_that_is_none_is_refused_by_name(rule: str) -> None:
    with pytest.raises(InvalidValue) as found:
        by_rule(rule)
    assert found.value.fault.field == "rrule"


@pytest.mark.parametrize("starts_on", [date(9998, 1, 2), date.max])
def test_a_rule_that_begins_at_the_end_of_the_calendar_is_refused(starts_on: date) -> None:
    with pytest.raises(InvalidValue, match=f"starts_on is {starts_on}: no calendar reaches"):
        Regimen(starts_on=starts_on, pattern=Pattern.RRULE, rrule="FREQ=DAILY")


@pytest.mark.parametrize("n_days", [0, 61, None, 2.5, True])
def test_a_gap_out_of_bounds_is_refused_by_name(n_days: object) -> None:
    with pytest.raises(InvalidValue):
        Regimen(starts_on=day(0), pattern=Pattern.EVERY_N_DAYS, every_n_days=n_days)  # type: ignore[arg-type]


@pytest.mark.parametrize("limit_ml", [0, 49, 10_001])
def test_a_session_limit_out_of_bounds_is_refused_by_name(limit_ml: int) -> None:
    with pytest.raises(InvalidValue, match=f"session_limit_ml is {limit_ml}"):
        every(2, session_limit_ml=limit_ml)
