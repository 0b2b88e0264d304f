"""The first record of a household, on both databases."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlmodel import Session, select

from app.access import Role, enter_household
from app.convert import read_household
from app.errors import InvalidInput
from app.models import AccountRow, HouseholdRow
from app.planning import plan_for
from app.services_start import StartEntry, start_household
from planner.household import Site
from planner.regimen import Pattern, Regimen
from tests.app.data_builders import NOW, TODAY, UTC_NOW

ENTRY = StartEntry(
    name="M. A.",
    time_zone="Europe/Lisbon",
    role=Role.CARER,
    site=Site.ABDOMEN,
    regimen=Regimen(starts_on=TODAY, pattern=Pattern.EVERY_N_DAYS, every_n_days=1),
    kits=8,
)


def test_it_begins_once_and_can_be_planned(db: Session, people: dict[str, AccountRow]) -> None:
    account = people["rival"]
    first, again = (
        start_household(db, account, ENTRY, submission="one", now=UTC_NOW) for _ in range(2)
    )
    assert first == again
    assert first.assumed == ("size", "box", "lead")
    assert enter_household(db, account, first.household_id).role is Role.CARER
    household = read_household(db, first.household_id)
    assert household is not None
    assert household.supplier.holiday_country == "PT"
    plan = plan_for(db, first.household_id, NOW).plan
    assert plan.on_hand[0].usable == 8
    assert plan.run_out.expected_on is not None


def test_the_same_value_from_another_person_is_another_household(
    db: Session, people: dict[str, AccountRow]
) -> None:
    started = {
        start_household(db, people[who], ENTRY, submission="one", now=UTC_NOW).household_id
        for who in ("rival", "stranger")
    }
    assert len(started) == 2


def test_what_cannot_be_used_saves_nothing(db: Session, people: dict[str, AccountRow]) -> None:
    before = len(db.exec(select(HouseholdRow.id)).all())
    entry = replace(ENTRY, kits_per_box=501)
    with pytest.raises(InvalidInput, match="units_per_box is 501"):
        start_household(db, people["cara"], entry, submission="one", now=UTC_NOW)
    assert len(db.exec(select(HouseholdRow.id)).all()) == before
