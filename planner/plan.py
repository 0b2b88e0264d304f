"""The front door: a household's record and a day in, a `Plan` out."""

from __future__ import annotations

from datetime import date, time

from planner.household import Household
from planner.results import Plan


def make_plan(household: Household, as_of: date, *, at: time | None = None) -> Plan:
    """Plan one household as of a day."""
    raise NotImplementedError
