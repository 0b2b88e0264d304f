"""What people change about their own account: name, password, devices, deleting it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Column, Update
from sqlmodel import Session, SQLModel, col, delete, select, update

from app import security
from app.access import Role
from app.db import whole
from app.errors import InvalidInput, WrongSignIn
from app.models import (
    AccountRow,
    AgencyRow,
    CoordinatorRow,
    FeedRow,
    HouseholdRow,
    LoginRow,
    MembershipRow,
)
from app.models_links import OneTimeLinkRow
from app.services_accounts import check_password, name_faults, password_faults
from app.services_links import LinkGone, find_link, use_up
from app.services_members import LastManager, is_agency_managed, is_household_managed
from planner.errors import Fault


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One browser that is signed in.

    Attributes:
        key: names it in a form; the sign-in cannot be taken over with it.
        kind: `phone`, `computer` or empty.
        is_this: whether it is the one that asks.
    """

    key: str
    kind: str
    since: datetime
    seen: datetime
    is_this: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnCalendar:
    """A calendar address of the account that works."""

    name: str
    household_id: str | None
    agency_id: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPlace:
    """A household that the account belongs to, or an agency (no role)."""

    name: str
    role: Role | None


def change_name(db: Session, account: AccountRow, name: str) -> None:
    """Change what a person is called.

    Raises:
        InvalidInput: field `name`.
    """
    faults = name_faults(name)
    if faults:
        raise InvalidInput(faults)
    with whole(db):
        mine = col(AccountRow.id) == account.id
        db.exec(update(AccountRow).where(mine).values(name=name.strip()))


def change_password(
    db: Session,
    account: AccountRow,
    *,
    old: str,
    new: str,
    secret: str,
    address: str,
    now: datetime,
) -> None:
    """Change a password and end every other sign-in of the account.

    Args:
        db: session.
        account: whose.
        old: the password so far, as typed.
        new: the password from now on, as typed.
        secret: of the sign-in that goes on.
        address: network address of the browser, for the throttle.
        now: present instant.

    Raises:
        InvalidInput: fields `old_password`, `new_password`; nothing was changed.
        Throttled: after too many wrong passwords.
    """
    check_own_password(db, account, old, address, now, field="old_password")
    faults = password_faults(new, "new_password")
    if faults:
        raise InvalidInput(faults)
    password_hash = security.hash_password(new)
    with whole(db):
        _keep_password(db, account.id or 0, password_hash)
        others = col(LoginRow.token_hash) != security.hash_secret(secret)
        db.exec(_end_logins(account.id, now).where(others))


def check_own_password(
    db: Session,
    account: AccountRow,
    typed: str,
    address: str,
    now: datetime,
    *,
    field: str = "password",
) -> None:
    """Make sure that it is the person who asks, not somebody at their device.

    Raises:
        InvalidInput: the field, when the password is wrong.
        Throttled: after too many wrong passwords.
    """
    try:
        check_password(db, email=account.email, password=typed, address=address, now=now)
    except WrongSignIn:
        fix = "write the password with which you sign in"
        raise InvalidInput([Fault(field=field, value="not right", fix=fix)]) from None


def set_password_by_link(db: Session, secret: str, new: str, now: datetime) -> None:
    """Set a new password by a link and end every sign-in of the account.

    Raises:
        LinkGone: when the link does not work any more or is for something else.
        InvalidInput: field `password`; the link still works.
    """
    db.commit()
    account_id = find_link(db, secret, now).account_id
    if account_id is None:
        raise LinkGone
    faults = password_faults(new)
    if faults:
        raise InvalidInput(faults)
    password_hash = security.hash_password(new)
    with whole(db):
        use_up(db, secret, now)
        _keep_password(db, account_id, password_hash)
        db.exec(_end_logins(account_id, now))


def devices_of(db: Session, account: AccountRow, secret: str, now: datetime) -> tuple[Device, ...]:
    """Browsers in which the account is signed in, the one that asks first."""
    query = select(LoginRow).where(
        LoginRow.account_id == account.id,
        col(LoginRow.ended_at).is_(None),
        col(LoginRow.created_at) >= now - security.ABSOLUTE_LIMIT,
        col(LoginRow.last_seen_at) >= now - security.IDLE_LIMIT,
    )
    own = security.hash_secret(secret)
    found = [
        Device(
            key=_device_key(row.token_hash),
            kind=row.device or "",
            since=row.created_at,
            seen=row.last_seen_at,
            is_this=row.token_hash == own,
        )
        for row in db.exec(query)
    ]
    found.sort(key=lambda one: (one.is_this, one.seen), reverse=True)
    return tuple(found)


def end_device(db: Session, account: AccountRow, key: str, now: datetime) -> None:
    """End one sign-in of the account; again, or for another's, changes nothing."""
    hashes = db.exec(select(LoginRow.token_hash).where(LoginRow.account_id == account.id)).all()
    chosen = [one for one in hashes if _device_key(one) == key]
    with whole(db):
        db.exec(_end_logins(account.id, now).where(col(LoginRow.token_hash).in_(chosen)))


