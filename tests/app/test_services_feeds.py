"""Calendar addresses: shown once, renewed, revoked, and dead when access ends."""

from __future__ import annotations

import pytest
from sqlmodel import Session, delete, select

from app import security
from app.access import AgencyAccess, HouseholdAccess, enter_agency
from app.models import AccountRow, FeedRow, MembershipRow
from app.queries import feed_address, open_feed
from app.services_feeds import make_feed_address, revoke_feed_address
from tests.app.data_builders import UTC_NOW


def make(db: Session, access: HouseholdAccess | AgencyAccess) -> str:
    return make_feed_address(db, access, detailed=False, now=UTC_NOW)


def test_an_address_opens_its_household_and_only_its_hash_is_kept(
    db: Session, carer: HouseholdAccess
) -> None:
    secret = make(db, carer)
    found = open_feed(db, secret)
    assert found is not None
    assert found.access == carer
    assert not found.feed.detailed
    assert db.exec(select(FeedRow.token_hash)).one() == security.hash_secret(secret)


def test_an_agency_has_its_own_address(db: Session, people: dict[str, AccountRow]) -> None:
    access = enter_agency(db, people["cody"], "ours")
    found = open_feed(db, make(db, access))
    assert found is not None
    assert found.access == access


def test_a_renewed_address_keeps_its_key_and_ends_the_old_one(
    db: Session, carer: HouseholdAccess
) -> None:
    first = make(db, carer)
    before = feed_address(db, carer)
    assert before is not None
    key = before.feed_key
    second = make_feed_address(db, carer, detailed=True, now=UTC_NOW)
    after = feed_address(db, carer)
    assert after is not None
    assert (after.feed_key, after.detailed) == (key, True)
    assert open_feed(db, first) is None
    assert open_feed(db, second) is not None


def test_a_revoked_address_is_dead_until_a_new_one_is_made(
    db: Session, carer: HouseholdAccess
) -> None:
    secret = make(db, carer)
    revoke_feed_address(db, carer, now=UTC_NOW)
    assert open_feed(db, secret) is None
    assert feed_address(db, carer) is None
    assert open_feed(db, make(db, carer)) is not None


def test_revoking_nothing_changes_nothing(db: Session, carer: HouseholdAccess) -> None:
    revoke_feed_address(db, carer, now=UTC_NOW)
    assert feed_address(db, carer) is None


def test_two_people_of_one_household_have_two_addresses(
    db: Session, carer: HouseholdAccess, people: dict[str, AccountRow]
) -> None:
    from app.access import enter_household

    other = enter_household(db, people["pat"], "home")
    first, second = make(db, carer), make(db, other)
    revoke_feed_address(db, other, now=UTC_NOW)
    assert open_feed(db, first) is not None
    assert open_feed(db, second) is None


def test_an_address_dies_with_the_access(db: Session, carer: HouseholdAccess) -> None:
    secret = make(db, carer)
    db.exec(delete(MembershipRow))
    db.commit()
    assert open_feed(db, secret) is None


@pytest.mark.parametrize("secret", ["", "x", "../../etc"])
def test_a_guess_opens_nothing(secret: str, db: Session, carer: HouseholdAccess) -> None:
    make(db, carer)
    assert open_feed(db, secret) is None
