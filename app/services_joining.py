"""Using a link: opening an account with it, and being let into a household or agency."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, select

from app.access import Role
from app.db import whole
from app.errors import AppError
from app.models import AccountRow, AgencyRow, CoordinatorRow, HouseholdRow, MembershipRow
from app.models_links import OneTimeLinkRow
from app.services_accounts import add_coordinator, add_member, create_account, open_login
from app.services_links import LinkGone, Purpose, find_link, use_up

_FOR_NEW = "This link only makes new accounts, and you have one. Nothing was changed."


class AlreadyInside(AppError):
    """The account belongs to the household or agency already."""

    status = 409
    title = "You are in already"
    message = "You belong to it already. The link still works for somebody else."


@dataclass(frozen=True, slots=True, kw_only=True)
class Invitation:
    """What a link offers, for its page.

    Attributes:
        place: name of the household or agency; empty for an account alone.
    """

    purpose: Purpose
    place: str
    role: Role | None
    household_id: str | None
    agency_id: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPerson:
    """What a person types who has no account yet."""

    name: str
    email: str
    password: str


def invitation_of(db: Session, secret: str, now: datetime) -> Invitation:
    """What a link offers.

    Raises:
        LinkGone: when it does not work any more.
    """
    row = find_link(db, secret, now)
    place: HouseholdRow | AgencyRow | None = None
    if row.household_id is not None:
        place = db.get(HouseholdRow, row.household_id)
    elif row.agency_id is not None:
        place = db.get(AgencyRow, row.agency_id)
    return Invitation(
        purpose=Purpose(row.purpose),
        place="" if place is None else place.name,
        role=None if row.role is None else Role(row.role),
        household_id=row.household_id,
        agency_id=row.agency_id,
    )


def join_as_new(db: Session, secret: str, person: NewPerson, now: datetime, device: str) -> str:
    """Use a link to open an account, let it in, and sign it in; all of it or nothing.

    Returns:
        The secret for the sign-in cookie.

    Raises:
        LinkGone: when the link does not work any more.
        InvalidInput: fields `name`, `email`, `password`; the link still works.
    """
    with whole(db):
        row = _take(db, secret, now)
        if row.purpose == Purpose.PASSWORD:
            raise LinkGone
        account = create_account(
            db, email=person.email, name=person.name, password=person.password, now=now
        )
        _let_in(db, row, account)
        return open_login(db, account, now, device=device)


def join_as(db: Session, secret: str, account: AccountRow, now: datetime) -> None:
    """Use an invite for somebody who has an account.

    Raises:
        LinkGone: when the link does not work any more, or only opens new accounts.
        AlreadyInside: when the account belongs to it already; the link still works.
    """
    with whole(db):
        row = _take(db, secret, now)
        if row.household_id is None and row.agency_id is None:
            raise LinkGone(_FOR_NEW)
        _let_in(db, row, account)


def _take(db: Session, secret: str, now: datetime) -> OneTimeLinkRow:
    row = find_link(db, secret, now)
    db.expunge(row)
    db.rollback()
    use_up(db, secret, now)
    return row


def _let_in(db: Session, row: OneTimeLinkRow, account: AccountRow) -> None:
    if row.household_id is not None:
        inside = select(MembershipRow.id).where(
            MembershipRow.household_id == row.household_id, MembershipRow.account_id == account.id
        )
        if db.exec(inside).first() is not None:
            raise AlreadyInside
        add_member(db, account, row.household_id, Role(row.role or Role.VIEWER))
    elif row.agency_id is not None:
        inside = select(CoordinatorRow.id).where(
            CoordinatorRow.agency_id == row.agency_id, CoordinatorRow.account_id == account.id
        )
        if db.exec(inside).first() is not None:
            raise AlreadyInside
        add_coordinator(db, account, row.agency_id)
