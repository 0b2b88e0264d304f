"""Plans of households in the database: computed once, stored, and kept while nothing changed.

A stored plan holds for one version of the inputs, one day, and one side of the supplier's
cut-off time; a plan computed for the same three is the same plan.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time

from sqlalchemy import select as select_columns
from sqlmodel import Session, col, select

from app import clock
from app.changes_rows import supplier_changes, supplier_term_on
from app.db import upsert
from app.errors import NotFound
from app.models import HouseholdRow, StoredPlanRow, SupplierRow
from app.plan_codec import plan_format, plan_from_json, plan_to_json
from app.records import Memory, Record, record_on
from planner.delivery import cut_off_at_home
from planner.errors import PlannerError
from planner.household import Household
from planner.plan import make_plan
from planner.results import Plan, Urgency

LOG = logging.getLogger("ebbstock.planning")

REFRESH_SECONDS = 3.0
"""Longest that a page waits for an agency's plans to be brought up to date. [s]"""

URGENCY_RANK = {urgency: rank for rank, urgency in enumerate(Urgency)}
"""Most urgent first: the order in which the planner lists them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPlan:
    """A plan with what it was computed from.

    Attributes:
        household: the record that it was computed from.
        input_version: version of the household's record; a proposal is confirmed against it.
        computed_at: when, in UTC.
    """

    plan: Plan
    household: Household
    input_version: int
    computed_at: datetime


_plans: Memory[StoredPlan] = Memory()


def plan_for(db: Session, household_id: str, now: datetime) -> StoredPlan:
    """The plan of one household.

    Args:
        db: session; a freshly computed plan is committed.
        household_id: which household; the caller has checked the access.
        now: wall-clock moment in the household's time zone.

    Raises:
        NotFound: when there is no such household.
    """
    record = record_on(db, household_id, now.date())
    if record is None:
        raise NotFound
    return _plans.get(db, household_id, _made_from(record, now)) or _planned(db, record, now)


def plans_for(db: Session, household_ids: Iterable[str]) -> Iterator[StoredPlan]:
    """Plans of many households as of now, one by one, so that progress can be shown."""
    for household_id in household_ids:
        stored = _in_database(db, household_id)
        if stored is not None:
            yield stored


def refresh_agency(db: Session, agency_id: str, *, at_most_seconds: float = REFRESH_SECONDS) -> int:
    """Bring the stored plans of an agency up to date, most urgent first.

    Reads only versions and days first, so that nothing is done when nothing changed. When the
    time is up the others keep their last plan; `app.replanning` computes them meanwhile.

    Returns:
        How many plans are still to be computed.
    """
    began = clock.seconds()
    stale = stale_household_ids(db, agency_id)
    for done, household_id in enumerate(stale):
        if clock.seconds() - began >= at_most_seconds:
            return len(stale) - done
        refresh(db, household_id)
    return 0


def refresh(db: Session, household_id: str) -> None:
    """Compute a household's plan; one that cannot be planned keeps nobody else waiting."""
    try:
        _in_database(db, household_id)
    except PlannerError as error:
        db.rollback()
        LOG.warning("a household could not be planned: %s", type(error).__name__)


def plans_to_order(db: Session, agency_id: str, until: date) -> tuple[Plan, ...]:
    """Stored plans of an agency that want an order placed on or before a day, by household."""
    query = (
        select(StoredPlanRow.plan_json)
        .join(HouseholdRow, col(HouseholdRow.id) == StoredPlanRow.household_id)
        .where(HouseholdRow.agency_id == agency_id)
        .where(col(StoredPlanRow.order_by_on) <= until)
        .order_by(col(HouseholdRow.id))
    )
    plans = (plan_from_json(text) for text in db.exec(query))
    return tuple(plan for plan in plans if plan.order.lines)


