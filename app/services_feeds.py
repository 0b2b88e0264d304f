"""Calendar addresses: made, renewed and revoked. A secret is shown once and never kept."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, select

from app import security
from app.access import AgencyAccess, HouseholdAccess
from app.models import FeedRow


def make_feed_address(
    db: Session, access: HouseholdAccess | AgencyAccess, *, detailed: bool, now: datetime
) -> str:
    """Make a calendar address, or a new one in place of the account's old one.

    Args:
        db: session.
        access: whose calendar, and of which household or agency.
        detailed: whether entries may say more than neutral words.
        now: present instant.

    Returns:
        The secret of the address `/calendar/{secret}.ics`. The old address stops working.
    """
    db.commit()
    fresh = security.new_secret()
    row = find_feed(db, access)
    if row is None:
        row = FeedRow(
            feed_key=security.new_key(),
            token_hash=fresh.secret_hash,
            account_id=access.account_id,
            household_id=access.household_id if isinstance(access, HouseholdAccess) else None,
            agency_id=access.agency_id if isinstance(access, AgencyAccess) else None,
            created_at=now,
        )
    row.token_hash, row.created_at = fresh.secret_hash, now
    row.detailed, row.revoked_at, row.last_read_at = detailed, None, None
    db.add(row)
    db.commit()
    return fresh.secret


def revoke_feed_address(
    db: Session, access: HouseholdAccess | AgencyAccess, *, now: datetime
) -> None:
    """Make the account's calendar address stop working; nothing happens when there is none."""
    db.commit()
    row = find_feed(db, access)
    if row is not None and row.revoked_at is None:
        row.revoked_at = now
        db.add(row)
    db.commit()


def find_feed(db: Session, access: HouseholdAccess | AgencyAccess) -> FeedRow | None:
    """The account's calendar address of a household or agency, revoked or not."""
    query = select(FeedRow).where(FeedRow.account_id == access.account_id)
    if isinstance(access, HouseholdAccess):
        query = query.where(FeedRow.household_id == access.household_id)
    else:
        query = query.where(FeedRow.agency_id == access.agency_id)
    return db.exec(query).first()
