"""The prescribed drain frequency and the days it falls on.

A regimen is what the prescriber wrote down. Nothing here proposes another one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from dateutil.rrule import rrule, rruleset, rrulestr

from planner.dates import DateRange
from planner.errors import InvalidValue, require_int


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
        found = rule.between(
            datetime.combine(days.starts_on, time.min),
            datetime.combine(last, time.max),
            inc=True,
        )
        return tuple(sorted({moment.date() for moment in found}))

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


def parse_rrule(text: str, starts_on: date) -> rrule | rruleset:
    """Read a recurrence rule that begins on `starts_on`.

    Raises:
        InvalidValue: when the text is not one daily, weekly, monthly or yearly rule.
    """
    frequency = text.upper().partition("FREQ=")[2].partition(";")[0]
    if frequency not in ("DAILY", "WEEKLY", "MONTHLY", "YEARLY") or "\n" in text:
        fix = "write one recurrence rule such as FREQ=WEEKLY;BYDAY=MO,WE,FR"
        raise InvalidValue("rrule", text, fix)
    try:
        return rrulestr(text, dtstart=datetime.combine(starts_on, time.min))
    except (ValueError, TypeError) as error:
        fix = f"it is not a recurrence rule of RFC 5545 ({error})"
        raise InvalidValue("rrule", text, fix) from error


def weekly_rule(weekdays: tuple[str, ...]) -> str:
    """Write the recurrence rule for fixed weekdays, e.g. ("MO", "WE", "FR")."""
    return "FREQ=WEEKLY;BYDAY=" + ",".join(weekdays)


def regimen_on(regimens: tuple[Regimen, ...], day: date) -> Regimen | None:
    """The version in force on a day; None before the first one."""
    in_force = [regimen for regimen in regimens if regimen.starts_on <= day]
    return max(in_force, key=lambda regimen: regimen.starts_on) if in_force else None
