"""What the reader of a calendar address gets.

The secret in an address is the only key to a feed. It is looked up by its hash and counts
only as long as the account it belongs to may still see the household or agency.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from app.access import enter_agency, enter_household
from app.convert import read_household
from app.errors import NotFound
from app.feed import write_feed
from app.feed_entries import FeedEntry, HouseholdDue, coordinator_entries, household_entries
from app.feed_memory import publish
from app.feed_words import FeedForm
from app.models import AccountRow, FeedRow, HouseholdRow, StoredPlanRow
from app.plan_codec import plan_from_json
from app.planning import URGENCY_RANK, plan_for, refresh_agency
from app.security import hash_secret
from planner.results import Urgency


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedAnswer:
    """A feed ready to be sent.

    Attributes:
        tag: HTTP entity tag. It is weak, since the same feed may travel compressed.
    """

    body: bytes
    tag: str


def answer_reader(db: Session, secret: str, now: datetime) -> FeedAnswer:
    """The feed behind a secret.

    Args:
        db: session; what the feed said is committed.
        secret: as it stands in the address.
        now: the instant of the reading, aware.

    Raises:
        NotFound: for an unknown, renewed or revoked secret, and when the account may no
            longer see what the feed shows; the reasons are not told apart.
    """
    wanted = select(FeedRow, AccountRow).where(
        FeedRow.token_hash == hash_secret(secret),
        col(FeedRow.revoked_at).is_(None),
        FeedRow.account_id == AccountRow.id,
    )
    found = db.exec(wanted).first()
    if found is None:
        raise NotFound
    feed, account = found
    form = FeedForm(detailed=feed.detailed)
    if feed.agency_id is not None:
        name, entries = "calendar.coordinator", _of_agency(db, feed, account, form, now)
    else:
        name, entries = "calendar.household", _of_household(db, feed, account, form, now)
    published = publish(db, feed.id or 0, entries, now=now, form=form)
    body = write_feed(feed.feed_key, form.say(name), published)
    return FeedAnswer(body=body, tag=f'W/"{hashlib.sha256(body).hexdigest()[:32]}"')


def _of_household(
    db: Session, feed: FeedRow, account: AccountRow, form: FeedForm, now: datetime
) -> tuple[FeedEntry, ...]:
    access = enter_household(db, account, feed.household_id or "")
    here = ZoneInfo(access.time_zone)
    stored = plan_for(db, access.household_id, now.astimezone(here).replace(tzinfo=None))
    household = read_household(db, access.household_id)
    if household is None:
        raise NotFound
    created_on = _day_in(feed.created_at, access.time_zone)
    return household_entries(stored.plan, household, created_on=created_on, form=form)


def _of_agency(
    db: Session, feed: FeedRow, account: AccountRow, form: FeedForm, now: datetime
) -> tuple[FeedEntry, ...]:
    access = enter_agency(db, account, feed.agency_id or "")
    refresh_agency(db, access.agency_id)
    created_on = _day_in(feed.created_at, access.time_zone)
    due = _households_due(db, access.agency_id)
    return coordinator_entries(due, created_on=created_on, form=form)


def _households_due(db: Session, agency_id: str) -> Iterator[HouseholdDue]:
    """Households that need somebody to act; the others are not even read."""
    wanted = (
        select(StoredPlanRow)
        .join(HouseholdRow, col(HouseholdRow.id) == StoredPlanRow.household_id)
        .where(HouseholdRow.agency_id == agency_id)
        .where(col(StoredPlanRow.urgency_rank) <= URGENCY_RANK[Urgency.ORDER_SOON])
        .order_by(col(StoredPlanRow.household_id))
    )
    for stored in db.exec(wanted).all():
        household = read_household(db, stored.household_id)
        if household is not None:
            plan = plan_from_json(stored.plan_json)
            yield HouseholdDue(reference=household.id, household=household, plan=plan)


def _day_in(instant: datetime, time_zone: str) -> date:
    return instant.astimezone(ZoneInfo(time_zone)).date()
