"""The only place that reads the clock.

EBBSTOCK_NOW, an ISO 8601 moment, freezes it for tests and pictures; without an offset it is
taken as UTC.
"""

from __future__ import annotations

import os
import time
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def utc_now() -> datetime:
    """The present instant, aware and in UTC."""
    frozen = os.environ.get("EBBSTOCK_NOW")
    if not frozen:
        return datetime.now(UTC)
    moment = datetime.fromisoformat(frozen)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def now_in(time_zone: str) -> datetime:
    """The present wall-clock moment of a time zone, naive as the planner wants it.

    Args:
        time_zone: IANA name.
    """
    return utc_now().astimezone(ZoneInfo(time_zone)).replace(tzinfo=None)


def today_in(time_zone: str) -> date:
    """Today's date in a time zone (IANA name)."""
    return now_in(time_zone).date()


def seconds() -> float:
    """A steadily rising count of seconds, to measure how long something takes. [s]"""
    return time.monotonic()