def end_all_devices(db: Session, account: AccountRow, now: datetime) -> None:
    """End every sign-in of the account; calendar addresses go on."""
    with whole(db):
        db.exec(_end_logins(account.id, now))


def calendars_of(db: Session, account: AccountRow) -> tuple[OwnCalendar, ...]:
    """Calendar addresses of the account that work, by name."""
    query = (
        select(HouseholdRow.name, AgencyRow.name, FeedRow.household_id, FeedRow.agency_id)
        .select_from(FeedRow)
        .outerjoin(HouseholdRow, col(HouseholdRow.id) == FeedRow.household_id)
        .outerjoin(AgencyRow, col(AgencyRow.id) == FeedRow.agency_id)
        .where(FeedRow.account_id == account.id, col(FeedRow.revoked_at).is_(None))
    )
    found = [
        OwnCalendar(name=home or agency or "", household_id=household_id, agency_id=agency_id)
        for home, agency, household_id, agency_id in db.exec(query).all()
    ]
    return tuple(sorted(found, key=lambda one: one.name))


def places_of(db: Session, account: AccountRow) -> tuple[OwnPlace, ...]:
    """Households and agencies that the account belongs to, by name."""
    homes = (
        select(HouseholdRow.name, MembershipRow.role)
        .join(MembershipRow, col(MembershipRow.household_id) == HouseholdRow.id)
        .where(MembershipRow.account_id == account.id)
    )
    agencies = (
        select(AgencyRow.name)
        .join(CoordinatorRow, col(CoordinatorRow.agency_id) == AgencyRow.id)
        .where(CoordinatorRow.account_id == account.id)
    )
    found = [OwnPlace(name=name, role=Role(role)) for name, role in db.exec(homes).all()]
    found += [OwnPlace(name=name, role=None) for name in db.exec(agencies)]
    return tuple(sorted(found, key=lambda one: one.name))


def delete_account(db: Session, account: AccountRow) -> None:
    """Delete an account for good: its sign-ins, calendar addresses, reminders and memberships.

    What the person wrote in households' records stays, without the link to them; a name that
    was typed as the confirmation of an order stays as part of the order.

    Raises:
        LastManager: when a household or agency would be left that nobody may manage.
    """
    with whole(db):
        # A write first, so that two who leave the same household take turns on SQLite.
        db.exec(delete(LoginRow).where(col(LoginRow.account_id) == account.id))
        homes = db.exec(
            select(HouseholdRow)
            .join(MembershipRow, col(MembershipRow.household_id) == HouseholdRow.id)
            .where(MembershipRow.account_id == account.id)
            .order_by(HouseholdRow.id)
            .with_for_update(of=HouseholdRow)
        ).all()
        agencies = db.exec(
            select(AgencyRow)
            .join(CoordinatorRow, col(CoordinatorRow.agency_id) == AgencyRow.id)
            .where(CoordinatorRow.account_id == account.id)
            .order_by(AgencyRow.id)
            .with_for_update(of=AgencyRow)
        ).all()
        _forget(db, account.id or 0)
        alone = [one for one in homes if not is_household_managed(db, one.id, one.agency_id)]
        lost = [one for one in agencies if not is_agency_managed(db, one.id)]
        if alone or lost:
            names = ", ".join([one.name for one in alone] + [one.name for one in lost])
            raise LastManager(
                f"You are the only one in charge of {names}. Nothing was deleted. Invite "
                "somebody else to be in charge, or delete it first."
            )


def _forget(db: Session, account_id: int) -> None:
    """Delete an account and what refers to it; where a record must stay, only the reference."""
    own_links = (
        col(OneTimeLinkRow.account_id) == account_id,
        col(OneTimeLinkRow.made_by) == account_id,
    )
    for condition in own_links:
        db.exec(delete(OneTimeLinkRow).where(condition))
    for column in references_to_accounts():
        here = column == account_id
        if column.nullable:
            db.execute(column.table.update().where(here).values({column.name: None}))
        else:
            db.execute(column.table.delete().where(here))
    db.exec(delete(AccountRow).where(col(AccountRow.id) == account_id))


def references_to_accounts() -> list[Column[int]]:
    """Every column that refers to an account, in whatever table."""
    accounts = SQLModel.metadata.tables["account"]
    return [
        column
        for table in reversed(SQLModel.metadata.sorted_tables)
        for column in table.columns
        if any(key.column.table is accounts for key in column.foreign_keys)
    ]


def _keep_password(db: Session, account_id: int, password_hash: str) -> None:
    mine = col(AccountRow.id) == account_id
    db.exec(update(AccountRow).where(mine).values(password_hash=password_hash))


def _end_logins(account_id: int | None, now: datetime) -> Update:
    mine = (col(LoginRow.account_id) == account_id, col(LoginRow.ended_at).is_(None))
    return update(LoginRow).where(*mine).values(ended_at=now)


def _device_key(token_hash: str) -> str:
    return security.hash_secret(token_hash)[:16]
