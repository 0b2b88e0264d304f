"""The demo: invented households from the seed scenarios, moved to today.

Every record moves by whole weeks, so that weekdays stay true and the last day of the scenario
falls on one of the seven days from today. What then lies ahead has not happened yet and is left
out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TypeVar, cast

from sqlalchemy import Engine
from sqlmodel import select

from app import clock
from app.access import Role
from app.convert import write_household
from app.db import transaction
from app.models import AgencyRow, HouseholdRow
from app.services_accounts import add_coordinator, add_member, create_account
from planner.household import Household
from planner.ledger import LedgerEntry, Receipt, Reversal, WrongDelivery, WrongKept, WrongReturn
from planner.order_life import as_it_stood
from planner.scenario import read_scenario
from planner.supply import Order, OrderStatus

AGENCY_ID = "demo"
AGENCY_NAME = "Lantern Lane Home Care"
PASSWORD = "demo-only"  # noqa: S105  (shown to everybody who starts the demo)
PATIENT = "pat@demo.example"
CARER = "cara@demo.example"
COORDINATOR = "cody@demo.example"
HOME_FILE = "chest_every_other_day.toml"
SECOND_FILE = "abdomen_two_bottles.toml"

_UNTIL = re.compile(r"(UNTIL=)(\d{8})")

Value = TypeVar("Value")


def has_households(engine: Engine) -> bool:
    """Whether the database holds any household, so that the demo must not be loaded."""
    with transaction(engine) as db:
        return db.exec(select(HouseholdRow.id).limit(1)).first() is not None


def load_demo(
    engine: Engine, folder: Path, now_in: Callable[[str], datetime] = clock.now_in
) -> tuple[str, ...]:
    """Load every scenario of a folder, an agency that has them all, and three accounts.

    Args:
        engine: database with tables and without these households.
        folder: holds the scenario files.
        now_in: wall-clock moment of a time zone.

    Returns:
        Ids of the households. All of it is saved, or nothing.

    Raises:
        InvalidScenario: when a file cannot be used.
        FileNotFoundError: when the folder lacks the scenario of the demo accounts.
    """
    by_file: dict[str, list[Household]] = {}
    for path in sorted(folder.glob("*.toml")):
        scenario = read_scenario(path)
        by_file[path.name] = [
            move_to(household, scenario.as_of, now_in(household.time_zone))
            for household in scenario.households
        ]
    if HOME_FILE not in by_file:
        message = f"The folder {folder} lacks {HOME_FILE}, which the demo needs."
        raise FileNotFoundError(message)
    _write(engine, by_file)
    return tuple(one.id for households in by_file.values() for one in households)


def _write(engine: Engine, by_file: dict[str, list[Household]]) -> None:
    home = by_file[HOME_FILE][0]
    with transaction(engine) as db:
        db.add(AgencyRow(id=AGENCY_ID, name=AGENCY_NAME, time_zone=home.time_zone))
        db.flush()
        for households in by_file.values():
            for household in households:
                write_household(db, household, agency_id=AGENCY_ID)
        now = clock.utc_now()
        pat, cara, cody = (
            create_account(db, email=email, name=name, password=PASSWORD, now=now)
            for email, name in ((PATIENT, "Pat"), (CARER, "Cara"), (COORDINATOR, "Cody"))
        )
        add_member(db, pat, home.id, Role.PATIENT)
        add_member(db, cara, home.id, Role.CARER)
        for second in by_file.get(SECOND_FILE, [])[:1]:
            add_member(db, cara, second.id, Role.CARER)
        add_coordinator(db, cody, AGENCY_ID)


def move_to(household: Household, as_of: date, now: datetime) -> Household:
    """A household's record as it would stand now had it been written of late.

    Args:
        household: the record.
        as_of: the last day it covers.
        now: wall-clock moment in its time zone.
    """
    weeks = -((as_of - now.date()).days // 7)
    return up_to(_shifted(household, timedelta(weeks=weeks)), now)


def _shifted(value: Value, by: timedelta) -> Value:
    """The same value with every day and moment in it moved."""
    moved: object = value
    if isinstance(value, date):
        moved = value + by
    elif isinstance(value, tuple):
        moved = tuple(_shifted(one, by) for one in value)
    elif is_dataclass(value) and not isinstance(value, type):
        changes = {one.name: _shifted(getattr(value, one.name), by) for one in fields(value)}
        if changes.get("rrule"):
            changes["rrule"] = _shifted_until(changes["rrule"], by)
        moved = replace(value, **changes)
    return cast("Value", moved)


def _shifted_until(rule: str, by: timedelta) -> str:
    def later(found: re.Match[str]) -> str:
        day = date.fromisoformat(found[2]) + by
        return f"{found[1]}{day:%Y%m%d}"

    return _UNTIL.sub(later, rule)


def up_to(household: Household, now: datetime) -> Household:
    """The record without whatever lies after a moment.

    An order whose goods have not come yet is on its way again.
    """
    sessions = tuple(one for one in household.sessions if one.started_at <= now)
    ledger = _past_entries(household.ledger, {one.id for one in sessions}, now)
    arrived = {one.order_id for one in ledger if isinstance(one, Receipt)}
    lost = {one.order_id for one in household.ledger if isinstance(one, Receipt)} - arrived
    placed = (one for one in household.orders if one.placed_at <= now)
    orders = tuple(_past_order(one, now, is_lost=one.id in lost) for one in placed)
    kept = {one.id for one in orders}
    ledger = tuple(
        replace(one, order_id=None)
        if isinstance(one, Receipt | WrongDelivery) and one.order_id not in (None, *kept)
        else one
        for one in ledger
    )
    return replace(household, sessions=sessions, ledger=ledger, orders=orders)


def _past_entries(
    ledger: Iterable[LedgerEntry], session_ids: set[str], now: datetime
) -> tuple[LedgerEntry, ...]:
    past = tuple(one for one in ledger if one.at <= now)
    known = session_ids | {one.id for one in past}
    return tuple(one for one in past if _refers_to(one) in (None, *known))


def _refers_to(entry: LedgerEntry) -> str | None:
    """The entry that another one takes back or sends away."""
    match entry:
        case Reversal():
            return entry.reverses_id
        case WrongReturn() | WrongKept():
            return entry.delivery_id
        case _:
            return None


def _past_order(order: Order, now: datetime, *, is_lost: bool) -> Order:
    if order.steps:
        return as_it_stood(order, now)
    ahead = order.received_on is not None and order.received_on > now.date()
    if order.status is OrderStatus.RECEIVED and (ahead or is_lost):
        return replace(order, status=OrderStatus.PLACED, received_on=None)
    return order
