"""Reading a household in from a file: checked whole, then saved whole or not at all.

A household that is read in gets an address of its own, since ids in files may say something
about people and may be taken. The file's id is kept, so that a later export is the same file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from functools import cache

from sqlalchemy import event
from sqlalchemy import update as update_rows
from sqlmodel import Session, SQLModel, col, select, update

from app import clock, security
from app.access import AgencyAccess, HouseholdAccess, Permission, Role
from app.changes import SettingChange
from app.changes_rows import add_change
from app.convert import read_household, write_household
from app.db import whole
from app.errors import InvalidInput, NotFound, OutOfDate
from app.later_settings import unusable
from app.models import (
    AccountRow,
    DrainSessionRow,
    FeedRow,
    HouseholdRow,
    LedgerRow,
    MembershipRow,
    OrderRow,
)
from app.models_links import OneTimeLinkRow
from app.models_orders import DeclinedOrderRow
from app.models_reminders import ReminderChoiceRow
from app.services_accounts import add_member
from app.services_deletion import erase_household
from planner.errors import Fault, PlannerError, show
from planner.household import Household
from planner.scenario import InvalidScenario, ScenarioFile, check_as_of, parse_scenario

_NOT_EMPTY = (
    "This household has entries already, so a file cannot take its place. Nothing was changed."
)
_RECORDS = (DrainSessionRow, LedgerRow, OrderRow, DeclinedOrderRow)
_OF_PEOPLE = (MembershipRow, FeedRow, ReminderChoiceRow, OneTimeLinkRow)
"""What stays when a file takes the place of an empty household."""


def read_file(content: bytes, *, most: int = 1) -> tuple[Household, ...]:
    """The households of a file.

    Args:
        content: the file's bytes.
        most: how many households it may hold.

    Raises:
        InvalidInput: with every fault of the file, each with its place in it.
    """
    if not content.strip():
        fix = "choose a file that was saved here or written by hand in the same form"
        raise InvalidInput([Fault(field="the file", value="empty", fix=fix)])
    try:
        file = parse_scenario(content)
        for household in file.households:
            alone = ScenarioFile(as_of=file.as_of, households=(household,))
            check_as_of(alone, clock.today_in(household.time_zone))
    except InvalidScenario as error:
        raise InvalidInput(error.faults) from error
    count = len(file.households)
    if count > most:
        fix = f"choose a file with {most} of them" if most == 1 else f"split it, {most} in each"
        raise InvalidInput([Fault(field="households", value=f"{count} in one file", fix=fix)])
    return file.households


Later = Sequence[SettingChange]
"""What a file sets for later days, in its order."""


def import_new(
    db: Session, account: AccountRow, household: Household, role: Role, later: Later = ()
) -> str:
    """Add a household from a file, with the account as its first member.

    Returns:
        The household's id in addresses.

    Raises:
        InvalidInput: when a text does not fit; nothing was saved.
    """
    with whole(db), _texts_that_fit(db):
        key = _add(db, household, later, agency_id=None)
        add_member(db, account, key, role)
    return key


def import_for_agency(
    db: Session, access: AgencyAccess, households: Iterable[Household], later: Later = ()
) -> tuple[str, ...]:
    """Add households from a file to an agency, all or none.

    A file that sets something for later days is that of one household.

    Returns:
        Their ids in addresses.

    Raises:
        InvalidInput: when a text does not fit; nothing was saved.
    """
    with whole(db), _texts_that_fit(db):
        return tuple(_add(db, one, later, agency_id=access.agency_id) for one in households)


def import_into(
    db: Session, access: HouseholdAccess, household: Household, later: Later = ()
) -> str:
    """Put a file in the place of a household without entries; people and calendars stay.

    Returns:
        The household's new id in addresses.

    Raises:
        NotFound: when the account may not do this.
        OutOfDate: when the household has entries.
        InvalidInput: when a text does not fit; nothing was saved.
    """
    access.require(Permission.MANAGE)
    with whole(db), _texts_that_fit(db):
        here = col(HouseholdRow.id) == access.household_id
        locked = db.exec(update(HouseholdRow).where(here).values(name=HouseholdRow.name))
        if locked.rowcount != 1:
            raise NotFound
        if not is_empty(db, access.household_id):
            raise OutOfDate(_NOT_EMPTY)
        key = _add(db, household, later, agency_id=access.agency_id)
        for table in _OF_PEOPLE:
            mine = col(table.household_id) == access.household_id
            db.execute(update_rows(table).where(mine).values(household_id=key))
        erase_household(db, access.household_id)
    return key


def is_empty(db: Session, household_id: str) -> bool:
    """Whether a household has no session, no entry of the shelf, no order and no answer to one."""
    return all(
        db.exec(select(table.id).where(table.household_id == household_id)).first() is None
        for table in _RECORDS
    )


def _add(db: Session, household: Household, later: Later, *, agency_id: str | None) -> str:
    key = security.new_key()
    write_household(db, replace(household, id=key), agency_id=agency_id)
    db.exec(update(HouseholdRow).where(col(HouseholdRow.id) == key).values(file_id=household.id))
    for number, change in enumerate(later, 1):
        add_change(db, key, change, recorded_at=clock.utc_now())
        _check_day(db, key, change.starts_on, number)
    return key


def _check_day(db: Session, key: str, day: date, number: int) -> None:
    """Refuse a setting for a later day that does not go with the record."""
    try:
        read_household(db, key, day)
    except (PlannerError, KeyError, TypeError) as error:
        raise InvalidInput([unusable(number)]) from error


@contextmanager
def _texts_that_fit(db: Session) -> Iterator[None]:
    """Refuse texts that SQLite would take and PostgreSQL not: too long, or with a code zero."""

    def check(session: Session, *_details: object) -> None:
        faults = [fault for row in session.new for fault in _unfit(row)]
        if faults:
            raise InvalidInput(faults)

    event.listen(db, "before_flush", check)
    try:
        yield
    finally:
        event.remove(db, "before_flush", check)


def _unfit(row: SQLModel) -> Iterator[Fault]:
    place = str(row.__tablename__).replace("_", " ")
    for name, length in _lengths(type(row)):
        value = getattr(row, name)
        if isinstance(value, str) and length is not None and len(value) > length:
            fix = f"use at most {length} characters"
            yield Fault(field=name, value=show(value), fix=fix, place=place)
        if isinstance(value, str) and "\0" in value:
            fix = "leave out the character with code zero"
            yield Fault(field=name, value=show(value.replace("\0", "?")), fix=fix, place=place)


@cache
def _lengths(table: type[SQLModel]) -> tuple[tuple[str, int | None], ...]:
    """The columns of a table, texts that have an end with it."""
    columns = SQLModel.metadata.tables[str(table.__tablename__)].columns.items()
    return tuple((name, getattr(column.type, "length", None)) for name, column in columns)
