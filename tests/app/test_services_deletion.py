"""Deleting a household: everything of it, nothing of others, and never by a slip."""

from __future__ import annotations

import pytest
from sqlalchemy import func, select
from sqlmodel import Session, SQLModel, col

from app.access import HouseholdAccess, enter_household
from app.errors import InvalidInput, NotFound
from app.models import AccountRow, FeedRow, HouseholdRow, StoredPlanRow
from app.models_feed import PublishedEntryRow
from app.models_reminders import OutboxRow, ReminderChoiceRow
from app.planning import plan_for
from app.queries import open_feed
from app.services_deletion import WhatGoes, delete_household, what_goes
from app.services_feeds import make_feed_address
from tests.app.data_builders import NOW, UTC_NOW
from tests.app.test_services_own import settle

People = dict[str, AccountRow]
NAME = "Household of the tests"


def counts(db: Session) -> dict[str, int]:
    db.rollback()
    tables = SQLModel.metadata.tables
    return {
        name: db.execute(select(func.count()).select_from(table)).scalar_one()
        for name, table in tables.items()
    }


def fill(db: Session, access: HouseholdAccess) -> str:
    """Traces in every table that can have some; gives the secret of a calendar address."""
    settle(db, access)
    plan_for(db, access.household_id, NOW)
    secret = make_feed_address(db, access, detailed=False, now=UTC_NOW)
    feed = db.execute(
        select(FeedRow).where(col(FeedRow.account_id) == access.account_id)
    ).scalar_one()
    choice = db.execute(
        select(ReminderChoiceRow).where(col(ReminderChoiceRow.account_id) == access.account_id)
    ).scalar_one()
    db.add(
        PublishedEntryRow(
            feed_id=feed.id or 0,
            key="order-by",
            digest="d",
            starts_on=NOW.date(),
            summary="Order",
            created_at=UTC_NOW,
            changed_at=UTC_NOW,
        )
    )
    db.add(
        OutboxRow(
            choice_id=choice.id or 0,
            fact_key="f",
            state="waiting",
            next_try_at=UTC_NOW,
            changed_at=UTC_NOW,
        )
    )
    db.commit()
    return secret


def test_a_household_goes_from_every_table_and_others_stay(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    lone = enter_household(db, people["stranger"], "lone")
    kept = fill(db, lone)
    before = counts(db)
    secret = fill(db, carer)
    assert counts(db)["outbox"] == before["outbox"] + 1
    delete_household(db, carer, NAME)
    for name, table in SQLModel.metadata.tables.items():
        if "household_id" in table.columns:
            left = db.execute(select(table.c.household_id).distinct()).scalars().all()
            assert "home" not in left, name
    assert db.get(HouseholdRow, "home") is None
    after = counts(db)
    for name in ("feed", "published_entry", "reminder_choice", "outbox", "one_time_link"):
        assert after[name] == before[name] == 1, name
    assert after["account"] == before["account"]
    assert open_feed(db, secret) is None
    assert open_feed(db, kept) is not None
    assert db.get(StoredPlanRow, "lone") is not None
    with pytest.raises(NotFound):
        enter_household(db, people["cara"], "home")
    assert enter_household(db, people["rival"], "other").household_name == NAME


@pytest.mark.parametrize("typed", [NAME, f"  {NAME.upper()} ", "household of  the tests"])
def test_the_name_may_be_typed_in_any_case(typed: str, db: Session, carer: HouseholdAccess) -> None:
    delete_household(db, carer, typed)
    assert db.get(HouseholdRow, "home", populate_existing=True) is None


@pytest.mark.parametrize("typed", ["", "home", "Household of the test", "yes"])
def test_another_name_deletes_nothing(typed: str, db: Session, carer: HouseholdAccess) -> None:
    before = counts(db)
    with pytest.raises(InvalidInput, match=f"write {NAME} to delete it"):
        delete_household(db, carer, typed)
    assert counts(db) == before


def test_a_viewer_deletes_nothing(db: Session, people: People) -> None:
    viewer = enter_household(db, people["vic"], "home")
    before = counts(db)
    with pytest.raises(NotFound):
        delete_household(db, viewer, NAME)
    assert counts(db) == before


def test_deleting_again_finds_nothing(db: Session, carer: HouseholdAccess) -> None:
    delete_household(db, carer, NAME)
    with pytest.raises(NotFound):
        delete_household(db, carer, NAME)


def test_what_goes_is_counted(db: Session, carer: HouseholdAccess) -> None:
    assert what_goes(db, carer) == WhatGoes(
        sessions=12, shelf_entries=2, orders=1, people=3, calendars=0, reminders=0
    )
    settle(db, carer)
    goes = what_goes(db, carer)
    assert (goes.sessions, goes.shelf_entries, goes.calendars, goes.reminders) == (13, 3, 1, 1)
