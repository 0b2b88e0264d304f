"""Links that work once: for the first account, for people who are invited, for a lost password.

A link's address holds a secret of 256 random bits, of which only the SHA-256 is kept. Its row
is deleted when it is used, taken back or too old, so nothing stays behind that could be used.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, delete, select

from app import security
from app.access import MEMBER_ROLES, AgencyAccess, HouseholdAccess, Permission, Role
from app.errors import InvalidInput, NotFound
from app.models import AccountRow
from app.models_links import OneTimeLinkRow
from planner.errors import Fault, show

LONGEST_NOTE = 60
MOST_OPEN_INVITES = 20
"""Open invites of one household or agency; more are a mistake or mischief."""


class Purpose(StrEnum):
    """What a link is for."""

    ACCOUNT = "account"
    INVITE = "invite"
    PASSWORD = "password"  # noqa: S105  (a word, not a secret)


GOOD_FOR = {
    Purpose.ACCOUNT: timedelta(hours=24),
    Purpose.INVITE: timedelta(days=7),
    Purpose.PASSWORD: timedelta(hours=24),
}


class LinkGone(NotFound):
    """A link that was used, taken back, is too old or never was; the four are not told apart."""

    title = "This link does not work any more"
    message = (
        "It was used before, taken back, or is too old. Ask the person who gave it to you for "
        "a new one."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenInvite:
    """An invite that nobody has used yet."""

    link_id: int
    role: Role
    note: str
    made_by: str
    expires_at: datetime


def make_account_link(db: Session, now: datetime, *, agency_id: str | None = None) -> str:
    """Make a link that opens a new account, as coordinator where an agency is named.

    Returns:
        The secret of the address `/join/{secret}`; the caller commits.
    """
    row, secret = _new_link(Purpose.ACCOUNT, now)
    row.agency_id = agency_id
    _keep(db, row, now)
    return secret


def make_first_account_link(db: Session, now: datetime) -> str | None:
    """Make the link for the very first account, in place of an earlier one; commits.

    Returns:
        The secret; None when somebody has an account already.
    """
    db.commit()
    earlier = col(OneTimeLinkRow.purpose) == Purpose.ACCOUNT
    db.exec(delete(OneTimeLinkRow).where(earlier, col(OneTimeLinkRow.agency_id).is_(None)))
    has_account = db.exec(select(AccountRow.id).limit(1)).first() is not None
    secret = None if has_account else make_account_link(db, now)
    db.commit()
    return secret


def make_password_link(db: Session, account: AccountRow, now: datetime) -> str:
    """Make a link that sets a new password, in place of an earlier one; the caller commits."""
    mine = col(OneTimeLinkRow.account_id) == account.id
    db.exec(delete(OneTimeLinkRow).where(mine))
    row, secret = _new_link(Purpose.PASSWORD, now)
    row.account_id = account.id
    _keep(db, row, now)
    return secret


def invite(
    db: Session,
    access: HouseholdAccess | AgencyAccess,
    *,
    role: Role,
    note: str,
    now: datetime,
) -> str:
    """Invite somebody into a household or agency.

    Args:
        db: session.
        access: of somebody who may decide who belongs to it.
        role: what the person will be.
        note: how the inviting person knows the link, shown in the list only.
        now: present instant.

    Returns:
        The secret of the address `/join/{secret}`, shown once.

    Raises:
        InvalidInput: fields `note`, `role`; nothing was saved.
        NotFound: when the account may not do this.
    """
    _require_managing(access)
    db.commit()
    forget_old(db, now)
    faults = _invite_faults(db, access, role, note.strip())
    if faults:
        db.rollback()
        raise InvalidInput(faults)
    row, secret = _new_link(Purpose.INVITE, now)
    if isinstance(access, HouseholdAccess):
        row.household_id = access.household_id
    else:
        row.agency_id = access.agency_id
    row.role, row.made_by, row.note = role.value, access.account_id, note.strip()
    db.add(row)
    db.commit()
    return secret


def open_invites(
    db: Session, access: HouseholdAccess | AgencyAccess, now: datetime
) -> tuple[OpenInvite, ...]:
    """Invites of a household or agency that still work, the latest first."""
    query = (
        select(OneTimeLinkRow, AccountRow.name)
        .outerjoin(AccountRow, col(AccountRow.id) == OneTimeLinkRow.made_by)
        .where(
            _of(access),
            col(OneTimeLinkRow.purpose) == Purpose.INVITE,
            col(OneTimeLinkRow.expires_at) > now,
        )
        .order_by(col(OneTimeLinkRow.id).desc())
    )
    return tuple(
        OpenInvite(
            link_id=row.id or 0,
            role=Role(row.role or Role.VIEWER),
            note=row.note,
            made_by=name or "",
            expires_at=row.expires_at,
        )
        for row, name in db.exec(query).all()
    )


def take_back_invite(db: Session, access: HouseholdAccess | AgencyAccess, link_id: int) -> None:
    """Make an invite stop working; again changes nothing.

    Raises:
        NotFound: when the account may not do this.
    """
    _require_managing(access)
    db.commit()
    db.exec(delete(OneTimeLinkRow).where(_of(access), col(OneTimeLinkRow.id) == link_id))
    db.commit()


def find_link(db: Session, secret: str, now: datetime) -> OneTimeLinkRow:
    """The link behind an address.

    Raises:
        LinkGone: when there is none that works.
    """
    here = OneTimeLinkRow.token_hash == security.hash_secret(secret)
    row = db.exec(select(OneTimeLinkRow).where(here)).first()
    if row is None or row.expires_at <= now:
        raise LinkGone
    return row


def use_up(db: Session, secret: str, now: datetime) -> None:
    """Take a link for good, as the first statement of what it is used for; the caller commits.

    Of two that use it at the same moment one succeeds.

    Raises:
        LinkGone: when there is none that works.
    """
    here = col(OneTimeLinkRow.token_hash) == security.hash_secret(secret)
    used = db.exec(delete(OneTimeLinkRow).where(here, col(OneTimeLinkRow.expires_at) > now))
    if used.rowcount != 1:
        raise LinkGone


def forget_old(db: Session, now: datetime) -> None:
    """Delete links that are too old; the caller commits."""
    db.exec(delete(OneTimeLinkRow).where(col(OneTimeLinkRow.expires_at) <= now))


def _new_link(purpose: Purpose, now: datetime) -> tuple[OneTimeLinkRow, str]:
    fresh = security.new_secret()
    row = OneTimeLinkRow(
        token_hash=fresh.secret_hash,
        purpose=purpose.value,
        made_at=now,
        expires_at=now + GOOD_FOR[purpose],
    )
    return row, fresh.secret


def _keep(db: Session, row: OneTimeLinkRow, now: datetime) -> None:
    forget_old(db, now)
    db.add(row)
    db.flush()


def _invite_faults(
    db: Session, access: HouseholdAccess | AgencyAccess, role: Role, note: str
) -> list[Fault]:
    faults = []
    allowed = MEMBER_ROLES if isinstance(access, HouseholdAccess) else (Role.COORDINATOR,)
    if role not in allowed:
        faults.append(Fault(field="role", value=role.value, fix="choose one of the list"))
    if len(note) > LONGEST_NOTE or (note and not note.isprintable()):
        fix = f"write at most {LONGEST_NOTE} letters, or leave it empty"
        faults.append(Fault(field="note", value=show(note), fix=fix))
    if len(db.exec(select(OneTimeLinkRow.id).where(_of(access))).all()) >= MOST_OPEN_INVITES:
        fix = f"{MOST_OPEN_INVITES} invites are open already; take one back first"
        faults.append(Fault(field="role", value="one too many", fix=fix))
    return faults


def _of(access: HouseholdAccess | AgencyAccess) -> ColumnElement[bool]:
    if isinstance(access, HouseholdAccess):
        return col(OneTimeLinkRow.household_id) == access.household_id
    return col(OneTimeLinkRow.agency_id) == access.agency_id


def _require_managing(access: HouseholdAccess | AgencyAccess) -> None:
    """Whoever enters an agency may manage it; in a household the role says so."""
    if isinstance(access, HouseholdAccess):
        access.require(Permission.MANAGE)
