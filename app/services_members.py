"""Who belongs to a household or an agency: listed, changed, taken out.

A household always keeps somebody who may manage it: a member whose role allows it, or a
coordinator of its agency. An agency always keeps a coordinator.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, literal
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, delete, select, update

from app.access import MANAGING_ROLES, MEMBER_ROLES, AgencyAccess, HouseholdAccess, Permission, Role
from app.errors import AppError, NotFound
from app.models import AccountRow, AgencyRow, CoordinatorRow, FeedRow, HouseholdRow, MembershipRow
from app.models_links import OneTimeLinkRow
from app.models_reminders import ReminderChoiceRow


class LastManager(AppError):
    """Nobody would be left who may manage the household or agency."""

    status = 409
    title = "Somebody has to stay in charge"
    message = (
        "Nobody else can manage this. Nothing was changed. Invite another patient or carer "
        "first, or delete the household."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One person of a household or agency.

    Attributes:
        member_id: of the membership, not of the account.
        is_you: whether this is the person who asks.
    """

    member_id: int
    name: str
    role: Role
    is_you: bool


def members_of(db: Session, access: HouseholdAccess | AgencyAccess) -> tuple[Member, ...]:
    """The people of a household or agency, by name."""
    table = _table(access)
    role = col(MembershipRow.role) if table is MembershipRow else literal(Role.COORDINATOR.value)
    query = (
        select_columns(col(table.id), col(AccountRow.name), role, col(table.account_id))
        .join(AccountRow, col(AccountRow.id) == table.account_id)
        .where(_of(access))
        .order_by(col(AccountRow.name), col(table.id))
    )
    return tuple(
        Member(member_id=key, name=name, role=Role(role), is_you=whose == access.account_id)
        for key, name, role, whose in db.execute(query).all()
    )


def agency_name_of(db: Session, access: HouseholdAccess | AgencyAccess) -> str:
    """The agency whose coordinators may enter a household as well; empty when there is none."""
    if isinstance(access, AgencyAccess) or access.agency_id is None:
        return ""
    agency = db.get(AgencyRow, access.agency_id)
    return "" if agency is None else agency.name


def change_role(db: Session, access: HouseholdAccess, member_id: int, role: Role) -> None:
    """Give a member another role; invites of somebody who may not invite any more end.

    Raises:
        NotFound: when the account may not do this, or there is no such member or role.
        LastManager: when nobody would be left who may manage the household.
    """
    access.require(Permission.MANAGE)
    if role not in MEMBER_ROLES:
        raise NotFound
    _lock(db, access)
    here = (_of(access), col(MembershipRow.id) == member_id)
    if role not in MANAGING_ROLES:
        _end_invites(db, access, db.exec(select(MembershipRow.account_id).where(*here)).first())
    changed = db.exec(update(MembershipRow).where(*here).values(role=role.value))
    _finish(db, access, changed.rowcount)


def remove_member(db: Session, access: HouseholdAccess | AgencyAccess, member_id: int) -> None:
    """Take a person out; their calendar address, reminders and open invites of it go as well.

    Everybody may take themselves out; taking others out needs the right to manage.

    Raises:
        NotFound: when the account may not do this, or there is no such member.
        LastManager: when nobody would be left who may manage it.
    """
    _lock(db, access)
    table = _table(access)
    here = (_of(access), col(table.id) == member_id)
    account_id = db.exec(select(table.account_id).where(*here)).first()
    is_own = account_id == access.account_id
    may = is_own or not isinstance(access, HouseholdAccess) or access.may(Permission.MANAGE)
    if account_id is None or not may:
        db.rollback()
        raise NotFound
    _end_invites(db, access, account_id)
    for other in (FeedRow, ReminderChoiceRow):
        db.exec(delete(other).where(_of(access, other), col(other.account_id) == account_id))
    removed = db.exec(delete(table).where(*here))
    _finish(db, access, removed.rowcount)


def _end_invites(
    db: Session, access: HouseholdAccess | AgencyAccess, account_id: int | None
) -> None:
    """Who may not invite any more must not come back by a link they made before."""
    made = col(OneTimeLinkRow.made_by) == account_id
    db.exec(delete(OneTimeLinkRow).where(made, _of(access, OneTimeLinkRow)))


def _lock(db: Session, access: HouseholdAccess | AgencyAccess) -> None:
    """Let changes of who belongs to it take turns, on SQLite and PostgreSQL alike."""
    db.commit()
    if isinstance(access, HouseholdAccess):
        table, key = HouseholdRow, access.household_id
        db.exec(update(table).where(col(table.id) == key).values(name=HouseholdRow.name))
    else:
        here = col(AgencyRow.id) == access.agency_id
        db.exec(update(AgencyRow).where(here).values(name=AgencyRow.name))


def _finish(db: Session, access: HouseholdAccess | AgencyAccess, changed: int) -> None:
    if changed != 1:
        db.rollback()
        raise NotFound
    if not _is_managed(db, access):
        db.rollback()
        raise LastManager
    db.commit()


def is_household_managed(db: Session, household_id: str, agency_id: str | None) -> bool:
    """Whether anybody may manage a household: a member or a coordinator of its agency."""
    managing = col(MembershipRow.role).in_(MANAGING_ROLES)
    members = select(MembershipRow.id).where(MembershipRow.household_id == household_id, managing)
    if db.exec(members).first() is not None:
        return True
    return agency_id is not None and is_agency_managed(db, agency_id)


def is_agency_managed(db: Session, agency_id: str) -> bool:
    """Whether an agency has a coordinator."""
    coordinators = select(CoordinatorRow.id).where(CoordinatorRow.agency_id == agency_id)
    return db.exec(coordinators).first() is not None


def _is_managed(db: Session, access: HouseholdAccess | AgencyAccess) -> bool:
    if isinstance(access, HouseholdAccess):
        return is_household_managed(db, access.household_id, access.agency_id)
    return is_agency_managed(db, access.agency_id)


def _table(access: HouseholdAccess | AgencyAccess) -> type[MembershipRow | CoordinatorRow]:
    return MembershipRow if isinstance(access, HouseholdAccess) else CoordinatorRow


def _of(
    access: HouseholdAccess | AgencyAccess,
    table: type[FeedRow | ReminderChoiceRow | OneTimeLinkRow] | None = None,
) -> ColumnElement[bool]:
    """The rows of a table, by default of the memberships, that belong to a place."""
    if isinstance(access, HouseholdAccess):
        return col((table or MembershipRow).household_id) == access.household_id
    return col((table or CoordinatorRow).agency_id) == access.agency_id
