"""Plans of a supposed change: computed, shown, and never stored."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from sqlmodel import Session

from app.access import HouseholdAccess
from app.errors import InvalidInput, faults_of
from app.planning import plan_for
from planner.comparison import Comparison, compare
from planner.errors import PlannerError
from planner.household import Household
from planner.packing import PackingList, what_to_pack
from planner.plan import make_plan
from planner.what_if import Supposition, changed


def suppose(
    db: Session, access: HouseholdAccess, record: Household, change: Supposition, now: datetime
) -> Comparison:
    """The plan as it is and as it would be.

    Args:
        db: session; the plan as it is may be stored, nothing else is.
        access: the household; the caller has checked the access.
        record: its record.
        change: what is supposed.
        now: wall-clock moment in the household's time zone.

    Raises:
        InvalidInput: when the change does not fit the record.
    """
    before = plan_for(db, access.household_id, now).plan
    try:
        after = make_plan(changed(record, change, now.date()), now.date(), at=now.time())
    except PlannerError as error:
        # A question is about one thing, so its form needs no place in the record.
        raise InvalidInput(replace(fault, place="") for fault in faults_of(error)) from error
    return compare(before, after)


def pack(
    record: Household, today: date, starts_on: date, ends_on: date, *, spare_days: int
) -> PackingList:
    """What to pack for days away.

    Raises:
        InvalidInput: fields `starts_on`, `ends_on`, `spare_days`.
    """
    try:
        return what_to_pack(record, today, starts_on, ends_on, spare_days=spare_days)
    except PlannerError as error:
        raise InvalidInput(faults_of(error)) from error
