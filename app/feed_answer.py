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

from app.access import AgencyAccess, HouseholdAccess
from app.convert import read_household
from app.errors import NotFound
from app.feed import PublishedEntry, write_feed, write_one
from app.feed_entries import (
    EntryKind,
    FeedEntry,
    HouseholdDue,
    coordinator_entries,
    household_entries,
)
from app.feed_filter import FeedFilter
from app.feed_memory import publish
from app.feed_words import FeedForm
from app.models import HouseholdRow, StoredPlanRow
from app.plan_codec import plan_from_json
from app.planning import URGENCY_RANK, plan_for, refresh_agency
from app.queries import household_record, open_feed
from app.services_display import display_of
from app.services_feeds import shown_by

_NO_ORDER_DAY = "There is no day to order by at present. Look at the order page again later."


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
    found = open_feed(db, secret)
    if found is None:
        raise NotFound
    feed, access = found.feed, found.access
    language = display_of(db, feed.account_id).language
    form = FeedForm(detailed=feed.detailed, language=language)
    created_on = feed.created_at.astimezone(ZoneInfo(access.time_zone)).date()
    if isinstance(access, AgencyAccess):
        name = "calendar.coordinator"
        entries = _of_agency(db, access, created_on, form, shown_by(feed))
    else:
        name, entries = "calendar.household", _of_household(db, access, created_on, form, now)
    published = publish(db, feed.id or 0, entries, now=now, form=form)
    body = write_feed(feed.feed_key, form.say(name), published)
    return FeedAnswer(body=body, tag=f'W/"{hashlib.sha256(body).hexdigest()[:32]}"')


def answer_order_day(db: Session, access: HouseholdAccess, now: datetime) -> bytes:
    """A file with the day to order by, in neutral words, to be put into a calendar once.

    The sequence is the version of the household's record, which rises with every write, so
    that a file fetched later wins over an earlier one.

    Args:
        db: session.
        access: who asks, and for which household.
        now: present instant, aware.

    Raises:
        NotFound: when the plan asks for no order.
    """
    here = now.astimezone(ZoneInfo(access.time_zone)).replace(tzinfo=None)
    stored = plan_for(db, access.household_id, here)
    record = household_record(db, access)
    form = FeedForm(language=display_of(db, access.account_id).language)
    entries = household_entries(stored.plan, record, created_on=here.date(), form=form)
    entry = next((one for one in entries if one.key == EntryKind.ORDER_BY), None)
    if entry is None:
        raise NotFound(_NO_ORDER_DAY)
    at = stored.computed_at.replace(microsecond=0)
    published = PublishedEntry(
        entry=entry, sequence=stored.input_version, created_at=at, changed_at=at
    )
    return write_one(f"order-day/{access.account_id}/{access.household_id}", published)


def _of_household(
    db: Session, access: HouseholdAccess, created_on: date, form: FeedForm, now: datetime
) -> tuple[FeedEntry, ...]:
    here = now.astimezone(ZoneInfo(access.time_zone)).replace(tzinfo=None)
    plan = plan_for(db, access.household_id, here).plan
    record = household_record(db, access)
    return household_entries(plan, record, created_on=created_on, form=form)


def _of_agency(
    db: Session, access: AgencyAccess, created_on: date, form: FeedForm, wanted: FeedFilter
) -> tuple[FeedEntry, ...]:
    refresh_agency(db, access.agency_id)
    due = _households_due(db, access.agency_id, wanted)
    return coordinator_entries(due, created_on=created_on, form=form, wanted=wanted)


def _households_due(db: Session, agency_id: str, wanted: FeedFilter) -> Iterator[HouseholdDue]:
    """Households urgent enough to appear; the others are not even read."""
    ranks = [URGENCY_RANK[urgency] for urgency in wanted.urgencies]
    query = (
        select(StoredPlanRow)
        .join(HouseholdRow, col(HouseholdRow.id) == StoredPlanRow.household_id)
        .where(HouseholdRow.agency_id == agency_id)
        .where(col(StoredPlanRow.urgency_rank).in_(ranks))
        .order_by(col(StoredPlanRow.household_id))
    )
    for stored in db.exec(query).all():
        household = read_household(db, stored.household_id)
        if household is not None:
            plan = plan_from_json(stored.plan_json)
            yield HouseholdDue(reference=household.id, household=household, plan=plan)
