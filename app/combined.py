"""Reads for a coordinator: the plans that matter now, and the combined order.

Stored plans are used as they stand; call `refresh_agency` before.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session, col, select

from app import queries
from app.access import AgencyAccess
from app.models import HouseholdRow, StoredPlanRow
from app.plan_codec import plan_from_json
from app.planning import plans_to_order
from planner.household import Household
from planner.results import Plan
from planner.rollup import CombinedOrder, combine

WITHIN_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class DueOrders:
    """The combined orders of the coming week with the records they come from."""

    orders: tuple[CombinedOrder, ...]
    households: dict[str, Household]


def due_orders(db: Session, access: AgencyAccess, today: date) -> DueOrders:
    """The orders to place within a week, by supplier and day of delivery.

    Args:
        db: session.
        access: the coordinator's way into the agency.
        today: the agency's day; households elsewhere may be a day off, so one more is read.
    """
    last = today + timedelta(days=WITHIN_DAYS + 1)
    plans = plans_to_order(db, access.agency_id, last)
    households = queries.records_of(db, access, [plan.household_id for plan in plans])
    orders = combine(plans, households, within_days=WITHIN_DAYS)
    return DueOrders(orders=orders, households=households)


def plans_of(db: Session, access: AgencyAccess, household_ids: Iterable[str]) -> dict[str, Plan]:
    """Stored plans of some of an agency's households, by id; others are left out."""
    query = (
        select(StoredPlanRow.household_id, StoredPlanRow.plan_json)
        .join(HouseholdRow, col(HouseholdRow.id) == StoredPlanRow.household_id)
        .where(col(HouseholdRow.agency_id) == access.agency_id)
        .where(col(StoredPlanRow.household_id).in_(list(household_ids)))
    )
    return {key: plan_from_json(text) for key, text in db.exec(query)}
