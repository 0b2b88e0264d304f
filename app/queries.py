"""Reads: one function per question that a page or feed asks.

Plans come from `app.planning`; what may be seen is decided by `app.access` before.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, or_, select

from app import security
from app.access import AgencyAccess, HouseholdAccess, Role, enter_agency, enter_household
from app.convert import read_household
from app.errors import NotFound
from app.models import (
    AccountRow,
    AgencyRow,
    CoordinatorRow,
    DrainSessionRow,
    FeedRow,
    HouseholdRow,
    LedgerRow,
    MembershipRow,
    StoredPlanRow,
)
from app.models_orders import DeclinedOrderRow
from app.planning import URGENCY_RANK
from app.records import record_on
from app.services_feeds import find_feed
from planner.household import Household
from planner.results import Urgency

URGENCIES = tuple(URGENCY_RANK)


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseholdLink:
    """A household that an account may open."""

    household_id: str
    name: str
    role: Role


@dataclass(frozen=True, slots=True, kw_only=True)
class AgencyLink:
    """An agency that an account coordinates."""

    agency_id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DueHousehold:
    """One line of a coordinator's list, from the stored plan."""

    household_id: str
    name: str
    urgency: Urgency
    order_by_on: date | None
    expected_on: date | None
    cautious_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DuePage:
    """One page of a coordinator's list.

    Attributes:
        lines: most urgent first.
        total: lines on all pages.
        by_urgency: households of the whole agency by urgency, unfiltered.
    """

    lines: tuple[DueHousehold, ...]
    total: int
    by_urgency: dict[Urgency, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class DueFilter:
    """What a coordinator wants to see; page 1 is the first."""

    urgency: Urgency | None = None
    search: str = ""
    page: int = 1
    page_size: int = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenFeed:
    """A calendar address that works, with the access of the account it belongs to."""

    feed: FeedRow
    access: HouseholdAccess | AgencyAccess


def household_links(db: Session, account: AccountRow) -> tuple[HouseholdLink, ...]:
    """Households that an account is a member of, by name."""
    query = (
        select(HouseholdRow.id, HouseholdRow.name, MembershipRow.role)
        .join(MembershipRow, col(MembershipRow.household_id) == HouseholdRow.id)
        .where(MembershipRow.account_id == account.id)
        .order_by(HouseholdRow.name)
    )
    return tuple(
        HouseholdLink(household_id=key, name=name, role=Role(role))
        for key, name, role in db.exec(query)
    )


def agency_links(db: Session, account: AccountRow) -> tuple[AgencyLink, ...]:
    """Agencies that an account coordinates, by name."""
    query = (
        select(AgencyRow.id, AgencyRow.name)
        .join(CoordinatorRow, col(CoordinatorRow.agency_id) == AgencyRow.id)
        .where(CoordinatorRow.account_id == account.id)
        .order_by(AgencyRow.name)
    )
    return tuple(AgencyLink(agency_id=key, name=name) for key, name in db.exec(query))


def household_record(db: Session, access: HouseholdAccess) -> Household:
    """The whole record of a household: sessions, ledger, orders, items, terms.

    Raises:
        NotFound: when it is gone.
    """
    record = record_on(db, access.household_id)
    if record is None:
        raise NotFound
    return record.household


def records_of(
    db: Session, access: AgencyAccess, household_ids: Iterable[str]
) -> dict[str, Household]:
    """Whole records of some of an agency's households, by id; others are left out."""
    own = select(HouseholdRow.id).where(HouseholdRow.agency_id == access.agency_id)
    allowed = set(db.exec(own))
    read = ((key, read_household(db, key)) for key in household_ids if key in allowed)
    return {key: record for key, record in read if record is not None}


def who_orders(db: Session, access: HouseholdAccess) -> list[str]:
    """Names of those who place a household's orders: its carers, or without one the patient."""
    query = (
        select(AccountRow.name, MembershipRow.role)
        .join(MembershipRow, col(MembershipRow.account_id) == AccountRow.id)
        .where(MembershipRow.household_id == access.household_id)
        .order_by(AccountRow.name)
    )
    people = db.exec(query).all()
    by_role = {
        wanted: [name for name, role in people if role == wanted.value]
        for wanted in (Role.CARER, Role.PATIENT)
    }
    return by_role[Role.CARER] or by_role[Role.PATIENT]


def recorded_by(db: Session, access: HouseholdAccess) -> dict[str, str]:
    """Names of those who wrote each session and entry, by its id; loaded ones are left out."""
    names: dict[str, str] = {}
    for table in (DrainSessionRow, LedgerRow):
        query = (
            select(table.key, AccountRow.name)
            .join(AccountRow, col(AccountRow.id) == table.recorded_by)
            .where(table.household_id == access.household_id)
        )
        names.update(db.exec(query).all())
    return names


def declined_orders(db: Session, access: HouseholdAccess, most: int) -> list[DeclinedOrderRow]:
    """The latest answers that a proposal was not needed, the newest first."""
    query = (
        select(DeclinedOrderRow)
        .where(DeclinedOrderRow.household_id == access.household_id)
        .order_by(col(DeclinedOrderRow.id).desc())
        .limit(most)
    )
    return list(db.exec(query))


def due_page(db: Session, access: AgencyAccess, wanted: DueFilter) -> DuePage:
    """One page of an agency's households by urgency; call `refresh_agency` before."""
    query = (
        select_columns(
            col(HouseholdRow.id),
            col(HouseholdRow.name),
            col(StoredPlanRow.urgency_rank),
            col(StoredPlanRow.order_by_on),
            col(StoredPlanRow.expected_on),
            col(StoredPlanRow.cautious_on),
        )
        .join(StoredPlanRow, col(StoredPlanRow.household_id) == HouseholdRow.id)
        .where(col(HouseholdRow.agency_id) == access.agency_id)
    )
    if wanted.urgency is not None:
        query = query.where(col(StoredPlanRow.urgency_rank) == URGENCY_RANK[wanted.urgency])
    if wanted.search.strip():
        text = wanted.search.strip()
        query = query.where(
            or_(
                col(HouseholdRow.name).icontains(text, autoescape=True),
                col(HouseholdRow.id).icontains(text, autoescape=True),
            )
        )
    total = db.exec(select(func.count()).select_from(query.subquery())).one()
    ordered = query.order_by(
        col(StoredPlanRow.urgency_rank),
        col(StoredPlanRow.order_by_on).is_(None),
        col(StoredPlanRow.order_by_on),
        col(StoredPlanRow.cautious_on).is_(None),
        col(StoredPlanRow.cautious_on),
        HouseholdRow.id,
    )
    first = (max(wanted.page, 1) - 1) * wanted.page_size
    rows = db.execute(ordered.offset(first).limit(wanted.page_size)).all()
    return DuePage(
        lines=tuple(
            DueHousehold(
                household_id=key,
                name=name,
                urgency=URGENCIES[rank],
                order_by_on=order_by_on,
                expected_on=expected_on,
                cautious_on=cautious_on,
            )
            for key, name, rank, order_by_on, expected_on, cautious_on in rows
        ),
        total=total,
        by_urgency=_by_urgency(db, access.agency_id),
    )


def _by_urgency(db: Session, agency_id: str) -> dict[Urgency, int]:
    query = (
        select(StoredPlanRow.urgency_rank, func.count())
        .join(HouseholdRow, col(HouseholdRow.id) == StoredPlanRow.household_id)
        .where(HouseholdRow.agency_id == agency_id)
        .group_by(col(StoredPlanRow.urgency_rank))
    )
    counts = dict(db.exec(query).all())
    return {urgency: counts.get(rank, 0) for urgency, rank in URGENCY_RANK.items()}


def feed_address(db: Session, access: HouseholdAccess | AgencyAccess) -> FeedRow | None:
    """The account's working calendar address, without its secret; None when there is none."""
    row = find_feed(db, access)
    return None if row is None or row.revoked_at is not None else row


def open_feed(db: Session, secret: str) -> OpenFeed | None:
    """The calendar behind an address.

    Returns:
        None when the secret is unknown or revoked, or its account lost the access.
    """
    query = select(FeedRow).where(FeedRow.token_hash == security.hash_secret(secret))
    feed = db.exec(query).first()
    account = None if feed is None else db.get(AccountRow, feed.account_id)
    if feed is None or account is None or feed.revoked_at is not None:
        return None
    try:
        if feed.household_id is not None:
            return OpenFeed(feed=feed, access=enter_household(db, account, feed.household_id))
        return OpenFeed(feed=feed, access=enter_agency(db, account, feed.agency_id or ""))
    except NotFound:
        return None
