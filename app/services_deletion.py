"""Deleting a household for good, and what goes with it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func
from sqlmodel import Session, SQLModel, col, delete, select

from app.access import HouseholdAccess, Permission
from app.db import whole
from app.errors import InvalidInput, NotFound
from app.models import DrainSessionRow, FeedRow, HouseholdRow, LedgerRow, MembershipRow, OrderRow
from app.models_reminders import ReminderChoiceRow
from app.records import forget_household
from planner.errors import Fault, show


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatGoes:
    """How much is deleted with a household."""

    sessions: int
    shelf_entries: int
    orders: int
    people: int
    calendars: int
    reminders: int


def what_goes(db: Session, access: HouseholdAccess) -> WhatGoes:
    """How much would be deleted with a household."""

    def count(table: type[SQLModel]) -> int:
        columns = table.__table__.c  # type: ignore[attr-defined]
        query = select(func.count()).select_from(table)
        return db.exec(query.where(columns.household_id == access.household_id)).one()

    return WhatGoes(
        sessions=count(DrainSessionRow),
        shelf_entries=count(LedgerRow),
        orders=count(OrderRow),
        people=count(MembershipRow),
        calendars=count(FeedRow),
        reminders=count(ReminderChoiceRow),
    )


def delete_household(db: Session, access: HouseholdAccess, typed_name: str) -> None:
    """Delete a household and everything that belongs to it, at once and for good.

    Args:
        db: session.
        access: of somebody who may manage it.
        typed_name: its name as the person typed it, so that nobody does this by a slip.

    Raises:
        NotFound: when the account may not do this, or it is gone already.
        InvalidInput: field `name`; nothing was deleted.
    """
    access.require(Permission.MANAGE)
    if " ".join(typed_name.split()).lower() != " ".join(access.household_name.split()).lower():
        fix = f"write {access.household_name} to delete it"
        raise InvalidInput([Fault(field="name", value=show(typed_name.strip()), fix=fix)])
    with whole(db):
        erase_household(db, access.household_id)


def erase_household(db: Session, household_id: str) -> None:
    """Delete a household from every table; the caller has checked the right, and commits.

    Rows that hang on a row of the household, such as what its calendars last said, go by the
    database's own rules.

    Raises:
        NotFound: when there is no such household.
    """
    for table in reversed(SQLModel.metadata.sorted_tables):
        if "household_id" in table.columns:
            db.execute(table.delete().where(table.c.household_id == household_id))
    gone = db.exec(delete(HouseholdRow).where(col(HouseholdRow.id) == household_id))
    if gone.rowcount != 1:
        raise NotFound
    forget_household(db, household_id)
