"""Business days and refill windows against published examples, dates and numpy."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from planner.delivery import SupplierCalendar
from planner.refill_rules import refill_window, rule_on
from planner.supply import Closure
from tests.builders import make_supplier

PLAIN = SupplierCalendar(make_supplier())
AMERICAN = SupplierCalendar(make_supplier(holiday_country="US"))


@pytest.mark.parametrize(
    ("day", "roll", "count", "expected"),
    [
        ("2011-10-01", "forward", 0, "2011-10-03"),
        ("2012-03-01", "forward", -1, "2012-02-29"),
        ("2011-03-20", "backward", 1, "2011-03-21"),
        ("2011-03-22", "backward", 1, "2011-03-23"),
    ],
)
def test_examples_of_numpy_busday_offset(day: str, roll: str, count: int, expected: str) -> None:
    """Source: numpy documentation, `busday_offset`, examples."""
    start = date.fromisoformat(day)
    rolled = PLAIN.open_on_or_after(start) if roll == "forward" else PLAIN.open_on_or_before(start)
    if count < 0:
        found = PLAIN.open_on_or_before(rolled - timedelta(days=1))
    else:
        found = PLAIN.add_business_days(rolled, count)
    assert found == date.fromisoformat(expected)


@pytest.mark.parametrize(
    ("first", "end", "expected"),
    [("2011-01-01", "2011-02-01", 21), ("2011-01-01", "2012-01-01", 260)],
)
def test_examples_of_numpy_busday_count(first: str, end: str, expected: int) -> None:
    """Source: numpy documentation, `busday_count`, examples."""
    start, stop = date.fromisoformat(first), date.fromisoformat(end)
    days = (start + timedelta(days=n) for n in range((stop - start).days))
    assert sum(PLAIN.is_open(one) for one in days) == expected


# Source: U.S. Office of Personnel Management, Federal Holidays, 2026; days from memory, of which
# 3 July (Independence Day observed, the 4th being a Saturday) tells a naive table apart.
FEDERAL_HOLIDAYS_2026 = [
    "01-01",
    "01-19",
    "02-16",
    "05-25",
    "06-19",
    "07-03",
    "09-07",
    "10-12",
    "11-11",
    "11-26",
    "12-25",
]


def test_us_federal_holidays_of_2026() -> None:
    closed = [
        f"{one:%m-%d}"
        for one in (date(2026, 1, 1) + timedelta(days=n) for n in range(365))
        if one.weekday() < 5 and not AMERICAN.is_open(one)
    ]
    assert closed == FEDERAL_HOLIDAYS_2026


def test_a_thousand_random_offsets_agree_with_numpy() -> None:
    """Reference library: numpy `busday_offset`, with the same holidays and closures."""
    rng = np.random.default_rng(11)
    shut = Closure(starts_on=date(2026, 8, 3), ends_on=date(2026, 8, 14))
    calendar = SupplierCalendar(make_supplier(holiday_country="US", closures=(shut,)))
    holidays = [f"2026-{day}" for day in FEDERAL_HOLIDAYS_2026]
    holidays += [f"2026-08-{n:02}" for n in range(3, 15)]
    cases = zip(rng.integers(0, 240, 1000), rng.integers(0, 40, 1000), strict=True)
    for offset, count in cases:
        day = date(2026, 1, 1) + timedelta(days=int(offset))
        expected = np.busday_offset(day, count, roll="forward", holidays=holidays).item()
        found = calendar.add_business_days(calendar.open_on_or_after(day), int(count))
        assert found == expected, (day, count)


@pytest.mark.parametrize(
    ("ends_on", "contact_on", "delivery_on"),
    [
        (date(2026, 3, 31), date(2026, 3, 1), date(2026, 3, 21)),
        (date(2024, 3, 1), date(2024, 1, 31), date(2024, 2, 20)),
    ],
)
def test_refill_window_thirty_and_ten_calendar_days(
    ends_on: date, contact_on: date, delivery_on: date
) -> None:
    """Source: CMS-1780-F, in force from 1 January 2024; dates counted by hand, one leap year."""
    rule = rule_on("us-medicare", ends_on)
    assert rule is not None
    window = refill_window(rule, ends_on)
    assert (window.contact_on, window.delivery_on) == (contact_on, delivery_on)


def test_no_refill_rule_before_it_came_into_force() -> None:
    """Source: CMS-1780-F, in force from 1 January 2024."""
    assert rule_on("us-medicare", date(2023, 12, 31)) is None
    assert rule_on("us-medicare", date(2024, 1, 1)) is not None
