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
    """What somebody may do with a household."""

    VIEW = "view"
    RECORD = "record"
    ORDER = "order"


PERMISSIONS = {
    Role.PATIENT: frozenset({Permission.VIEW, Permission.RECORD, Permission.ORDER}),
    Role.CARER: frozenset({Permission.VIEW, Permission.RECORD, Permission.ORDER}),
    Role.COORDINATOR: frozenset({Permission.VIEW, Permission.RECORD, Permission.ORDER}),
    Role.VIEWER: frozenset({Permission.VIEW}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseholdAccess:
    """One account's way into one household. Services and queries want this, not a bare id."""

    household_id: str
    household_name: str
    time_zone: str
    agency_id: str | None
    role: Role
    account_id: int
    account_name: str

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
    role = None if household is None else _role_in(db, account, household)
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


def _role_in(db: Session, account: AccountRow, household: HouseholdRow) -> Role | None:
    if account.closed_at is not None:
        return None
    found = db.exec(
        select(MembershipRow.role).where(
            MembershipRow.account_id == account.id,
            MembershipRow.household_id == household.id,
        )
    ).first()
    if found is not None:
        return Role(found)
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
