"""The prescribed drain frequency and the days it falls on.

A regimen is what the prescriber wrote down. Nothing here proposes another one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from itertools import takewhile

from dateutil.rrule import rrule, rrulestr

from planner.dates import DateRange
from planner.errors import InvalidValue, require_int

_FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
_RULE = re.compile(r"[A-Z0-9=;,+-]+")
_TWO_YEARS = timedelta(days=731)


class Pattern(StrEnum):
    """How a drain frequency is written.

    EVERY_N_DAYS counts from the last session; RRULE is fixed to the calendar (weekdays
    or any RFC 5545 recurrence); AS_NEEDED follows symptoms.
    """

    EVERY_N_DAYS = "every-n-days"
    RRULE = "rrule"
    AS_NEEDED = "as-needed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Regimen:
    """One version of the prescribed drain frequency, valid from a date.

    Attributes:
        starts_on: first day on which it holds.
        pattern: how the frequency is written.
        every_n_days: days from one session to the next, for EVERY_N_DAYS. [days]
        rrule: recurrence rule of RFC 5545 section 3.3.10, for RRULE. It is expanded
            from `starts_on`; UNTIL and COUNT are honoured.
        session_limit_ml: most that the prescriber allows in one session. [mL]
        ordered_by: who prescribed it.
    """

    starts_on: date
    pattern: Pattern
    every_n_days: int | None = None
    rrule: str | None = None
    session_limit_ml: int | None = None
    ordered_by: str = ""

    def __post_init__(self) -> None:
        if self.session_limit_ml is not None:
            limit = self.session_limit_ml
            require_int("session_limit_ml", limit, at_least=50, at_most=10_000, unit="mL")
        if self.pattern is Pattern.EVERY_N_DAYS:
            if self.every_n_days is None:
                raise InvalidValue("every_n_days", None, "say after how many days to drain again")
            require_int("every_n_days", self.every_n_days, at_least=1, at_most=60, unit="days")
        if self.pattern is Pattern.RRULE:
            parse_rrule(self.rrule or "", self.starts_on)

    def calendar_days(self, days: DateRange) -> tuple[date, ...]:
        """Session days that the calendar fixes within a closed range of days.

        Returns:
            The days in order, each once. Empty for patterns that no calendar fixes.

        References:
            RFC 5545 section 3.8.5.3, recurrence rule.
        """
        if self.pattern is not Pattern.RRULE or days.ends_on is None:
            return ()
        rule = parse_rrule(self.rrule or "", self.starts_on)
        last = days.ends_on - timedelta(days=1)
        moments = takewhile(lambda moment: moment.date() <= last, _ending(rule, last))
        found = {moment.date() for moment in moments}
        return tuple(sorted(day for day in found if day >= days.starts_on))

    @property
    def usual_gap_days(self) -> float | None:
        """Mean days between prescribed sessions; None when as needed. [days]

        Three a week is 7/3 days, so thirteen a month and not twelve.
        """
        if self.pattern is Pattern.EVERY_N_DAYS:
            return float(self.every_n_days or 0)
        if self.pattern is Pattern.AS_NEEDED:
            return None
        span_days = 364
        end = self.starts_on + timedelta(days=span_days)
        count = len(self.calendar_days(DateRange(self.starts_on, end)))
        return span_days / count if count else None


def parse_rrule(text: str, starts_on: date) -> rrule:
    """Read a recurrence rule that begins on `starts_on`.

    An UNTIL in universal time is read by its day, as this planner knows days only.

    Raises:
        InvalidValue: when the text is not one daily, weekly, monthly or yearly rule that
            falls on a day within two years, or when no calendar reaches that far.
    """
    try:
        last_look = starts_on + _TWO_YEARS
    except OverflowError as error:
        fix = "no calendar reaches two years further; check the year"
        raise InvalidValue("starts_on", starts_on, fix) from error
    rule_text = text.strip().upper().removeprefix("RRULE:")
    parts = dict(part.partition("=")[::2] for part in rule_text.split(";"))
    if parts.get("FREQ") not in _FREQUENCIES or not _RULE.fullmatch(rule_text):
        fix = "write one recurrence rule such as FREQ=WEEKLY;BYDAY=MO,WE,FR"
        raise InvalidValue("rrule", text, fix)
    if not parts.get("INTERVAL", "1").isdecimal() or int(parts.get("INTERVAL", "1")) < 1:
        raise InvalidValue("rrule", text, "give INTERVAL as a whole number from 1")
    try:
        days_only = re.sub(r"(UNTIL=\d{8}(T\d{6})?)Z", r"\1", rule_text)
        rule = rrulestr(days_only, dtstart=datetime.combine(starts_on, time.min))
        if not isinstance(rule, rrule):
            raise TypeError("several rules")  # noqa: TRY301
        first = next(iter(_ending(rule, last_look)), None)
    except (ValueError, TypeError) as error:
        fix = f"it is not a recurrence rule of RFC 5545 ({error})"
        raise InvalidValue("rrule", text, fix) from error
    if first is None:
        raise InvalidValue("rrule", text, "it falls on no day within two years; check it")
    return rule


def _ending(rule: rrule, day: date) -> rrule:
    """The same rule, looked at no further than a day."""
    last = datetime.combine(day, time.max)
    until: datetime | None = getattr(rule, "_until", None)
    if getattr(rule, "_count", None) is not None:
        return rule
    return rule.replace(until=last if until is None else min(until, last))


def weekly_rule(weekdays: tuple[str, ...]) -> str:
    """Write the recurrence rule for fixed weekdays, e.g. ("MO", "WE", "FR")."""
    return "FREQ=WEEKLY;BYDAY=" + ",".join(weekdays)


def regimen_on(regimens: tuple[Regimen, ...], day: date) -> Regimen | None:
    """The version in force on a day; None before the first one."""
    latest = None
    for regimen in regimens:
        if regimen.starts_on <= day and (latest is None or regimen.starts_on > latest.starts_on):
            latest = regimen
    return latest