def stale_household_ids(db: Session, agency_id: str | None = None) -> tuple[str, ...]:
    """Households whose stored plan is missing or no longer holds, most urgent first.

    Args:
        db: session.
        agency_id: only this agency's; None means everybody's.
    """
    query = (
        select_columns(
            col(HouseholdRow.id),
            col(HouseholdRow.time_zone),
            col(HouseholdRow.input_version),
            col(SupplierRow.cut_off),
            col(SupplierRow.time_zone),
            col(StoredPlanRow.input_version),
            col(StoredPlanRow.as_of),
            col(StoredPlanRow.past_cut_off),
            col(StoredPlanRow.plan_format),
        )
        .join(SupplierRow, col(SupplierRow.household_id) == HouseholdRow.id)
        .outerjoin(StoredPlanRow, col(StoredPlanRow.household_id) == HouseholdRow.id)
        .order_by(
            col(StoredPlanRow.urgency_rank).is_not(None),
            col(StoredPlanRow.urgency_rank),
            col(HouseholdRow.id),
        )
    )
    if agency_id is not None:
        query = query.where(col(HouseholdRow.agency_id) == agency_id)
    changes = supplier_changes(db)
    format_now = plan_format()
    moments: dict[str, datetime] = {}
    stale: list[str] = []
    for key, zone, version, first_cut_off, first_zone, *stored in db.execute(query).all():
        now = moments.setdefault(zone, clock.now_in(zone))
        mine = changes.get(key, ())
        cut_off = cut_off_at_home(
            now.date(),
            supplier_term_on(first_cut_off, "cut_off", mine, now.date()),
            supplier_term_on(first_zone, "time_zone", mine, now.date()),
            zone,
        )
        if tuple(stored) != (version, now.date(), now > cut_off, format_now):
            stale.append(key)
    return tuple(stale)


def _in_database(db: Session, household_id: str) -> StoredPlan | None:
    """The plan as of now, looked up or put into the database, whatever this process remembers."""
    record = record_on(db, household_id)
    if record is None:
        return None
    return _planned(db, record, clock.now_in(record.household.time_zone))


def _is_past_cut_off(record: Record, now: datetime) -> bool:
    home = record.household
    terms = home.supplier
    return now > cut_off_at_home(now.date(), terms.cut_off, terms.time_zone, home.time_zone)


def _made_from(record: Record, now: datetime) -> tuple[object, ...]:
    """All that a plan depends on; for the same a plan is the same."""
    past_cut_off = _is_past_cut_off(record, now)
    return (record.input_version, record.life, record.day, past_cut_off, plan_format())


def _planned(db: Session, record: Record, now: datetime) -> StoredPlan:
    household_id = record.household.id
    row = db.get(StoredPlanRow, household_id, populate_existing=True)
    if row is not None and _holds(row, record, now):
        plan, computed_at = plan_from_json(row.plan_json), row.computed_at
    else:
        plan, computed_at = _compute(db, record, now)
    stored = StoredPlan(
        plan=plan,
        household=record.household,
        input_version=record.input_version,
        computed_at=computed_at,
    )
    _plans.keep(db, household_id, _made_from(record, now), stored)
    return stored


def _holds(row: StoredPlanRow, record: Record, now: datetime) -> bool:
    found = (row.input_version, row.as_of, row.past_cut_off, row.plan_format)
    return found == (record.input_version, record.day, _is_past_cut_off(record, now), plan_format())


def _compute(db: Session, record: Record, now: datetime) -> tuple[Plan, datetime]:
    # No transaction stays open meanwhile, as computing takes its time.
    db.commit()
    past_cut_off = _is_past_cut_off(record, now)
    plan = make_plan(record.household, record.day, at=time.max if past_cut_off else None)
    computed_at = clock.utc_now()
    upsert(
        db,
        StoredPlanRow(
            household_id=record.household.id,
            input_version=record.input_version,
            as_of=record.day,
            past_cut_off=past_cut_off,
            plan_format=plan_format(),
            computed_at=computed_at,
            urgency_rank=URGENCY_RANK[plan.urgency],
            order_by_on=plan.order.order_by_on,
            expected_on=plan.run_out.expected_on,
            cautious_on=plan.run_out.cautious_on,
            plan_json=plan_to_json(plan),
        ),
    )
    db.commit()
    return plan, computed_at
