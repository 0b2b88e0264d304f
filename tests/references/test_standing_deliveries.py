"""Standing deliveries against the examples of RFC 5545 and published holiday calendars."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest

from planner.delivery import SupplierCalendar
from planner.supply import StandingDelivery
from tests.builders import make_supplier


def calendar(rule: str, starts_on: date, **terms: Any) -> SupplierCalendar:  # noqa: ANN401
    standing = StandingDelivery(rrule=rule, starts_on=starts_on)
    return SupplierCalendar(make_supplier(standing=standing, **terms))


def delivery_days(found: SupplierCalendar, first: date, last: date) -> list[str]:
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return [f"{day:%Y%m%d}" for day in days if found.delivers_on(day)]


# Source: RFC 5545, Internet Calendaring and Scheduling Core Object Specification, section
# 3.8.5.3, examples; the days are the RFC's own.
EXAMPLES = {
    "every other week, forever": (
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "19970902",
        "19971028",
        "19970902 19970916 19970930 19971014 19971028",
    ),
    "every other week on Tuesday and Thursday, for 8 occurrences": (
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "19970902",
        "19971016",
        "19970902 19970904 19970916 19970918 19970930 19971002 19971014 19971016",
    ),
    "monthly on the first Friday, for ten occurrences": (
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "19970905",
        "19980605",
        """19970905 19971003 19971107 19971205 19980102 19980206 19980306 19980403 19980501
        19980605""",
    ),
    "monthly on the second-to-last Monday, for six months": (
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "19970922",
        "19980216",
        "19970922 19971020 19971117 19971222 19980119 19980216",
    ),
    "monthly on the second and fifteenth, for ten occurrences": (
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "19970902",
        "19980115",
        """19970902 19970915 19971002 19971015 19971102 19971115 19971202 19971215 19980102
        19980115""",
    ),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_rfc_5545_example_as_delivery_days(name: str) -> None:
    rule, first, last, expected = EXAMPLES[name]
    begin, end = date.fromisoformat(first), date.fromisoformat(last)
    assert delivery_days(calendar(rule, begin), begin, end) == expected.split()


# Source: bank holidays of England and Wales as published on gov.uk for 2026: 3 April (Good
# Friday), 6 April (Easter Monday), 4 May, 25 May, 25 December, 28 December (substitute); days
# from memory.
@pytest.mark.parametrize(
    ("holiday", "weekday", "moved_to"),
    [
        ("2026-04-06", "MO", "2026-04-07"),
        ("2026-05-04", "MO", "2026-05-05"),
        ("2026-12-25", "FR", "2026-12-29"),
    ],
)
def test_a_bank_holiday_moves_a_standing_delivery_to_the_next_business_day(
    holiday: str, weekday: str, moved_to: str
) -> None:
    closed, later = date.fromisoformat(holiday), date.fromisoformat(moved_to)
    found = calendar(
        f"FREQ=WEEKLY;BYDAY={weekday}",
        date(2026, 1, 1),
        holiday_country="GB",
        holiday_region="ENG",
    )
    assert not found.delivers_on(closed)
    assert found.delivers_on(later)
    span = range(1, (later - closed).days)
    assert not any(found.delivers_on(closed + timedelta(days=n)) for n in span)


# Source: Scotland keeps 2 January and not Easter Monday, England the reverse (gov.uk, bank
# holidays by country; from memory). US states: Cesar Chavez Day in California is no federal day.
@pytest.mark.parametrize(
    ("country", "region", "day", "is_open"),
    [
        ("GB", "SCT", "2026-01-02", False),
        ("GB", "ENG", "2026-01-02", True),
        ("GB", "ENG", "2026-04-06", False),
        ("GB", "SCT", "2026-04-06", True),
        ("DE", "BY", "2026-06-04", False),
        ("DE", "BE", "2026-06-04", True),
        ("PT", None, "2026-06-10", False),
        ("US", None, "2026-11-26", False),
    ],
)
def test_holidays_go_by_country_and_region(
    country: str, region: str | None, day: str, is_open: bool
) -> None:
    """Corpus Christi is kept in Bavaria, not in Berlin (state holiday acts; from memory)."""
    found = SupplierCalendar(make_supplier(holiday_country=country, holiday_region=region))
    assert found.is_open(date.fromisoformat(day)) is is_open


def test_every_second_tuesday_counted_by_hand() -> None:
    """Slots 3, 17 and 31 March 2026; order by three business days before, at three o'clock."""
    found = calendar(
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", date(2026, 3, 3), lead_business_days=3, cut_off=time(15)
    )
    thursday = date(2026, 3, 12)
    assert found.usual_arrival(thursday, time(15)) == date(2026, 3, 17)
    assert found.usual_arrival(thursday, time(15, 1)) == date(2026, 3, 31)
    assert found.usual_arrival(date(2026, 3, 16)) == date(2026, 3, 31)
    assert found.usual_arrival(date(2026, 3, 7)) == date(2026, 3, 17)
