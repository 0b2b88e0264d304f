"""Every table that belongs to households goes with them, and is in their file or said not to be.

Tables are found by their column `household_id`, so that a new one is looked at as well.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time

from sqlalchemy import Column, Table, func, select
from sqlmodel import Session, SQLModel

from app.access import HouseholdAccess, Role
from app.convert import write_household
from app.exporting import NOT_EXPORTED, household_file
from app.models import AccountRow
from app.services_deletion import delete_household
from app.services_import import import_new, read_file
from planner.household import Pause
from planner.order_life import with_steps
from planner.order_steps import OrderStatus, OrderStep
from planner.supply import AuthorizedQuantity, Closure, Contact
from tests.app.data_builders import KIT, TODAY, make_household

People = dict[str, AccountRow]
NAME = "Household of the tests"
MADE_UP = {
    int: 1,
    float: 0.5,
    bool: False,
    str: "x",
    date: date(2026, 3, 1),
    datetime: datetime(2026, 3, 1, tzinfo=UTC),
    time: time(8),
}


def tables() -> dict[str, Table]:
    found = SQLModel.metadata.tables
    return {name: one for name, one in found.items() if "household_id" in one.columns}


def rows(db: Session, table: Table, household_id: str) -> int:
    mine = table.c.household_id == household_id
    found: int = db.execute(select(func.count()).select_from(table).where(mine)).scalar_one()
    return found


def made_up(column: Column[object], account_id: int) -> object:
    if column.name == "household_id":
        return "home"
    if any(one.column.table.name == "account" for one in column.foreign_keys):
        return account_id
    if any(one.column.table.name == "agency" for one in column.foreign_keys):
        return "ours"
    kind = getattr(column.type, "impl", column.type)
    return MADE_UP[kind.python_type]


def test_no_table_keeps_a_row_of_a_deleted_household(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    for table in tables().values():
        if not rows(db, table, "home"):
            values = {
                one.name: made_up(one, people["cara"].id or 0)
                for one in table.columns
                if one.name == "household_id" or not (one.nullable or one.name == "id")
            }
            db.execute(table.insert().values(values))
    db.commit()
    assert [name for name, one in tables().items() if not rows(db, one, "home")] == []
    kept = {name: rows(db, one, "lone") for name, one in tables().items()}
    delete_household(db, carer, NAME)
    assert [name for name, one in tables().items() if rows(db, one, "home")] == []
    assert {name: rows(db, one, "lone") for name, one in tables().items()} == kept


def test_every_table_is_in_the_file_or_said_not_to_be(db: Session, people: People) -> None:
    plain = make_household(id="whole")
    steps = (
        OrderStep(kind=OrderStatus.PLACED, at=plain.orders[0].placed_at, by="Cara"),
        OrderStep(kind=OrderStatus.ON_ITS_WAY, at=plain.orders[0].placed_at, by="Cara"),
    )
    closed = Closure(starts_on=date(2026, 4, 1), ends_on=date(2026, 4, 2))
    whole = replace(
        plain,
        orders=(with_steps(plain.orders[0], steps),),
        supplier=replace(plain.supplier, closures=(closed,)),
        pauses=(Pause(starts_on=date(2026, 2, 1), ends_on=date(2026, 2, 3)),),
        authorized=(AuthorizedQuantity(item_code=KIT, units=30, per_days=30, starts_on=TODAY),),
        care_team=Contact(name="The nurses"),
    )
    write_household(db, whole)
    db.commit()
    text = household_file(db, "whole")
    assert text is not None
    (read,) = read_file(text.encode())
    copy = import_new(db, people["stranger"], read, Role.CARER)
    assert NOT_EXPORTED.keys() <= tables().keys()
    for name, table in tables().items():
        if name not in NOT_EXPORTED:
            assert rows(db, table, copy) == rows(db, table, "whole") > 0, name
