"""Who may see or change which household. Every other rule about access refers to here."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import Integer, String, bindparam, func
from sqlalchemy import select as select_columns
from sqlmodel import Session, and_, or_, select

from app.db import columns
from app.errors import NotFound
from app.models import AccountRow, AgencyRow, CoordinatorRow, HouseholdRow, MembershipRow

_MINE = bindparam("account", type_=Integer)
_HOUSEHOLD = columns(HouseholdRow)
_MEMBER = columns(MembershipRow)
_COORDINATOR = columns(CoordinatorRow)
_WAY_IN = (
    select_columns(
        _HOUSEHOLD.name,
        _HOUSEHOLD.time_zone,
        _HOUSEHOLD.agency_id,
        _MEMBER.role,
        select_columns(func.count())
        .where(_MEMBER.account_id == _MINE)
        .correlate(None)
        .scalar_subquery()
        .label("memberships"),
    )
    .select_from(HouseholdRow)
    .outerjoin(
        MembershipRow,
        and_(_MEMBER.household_id == _HOUSEHOLD.id, _MEMBER.account_id == _MINE),
    )
    .outerjoin(
        CoordinatorRow,
        and_(_COORDINATOR.agency_id == _HOUSEHOLD.agency_id, _COORDINATOR.account_id == _MINE),
    )
    .where(_HOUSEHOLD.id == bindparam("household", type_=String))
    .where(or_(_MEMBER.role.is_not(None), _COORDINATOR.id.is_not(None)))
)
"""A household with the account's role in it, empty for a coordinator; nothing for all others."""


class Role(StrEnum):
    """What a person is to a household."""

    PATIENT = "patient"
    CARER = "carer"
    COORDINATOR = "coordinator"
    VIEWER = "viewer"


class Permission(StrEnum):
    """What somebody may do with a household.

    VIEW also covers a person's own calendar address, reminders and leaving. MANAGE covers who
    belongs to the household, its file, and deleting it.
    """

    VIEW = "view"
    RECORD = "record"
    ORDER = "order"
    MANAGE = "manage"


PERMISSIONS = {
    Role.PATIENT: frozenset(Permission),
    Role.CARER: frozenset(Permission),
    Role.COORDINATOR: frozenset(Permission),
    Role.VIEWER: frozenset({Permission.VIEW}),
}
MEMBER_ROLES = (Role.PATIENT, Role.CARER, Role.VIEWER)
"""What a member of a household can be; coordinators come in through their agency."""

MANAGING_ROLES = tuple(role for role in MEMBER_ROLES if Permission.MANAGE in PERMISSIONS[role])


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseholdAccess:
    """One account's way into one household. Services and queries want this, not a bare id.

    Attributes:
        one_of_several: the account has other households as well, so pages name this one.
    """

    household_id: str
    household_name: str
    time_zone: str
    agency_id: str | None
    role: Role
    account_id: int
    account_name: str
    one_of_several: bool = False

    def may(self, permission: Permission) -> bool:
        """Whether the role allows this."""
        return permission in PERMISSIONS[self.role]

    def require(self, permission: Permission) -> None:
        """Refuse what the role does not allow.

        Raises:
            NotFound: so that nothing is revealed.
        """
        if not self.may(permission):
            raise NotFound


@dataclass(frozen=True, slots=True, kw_only=True)
class AgencyAccess:
    """A coordinator's way into an agency."""

    agency_id: str
    agency_name: str
    time_zone: str
    account_id: int
    account_name: str


def enter_household(
    db: Session,
    account: AccountRow,
    household_id: str,
    permission: Permission = Permission.VIEW,
) -> HouseholdAccess:
    """Let an account into a household.

    Raises:
        NotFound: when there is no such household, or not for this account, or not for this.
    """
    if account.closed_at is not None:
        raise NotFound
    found = db.execute(_WAY_IN, {"account": account.id, "household": household_id}).first()
    if found is None:
        raise NotFound
    role = Role.COORDINATOR if found.role is None else Role(found.role)
    access = HouseholdAccess(
        household_id=household_id,
        household_name=found.name,
        time_zone=found.time_zone,
        agency_id=found.agency_id,
        role=role,
        account_id=account.id or 0,
        account_name=account.name,
        one_of_several=found.memberships > 1 or role is Role.COORDINATOR,
    )
    access.require(permission)
    return access


def enter_agency(db: Session, account: AccountRow, agency_id: str) -> AgencyAccess:
    """Let a coordinator into their agency.

    Raises:
        NotFound: when there is no such agency, or not for this account.
    """
    agency = db.get(AgencyRow, agency_id)
    if agency is None or not _works_for(db, account, agency_id):
        raise NotFound
    return AgencyAccess(
        agency_id=agency.id,
        agency_name=agency.name,
        time_zone=agency.time_zone,
        account_id=account.id or 0,
        account_name=account.name,
    )


def _works_for(db: Session, account: AccountRow, agency_id: str) -> bool:
    if account.closed_at is not None:
        return False
    wanted = select(CoordinatorRow.id).where(
        CoordinatorRow.account_id == account.id, CoordinatorRow.agency_id == agency_id
    )
    return db.exec(wanted).first() is not None
