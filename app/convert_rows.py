"""Planner types to rows; `app.convert` reads them back."""

from __future__ import annotations

import json
from collections.abc import Iterable

from sqlmodel import Session, SQLModel

from app import models as m
from app.convert_ledger import ledger_row
from app.models_orders import OrderStepRow
from app.security import new_key
from planner.household import Catheter, Household
from planner.sessions import Session as DrainSession
from planner.supply import Contact, Order, SupplierTerms

CARE_TEAM = "care-team"
SUPPLIER = "supplier"


def write_household(db: Session, household: Household, *, agency_id: str | None = None) -> None:
    """Add a whole new household; the caller commits."""
    settings = household.settings
    db.add(
        m.HouseholdRow(
            id=household.id,
            agency_id=agency_id,
            name=household.name,
            time_zone=household.time_zone,
            protection=settings.protection,
            cover_days=settings.cover_days,
            horizon_days=settings.horizon_days,
            refill_rule=settings.refill_rule,
            most_units_at_home=settings.most_units_at_home,
            prescription_ends_on=settings.prescription_ends_on,
            life=new_key(),
        )
    )
    db.flush()
    db.add_all(_shared_rows(household))
    db.flush()
    for session in household.sessions:
        add_session(db, household.id, session)
    for entry in household.ledger:
        db.add(ledger_row(household.id, entry))
    for order in household.orders:
        add_order(db, household.id, order)
    db.flush()


def _shared_rows(household: Household) -> Iterable[SQLModel]:
    key = household.id
    yield from _supplier_rows(key, household.supplier)
    if household.care_team is not None:
        yield _contact_row(key, CARE_TEAM, household.care_team)
    for item in household.items:
        yield m.ItemRow(
            household_id=key,
            code=item.code,
            name=item.name,
            kind=item.kind.value,
            capacity_ml=item.capacity_ml,
            units_per_box=item.units_per_box,
        )
    for catheter in household.catheters:
        yield from _catheter_rows(key, catheter)
    for pause in household.pauses:
        yield m.PauseRow(
            household_id=key,
            starts_on=pause.starts_on,
            ends_on=pause.ends_on,
            reason=pause.reason,
            catheter_key=pause.catheter_id,
        )
    for limit in household.authorized:
        yield m.AuthorizedRow(
            household_id=key,
            item_code=limit.item_code,
            units=limit.units,
            per_days=limit.per_days,
            starts_on=limit.starts_on,
        )


def _supplier_rows(key: str, terms: SupplierTerms) -> Iterable[SQLModel]:
    weekdays, standing = terms.delivery_weekdays, terms.standing
    yield m.SupplierRow(
        household_id=key,
        name=terms.name,
        lead_business_days=terms.lead_business_days,
        cut_off=terms.cut_off,
        time_zone=terms.time_zone,
        delivery_weekdays=None if weekdays is None else ",".join(map(str, weekdays)),
        standing_rrule=standing.rrule if standing else None,
        standing_starts_on=standing.starts_on if standing else None,
        holiday_country=terms.holiday_country,
        holiday_region=terms.holiday_region,
        minimum_boxes=terms.minimum_boxes,
        express_business_days=terms.express_business_days,
    )
    for closure in terms.closures:
        yield m.ClosureRow(
            household_id=key,
            starts_on=closure.starts_on,
            ends_on=closure.ends_on,
            reason=closure.reason,
        )
    if terms.contact is not None:
        yield _contact_row(key, SUPPLIER, terms.contact)


def _contact_row(key: str, duty: str, contact: Contact) -> m.ContactRow:
    return m.ContactRow(household_id=key, duty=duty, name=contact.name, phone=contact.phone)


def _catheter_rows(key: str, catheter: Catheter) -> Iterable[SQLModel]:
    others = catheter.other_kit_codes
    yield m.CatheterRow(
        household_id=key,
        key=catheter.id,
        label=catheter.label,
        site=catheter.site.value,
        kit_code=catheter.kit_code,
        bottle_code=catheter.bottle_code,
        clinical_group=catheter.clinical_group.value,
        expected_ml_per_day=catheter.expected_ml_per_day,
        removed_on=catheter.removed_on,
        other_kits=json.dumps(others) if others else None,
    )
    for regimen in catheter.regimens:
        yield m.RegimenRow(
            household_id=key,
            catheter_key=catheter.id,
            starts_on=regimen.starts_on,
            pattern=regimen.pattern.value,
            every_n_days=regimen.every_n_days,
            rrule=regimen.rrule,
            session_limit_ml=regimen.session_limit_ml,
            ordered_by=regimen.ordered_by,
        )


def add_session(db: Session, household_id: str, session: DrainSession) -> m.DrainSessionRow:
    """Add a session and its bottles; the caller commits."""
    row = m.DrainSessionRow(
        household_id=household_id,
        key=session.id,
        catheter_key=session.catheter_id,
        started_at=session.started_at,
        stop_reason=session.stop_reason.value,
    )
    db.add(row)
    for bottle in session.bottles:
        db.add(
            m.BottleRow(
                household_id=household_id,
                session_key=session.id,
                volume_ml=bottle.volume_ml,
                item_code=bottle.item_code,
                loss=None if bottle.loss is None else bottle.loss.value,
            )
        )
    return row


def add_order(db: Session, household_id: str, order: Order) -> m.OrderRow:
    """Add an order, its lines and its steps; the caller commits."""
    row = m.OrderRow(
        household_id=household_id,
        key=order.id,
        placed_at=order.placed_at,
        status=order.status.value,
        promised_on=order.promised_on,
        received_on=order.received_on,
        confirmed_by=order.confirmed_by,
        is_express=order.is_express,
    )
    db.add(row)
    for line in order.lines:
        db.add(
            m.OrderLineRow(
                household_id=household_id,
                order_key=order.id,
                item_code=line.item_code,
                boxes=line.boxes,
            )
        )
    db.add_all(order_step_rows(household_id, order))
    return row


def order_step_rows(household_id: str, order: Order) -> list[OrderStepRow]:
    """The rows of an order's steps, numbered from 1."""
    return [
        OrderStepRow(
            household_id=household_id,
            order_key=order.id,
            number=n,
            kind=step.kind.value,
            at=step.at,
            by_name=step.by,
            expected_on=step.expected_on,
            note=step.note,
            delivery_key=step.delivery,
            taken_back_at=step.taken_back_at,
            taken_back_by=step.taken_back_by,
        )
        for n, step in enumerate(order.steps, 1)
    ]
