"""Calendar addresses: made, renewed and revoked; what they show. A secret is never kept."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Session, col, select

from app import clock, security
from app.access import AgencyAccess, HouseholdAccess
from app.changes_rows import supplier_changes, supplier_term_on
from app.errors import InvalidInput, NotFound
from app.feed_filter import DueKind, FeedFilter
from app.models import FeedRow, HouseholdRow, SupplierRow
from planner.errors import Fault, show
from planner.results import Urgency

_NO_ADDRESS = "There is no calendar address to change. Make one on the calendar page."


def make_feed_address(
    db: Session,
    access: HouseholdAccess | AgencyAccess,
    *,
    detailed: bool,
    now: datetime,
    wanted: FeedFilter | None = None,
) -> str:
    """Make a calendar address, or a new one in place of the account's old one.

    Args:
        db: session.
        access: whose calendar, and of which household or agency.
        detailed: whether entries may say more than neutral words.
        now: present instant.
        wanted: what an agency's calendar shows; None keeps what was chosen before.

    Returns:
        The secret of the address `/calendar/{secret}.ics`. The old address stops working.

    Raises:
        InvalidInput: field `supplier`; nothing was changed.
    """
    db.commit()
    fresh = security.new_secret()
    row = find_feed(db, access)
    if wanted is not None:
        _check_supplier(db, access, row, wanted)
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
    if wanted is not None:
        _keep(row, wanted)
    db.add(row)
    db.commit()
    return fresh.secret


def choose_shown(db: Session, access: AgencyAccess, wanted: FeedFilter) -> None:
    """Change what the account's calendar of an agency shows; its address stays.

    Raises:
        InvalidInput: field `supplier`; nothing was changed.
        NotFound: when there is no address that works.
    """
    db.commit()
    row = find_feed(db, access)
    if row is None or row.revoked_at is not None:
        raise NotFound(_NO_ADDRESS)
    _check_supplier(db, access, row, wanted)
    _keep(row, wanted)
    db.add(row)
    db.commit()


def shown_by(row: FeedRow | None) -> FeedFilter:
    """What an agency's calendar shows; the usual choice where nobody has chosen yet."""
    if row is None:
        return FeedFilter()
    return FeedFilter(
        least_urgency=Urgency(row.least_urgency),
        kinds=frozenset(DueKind(kind) for kind in row.entry_kinds.split(",")),
        supplier=row.supplier_name,
    )


def suppliers_of(db: Session, access: AgencyAccess) -> tuple[str, ...]:
    """Names of the suppliers of an agency's households, each once, in order."""
    query = (
        select(SupplierRow.household_id, SupplierRow.name)
        .join(HouseholdRow, col(HouseholdRow.id) == SupplierRow.household_id)
        .where(HouseholdRow.agency_id == access.agency_id)
    )
    changes, today = supplier_changes(db), clock.today_in(access.time_zone)
    names = {
        supplier_term_on(name, "name", changes.get(key, ()), today) for key, name in db.exec(query)
    }
    return tuple(sorted(names))


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


def _check_supplier(
    db: Session, access: HouseholdAccess | AgencyAccess, row: FeedRow | None, wanted: FeedFilter
) -> None:
    """A supplier that was chosen earlier may stay, although no household has it any more."""
    known: set[str | None] = {None} if row is None else {None, row.supplier_name}
    if isinstance(access, AgencyAccess):
        known.update(suppliers_of(db, access))
    if wanted.supplier not in known:
        fix = "choose a supplier of your households, or all suppliers"
        raise InvalidInput([Fault(field="supplier", value=show(wanted.supplier), fix=fix)])


def _keep(row: FeedRow, wanted: FeedFilter) -> None:
    row.least_urgency = wanted.least_urgency.value
    row.entry_kinds = ",".join(kind.value for kind in DueKind if wanted.wants(kind))
    row.supplier_name = wanted.supplier
