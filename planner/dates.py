"""Dates of the planner.

Conventions, stated once: a day is a `datetime.date` in the household's own time zone;
a moment is a naive `datetime.datetime` of the same wall clock; a date range includes
its first day and excludes its last.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.errors import InvalidValue

WEEKDAY_NAMES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")

_SECONDS_PER_DAY = 86_400.0


@dataclass(frozen=True, slots=True)
class DateRange:
    """Days from `starts_on` up to but not including `ends_on`; open-ended when None."""

    starts_on: date
    ends_on: date | None = None

    def __post_init__(self) -> None:
        if self.ends_on is not None and self.ends_on < self.starts_on:
            fix = f"it must not be before the start, {self.starts_on}"
            raise InvalidValue("ends_on", self.ends_on, fix)

    def __contains__(self, day: date) -> bool:
        return self.starts_on <= day and (self.ends_on is None or day < self.ends_on)

    def overlaps(self, other: DateRange) -> bool:
        """Whether some day lies in both."""
        ends = [one.ends_on for one in (self, other) if one.ends_on is not None]
        return not ends or max(self.starts_on, other.starts_on) < min(ends)


def days_from(first: date, count: int) -> Iterator[date]:
    """Yield `count` days beginning with `first`."""
    return (first + timedelta(days=offset) for offset in range(count))


def days_between(earlier: datetime, later: datetime) -> float:
    """Time between two wall-clock moments. [days, fractional]"""
    return (later - earlier).total_seconds() / _SECONDS_PER_DAY


def in_any(day: date, ranges: Iterable[DateRange]) -> bool:
    """Whether a day lies in at least one of the ranges."""
    return any(day in one for one in ranges)


def end_of_day(day: date) -> datetime:
    """The midnight that ends a day."""
    return datetime.combine(day, time.min) + timedelta(days=1)


def require_time_zone(field: str, name: str) -> None:
    """Refuse what is no time zone of the IANA database.

    Raises:
        InvalidValue: naming the field.
    """
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        fix = "give a time zone by its IANA name, for example Europe/London"
        raise InvalidValue(field, name, fix) from error
