"""What the forms about settings hold: planner values to fields and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from app import wording_settings as words
from app.errors import as_input
from app.forms import FormReader
from planner.dates import WEEKDAY_NAMES
from planner.errors import Fault
from planner.household import Pause
from planner.regimen import Pattern, Regimen, weekly_rule

REGIMEN_LABELS = {
    "starts_on": "First day",
    "pattern": "How it is written",
    "every_n_days": "Number of days",
    "weekdays": "Weekdays",
    "rrule": "Calendar rule",
    "ordered_by": "Name of the prescriber",
    "session_limit_ml": "Limit for one session",
}
PAUSE_LABELS = {
    "starts_on": "First day away",
    "ends_on": "First day at home again",
    "reason": "Reason",
    "catheter": "Catheter",
}
PATTERN_CHOICES = (
    ("every-n-days", "Every so many days"),
    ("weekdays", "On fixed weekdays"),
    ("as-needed", "As needed"),
    ("rrule", "By a calendar rule"),
)
PAUSE_CHOICES = (("hospital", "In hospital"), ("travel", "Travelling"), ("other", "Other"))


def regimen_values(regimen: Regimen) -> dict[str, str]:
    """A regimen as fields of the form."""
    weekdays = words.weekdays_of(regimen) if regimen.pattern is Pattern.RRULE else None
    values = {
        "pattern": "weekdays" if weekdays else regimen.pattern.value,
        "every_n_days": str(regimen.every_n_days or ""),
        "rrule": "" if weekdays else regimen.rrule or "",
        "ordered_by": regimen.ordered_by,
        "session_limit_ml": str(regimen.session_limit_ml or ""),
    }
    return values | {f"weekday_{one}": "yes" for one in weekdays or ()}


def read_regimen(reader: FormReader, starts_on: date | None, *, named: bool) -> Regimen:
    """The regimen of a form.

    Args:
        reader: the form; what it found wrong before is refused here.
        starts_on: first day, None when it could not be read.
        named: the prescriber must be named.

    Raises:
        InvalidInput: with every fault.
    """
    written = reader.text("pattern")
    if written not in dict(PATTERN_CHOICES):
        reader.fault("pattern", "choose one of those on the page")
    every_n_days = None
    if written == "every-n-days":
        every_n_days = reader.whole("every_n_days", unit="days", example=2, default=1)
    rule = reader.text("rrule") if written == "rrule" else None
    if written == "weekdays":
        rule = _weekly(reader)
    limit_ml = reader.optional_whole("session_limit_ml", unit="mL", example=1000)
    if named and not reader.text("ordered_by"):
        reader.fault("ordered_by", "write who prescribed this")
    ordered_by = reader.short("ordered_by", at_most=120)
    reader.refuse()
    assert starts_on is not None
    with as_input():
        return Regimen(
            starts_on=starts_on,
            pattern=Pattern.RRULE if rule is not None else Pattern(written),
            every_n_days=every_n_days,
            rrule=rule,
            session_limit_ml=limit_ml,
            ordered_by=ordered_by,
        )


def _weekly(reader: FormReader) -> str:
    chosen = [name for n, name in enumerate(WEEKDAY_NAMES) if reader.text(f"weekday_{n}")]
    if not chosen:
        reader.fault("weekdays", "tick at least one weekday")
    return weekly_rule(tuple(chosen))


def pause_values(pause: Pause) -> dict[str, str]:
    """A time away as fields of the form."""
    return {
        "starts_on": pause.starts_on.isoformat(),
        "ends_on": pause.ends_on.isoformat() if pause.ends_on else "",
        "reason": pause.reason if pause.reason in words.PAUSE_REASONS else "other",
        "catheter": pause.catheter_id or "",
    }


def read_pause(values: Mapping[str, str]) -> Pause:
    """The time away of a form.

    Raises:
        InvalidInput: with every fault.
    """
    reader = FormReader(values)
    starts_on, ends_on = reader.day("starts_on"), reader.optional_day("ends_on")
    reason = reader.text("reason")
    if reason not in dict(PAUSE_CHOICES):
        reader.fault("reason", "choose one of those on the page")
    reader.refuse()
    assert starts_on is not None
    with as_input():
        return Pause(
            starts_on=starts_on,
            ends_on=ends_on,
            reason="" if reason == "other" else reason,
            catheter_id=reader.text("catheter") or None,
        )


def flat(faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """Faults of a form that shows one thing only, so that places say nothing."""
    return tuple(replace(fault, place="") for fault in faults)
