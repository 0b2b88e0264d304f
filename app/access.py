"""Who may see or change which household. Every other rule about access refers to here."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sqlmodel import Session, select

from app.errors import NotFound
from app.models import AccountRow, AgencyRow, CoordinatorRow, HouseholdRow, MembershipRow


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
    household = db.get(HouseholdRow, household_id)
    roles = _roles_of(db, account)
    role = None if household is None else _role_in(db, account, household, roles)
    if household is None or role is None:
        raise NotFound
    access = HouseholdAccess(
        household_id=household.id,
        household_name=household.name,
        time_zone=household.time_zone,
        agency_id=household.agency_id,
        role=role,
        account_id=account.id or 0,
        account_name=account.name,
        one_of_several=len(roles) > 1 or role is Role.COORDINATOR,
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


def _roles_of(db: Session, account: AccountRow) -> dict[str, Role]:
    """The account's role in each household that it is a member of."""
    if account.closed_at is not None:
        return {}
    mine = select(MembershipRow.household_id, MembershipRow.role).where(
        MembershipRow.account_id == account.id
    )
    return {household_id: Role(role) for household_id, role in db.exec(mine)}


def _role_in(
    db: Session, account: AccountRow, household: HouseholdRow, roles: dict[str, Role]
) -> Role | None:
    if household.id in roles:
        return roles[household.id]
    if household.agency_id is not None and _works_for(db, account, household.agency_id):
        return Role.COORDINATOR
    return None


def _works_for(db: Session, account: AccountRow, agency_id: str) -> bool:
    if account.closed_at is not None:
        return False
    wanted = select(CoordinatorRow.id).where(
        CoordinatorRow.account_id == account.id, CoordinatorRow.agency_id == agency_id
    )
    return db.exec(wanted).first() is not None
