"""The session days of a calendar rule against the examples of RFC 5545.

Source: RFC 5545 section 3.8.5.3, expected days as quoted in public test corpora of the RFC.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest

from planner.dates import DateRange
from tests.builders import by_rule, on_weekdays


def session_days(rule: str, starts_on: str, *, days: int = 400) -> list[str]:
    start = date.fromisoformat(starts_on)
    regimen = by_rule(rule, starts_on=start)
    found = regimen.calendar_days(DateRange(start, start + timedelta(days=days)))
    return [f"{one:%Y%m%d}" for one in found]


EXAMPLES = {
    "every other week on Tuesday and Thursday, eight times": (
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "19970902",
        "19970902 19970904 19970916 19970918 19970930 19971002 19971014 19971016",
    ),
    "every ten days, five times": (
        "FREQ=DAILY;INTERVAL=10;COUNT=5",
        "19970902",
        "19970902 19970912 19970922 19971002 19971012",
    ),
    "week starting on Monday": (
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "19970805",
        "19970805 19970810 19970819 19970824",
    ),
    "week starting on Sunday": (
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "19970805",
        "19970805 19970817 19970819 19970831",
    ),
    # The example starts at nine and ends at midnight of the 24th, which leaves out that day; a
    # rule for whole days says the same by ending on the 23rd.
    "every other week on Monday, Wednesday and Friday until Christmas": (
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;WKST=SU;BYDAY=MO,WE,FR",
        "19970901",
        """19970901 19970903 19970905 19970915 19970917 19970919 19970929 19971001 19971003
        19971013 19971015 19971017 19971027 19971029 19971031 19971110 19971112 19971114
        19971124 19971126 19971128 19971208 19971210 19971212 19971222""",
    ),
    "Tuesday and Thursday for five weeks": (
        "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
        "19970902",
        "19970902 19970904 19970909 19970911 19970916 19970918 19970923 19970925 19970930 19971002",
    ),
    # From memory of the section's last example.
    "a day that a month does not have is skipped": (
        "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
        "20070115",
        "20070115 20070130 20070215 20070315 20070330",
    ),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_rfc_5545_example(name: str) -> None:
    rule, starts_on, expected = EXAMPLES[name]
    assert session_days(rule, starts_on) == expected.split()


@pytest.mark.parametrize(
    ("month", "days", "most"),
    [("2026-01-01", 31, 14), ("2027-02-01", 28, 12), ("2028-02-01", 29, 13)],
)
def test_most_sessions_of_three_a_week_that_a_month_can_hold(
    month: str, days: int, most: int
) -> None:
    """Counted by hand: 31 days hold four weeks and three more days."""
    start = date.fromisoformat(month)
    triples = [("MO", "WE", "FR"), ("TU", "TH", "SA"), ("WE", "FR", "SU"), ("TH", "SA", "MO")]
    triples += [("FR", "SU", "TU"), ("SA", "MO", "WE"), ("SU", "TU", "TH")]
    inside = DateRange(start, start + timedelta(days=days))
    counts = [len(on_weekdays(*t, starts_on=start).calendar_days(inside)) for t in triples]
    assert max(counts) == most


def test_three_a_week_is_thirteen_a_month() -> None:
    """52 weeks times 3 over 12 months; arithmetic."""
    gap = on_weekdays("MO", "WE", "FR").usual_gap_days
    assert gap is not None
    assert gap == pytest.approx(7 / 3)
    assert 364 / gap / 12 == pytest.approx(13.0)


def test_daylight_saving_moves_no_session() -> None:
    """Clocks in Lisbon went forward on 29 March 2026; a day rule knows no hours."""
    spring = DateRange(date(2026, 3, 20), date(2026, 4, 10))
    days = by_rule("FREQ=DAILY;INTERVAL=2", starts_on=date(2026, 3, 20)).calendar_days(spring)
    assert {(b - a).days for a, b in pairwise(days)} == {2}
