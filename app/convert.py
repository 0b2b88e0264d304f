"""Rows to planner types and back; with `app.convert_rows` the only file that knows both.

A household that is written and read again is equal to the one that was written.
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import replace
from datetime import date
from typing import TypeVar

from sqlmodel import Session, SQLModel, select

from app import clock
from app import models as m
from app.changes import Parts, lay_over, with_items_named, with_kits_by_rule
from app.changes_rows import read_changes
from app.convert_ledger import ledger_entry, ledger_row
from app.convert_rows import (
    CARE_TEAM,
    SUPPLIER,
    add_order,
    add_session,
    write_household,
)
from app.models_orders import OrderStepRow
from planner.household import Catheter, ClinicalGroup, Household, Pause, PlanSettings, Site
from planner.items import ItemKind, SupplyItem
from planner.order_steps import OrderStep
from planner.regimen import Pattern, Regimen
from planner.sessions import BottleUse, LossReason, StopReason
from planner.sessions import Session as DrainSession
from planner.supply import (
    AuthorizedQuantity,
    Closure,
    Contact,
    Order,
    OrderLine,
    OrderStatus,
    StandingDelivery,
    SupplierTerms,
)

__all__ = [
    "add_order",
    "add_session",
    "ledger_row",
    "read_household",
    "read_parts",
    "write_household",
]

Row = TypeVar("Row", bound=SQLModel)


def read_household(db: Session, household_id: str, on: date | None = None) -> Household | None:
    """A household's whole record with the settings of a day; None when there is none.

    Args:
        db: session.
        household_id: which household.
        on: which day; today in the household's time zone by default.
    """
    row = db.get(m.HouseholdRow, household_id, populate_existing=True)
    if row is None:
        return None
    day = on or clock.today_in(row.time_zone)
    first = _first_parts(db, row)
    changes = read_changes(db, household_id)
    parts = lay_over(first, changes, day)
    sessions = _sessions(db, household_id)
    household = Household(
        id=row.id,
        name=row.name,
        time_zone=row.time_zone,
        items=tuple(parts.items.values()),
        catheters=tuple(parts.catheters.values()),
        supplier=replace(parts.supplier, closures=tuple(parts.closures.values())),
        sessions=with_items_named(sessions, first, changes, day),
        ledger=tuple(ledger_entry(one) for one in _rows(db, m.LedgerRow, household_id)),
        orders=_orders(db, household_id),
        pauses=tuple(parts.pauses.values()),
        authorized=tuple(parts.authorized.values()),
        care_team=parts.care_team,
        settings=parts.plan,
    )
    return with_kits_by_rule(household, sessions, first, changes, day)


def read_parts(db: Session, household_id: str, on: date) -> Parts:
    """A household's settings on a day, each part by its key.

    Raises:
        NoResultFound: when there is no such household.
    """
    first = _first_parts(db, db.get_one(m.HouseholdRow, household_id))
    return lay_over(first, read_changes(db, household_id), on)


def _first_parts(db: Session, row: m.HouseholdRow) -> Parts:
    """The settings as they were first written."""
    key = row.id
    contacts = {
        one.duty: Contact(name=one.name, phone=one.phone) for one in _rows(db, m.ContactRow, key)
    }
    return Parts(
        name=row.name,
        time_zone=row.time_zone,
        items={one.code: _item(one) for one in _rows(db, m.ItemRow, key)},
        catheters={one.id: one for one in _catheters(db, key)},
        supplier=_supplier(db, key, contacts.get(SUPPLIER)),
        closures={
            f"row-{one.id}": Closure(
                starts_on=one.starts_on, ends_on=one.ends_on, reason=one.reason
            )
            for one in _rows(db, m.ClosureRow, key)
        },
        pauses={f"row-{one.id}": _pause(one) for one in _rows(db, m.PauseRow, key)},
        authorized={f"row-{one.id}": _authorized(one) for one in _rows(db, m.AuthorizedRow, key)},
        care_team=contacts.get(CARE_TEAM),
        plan=PlanSettings(
            protection=row.protection,
            cover_days=row.cover_days,
            horizon_days=row.horizon_days,
            refill_rule=row.refill_rule,
            most_units_at_home=row.most_units_at_home,
            prescription_ends_on=row.prescription_ends_on,
        ),
    )


def _rows(db: Session, table: type[Row], household_id: str) -> list[Row]:
    columns = table.__table__.c  # type: ignore[attr-defined]
    query = select(table).where(columns.household_id == household_id).order_by(columns.id)
    # A row that the session holds already may be older than the household's version.
    return list(db.exec(query.execution_options(populate_existing=True)))


def _item(row: m.ItemRow) -> SupplyItem:
    return SupplyItem(
        code=row.code,
        name=row.name,
        kind=ItemKind(row.kind),
        capacity_ml=row.capacity_ml,
        units_per_box=row.units_per_box,
    )


def _catheters(db: Session, household_id: str) -> tuple[Catheter, ...]:
    regimens: dict[str, list[Regimen]] = defaultdict(list)
    for row in _rows(db, m.RegimenRow, household_id):
        regimens[row.catheter_key].append(_regimen(row))
    return tuple(
        Catheter(
            id=row.key,
            label=row.label,
            site=Site(row.site),
            regimens=tuple(regimens[row.key]),
            kit_code=row.kit_code,
            bottle_code=row.bottle_code,
            clinical_group=ClinicalGroup(row.clinical_group),
            expected_ml_per_day=row.expected_ml_per_day,
            removed_on=row.removed_on,
            other_kit_codes=tuple(json.loads(row.other_kits or "[]")),
        )
        for row in _rows(db, m.CatheterRow, household_id)
    )


def _regimen(row: m.RegimenRow) -> Regimen:
    return Regimen(
        starts_on=row.starts_on,
        pattern=Pattern(row.pattern),
        every_n_days=row.every_n_days,
        rrule=row.rrule,
        session_limit_ml=row.session_limit_ml,
        ordered_by=row.ordered_by,
    )


def _supplier(db: Session, household_id: str, contact: Contact | None) -> SupplierTerms:
    row = db.get_one(m.SupplierRow, household_id, populate_existing=True)
    weekdays = row.delivery_weekdays
    return SupplierTerms(
        name=row.name,
        lead_business_days=row.lead_business_days,
        cut_off=row.cut_off,
        time_zone=row.time_zone,
        delivery_weekdays=None if weekdays is None else tuple(map(int, weekdays.split(","))),
        standing=_standing(row),
        holiday_country=row.holiday_country,
        holiday_region=row.holiday_region,
        minimum_boxes=row.minimum_boxes,
        express_business_days=row.express_business_days,
        contact=contact,
    )


def _standing(row: m.SupplierRow) -> StandingDelivery | None:
    if row.standing_rrule is None or row.standing_starts_on is None:
        return None
    return StandingDelivery(rrule=row.standing_rrule, starts_on=row.standing_starts_on)


def _sessions(db: Session, household_id: str) -> tuple[DrainSession, ...]:
    bottles: dict[str, list[BottleUse]] = defaultdict(list)
    for one in _rows(db, m.BottleRow, household_id):
        loss = None if one.loss is None else LossReason(one.loss)
        use = BottleUse(volume_ml=one.volume_ml, item_code=one.item_code, loss=loss)
        bottles[one.session_key].append(use)
    return tuple(
        DrainSession(
            id=row.key,
            catheter_id=row.catheter_key,
            started_at=row.started_at,
            bottles=tuple(bottles[row.key]),
            stop_reason=StopReason(row.stop_reason),
        )
        for row in _rows(db, m.DrainSessionRow, household_id)
    )


def _orders(db: Session, household_id: str) -> tuple[Order, ...]:
    lines: dict[str, list[OrderLine]] = defaultdict(list)
    for one in _rows(db, m.OrderLineRow, household_id):
        lines[one.order_key].append(OrderLine(item_code=one.item_code, boxes=one.boxes))
    steps: dict[str, list[OrderStep]] = defaultdict(list)
    for step in sorted(_rows(db, OrderStepRow, household_id), key=lambda one: one.number):
        steps[step.order_key].append(_order_step(step))
    return tuple(
        Order(
            id=row.key,
            placed_at=row.placed_at,
            lines=tuple(lines[row.key]),
            status=OrderStatus(row.status),
            promised_on=row.promised_on,
            received_on=row.received_on,
            confirmed_by=row.confirmed_by,
            is_express=bool(row.is_express),
            steps=tuple(steps[row.key]),
        )
        for row in _rows(db, m.OrderRow, household_id)
    )


def _order_step(row: OrderStepRow) -> OrderStep:
    return OrderStep(
        kind=OrderStatus(row.kind),
        at=row.at,
        by=row.by_name,
        expected_on=row.expected_on,
        note=row.note,
        delivery=row.delivery_key,
        taken_back_at=row.taken_back_at,
        taken_back_by=row.taken_back_by,
    )


def _pause(row: m.PauseRow) -> Pause:
    return Pause(
        starts_on=row.starts_on,
        ends_on=row.ends_on,
        reason=row.reason,
        catheter_id=row.catheter_key,
    )


def _authorized(row: m.AuthorizedRow) -> AuthorizedQuantity:
    return AuthorizedQuantity(
        item_code=row.item_code,
        units=row.units,
        per_days=row.per_days,
        starts_on=row.starts_on,
    )
