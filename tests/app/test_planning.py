"""Stored plans: kept while nothing changed, computed anew when something did."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from threading import Event

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from app import clock, plan_codec, planning
from app.access import HouseholdAccess, enter_agency
from app.convert import read_household
from app.errors import NotFound
from app.models import AccountRow, HouseholdRow, LedgerRow, StoredPlanRow, SupplierRow
from app.planning import (
    plan_for,
    plans_for,
    plans_to_order,
    refresh_agency,
    stale_household_ids,
)
from app.queries import DueFilter, due_page
from app.replanning import Replanner
from app.services import count_item
from app.writing import Request
from planner.household import Household
from planner.plan import make_plan
from planner.results import Plan, Urgency
from tests.app.data_builders import KIT, NOW, TODAY, UTC_NOW


@pytest.fixture
def computed(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, date]]:
    """Every plan that is really computed, as household and day."""
    seen: list[tuple[str, date]] = []

    def noted(household: Household, as_of: date, *, at: time | None = None) -> Plan:
        seen.append((household.id, as_of))
        return make_plan(household, as_of, at=at)

    monkeypatch.setattr(planning, "make_plan", noted)
    return seen


def test_a_plan_is_the_planner_s_own(db: Session, carer: HouseholdAccess) -> None:
    household = read_household(db, "home")
    assert household is not None
    found = plan_for(db, "home", NOW)
    assert found.plan == make_plan(household, TODAY)
    assert (found.input_version, found.computed_at) == (1, UTC_NOW)


def test_a_plan_is_computed_once(
    db: Session, carer: HouseholdAccess, computed: list[tuple[str, date]]
) -> None:
    first = plan_for(db, "home", NOW)
    again = plan_for(db, "home", NOW + timedelta(minutes=30))
    assert first == again
    assert computed == [("home", TODAY)]


def test_a_change_makes_a_new_plan(
    db: Session, carer: HouseholdAccess, computed: list[tuple[str, date]]
) -> None:
    before = plan_for(db, "home", NOW)
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=4, at=NOW)
    after = plan_for(db, "home", NOW)
    assert len(computed) == 2
    assert after.input_version == before.input_version + 1
    assert after.plan.on_hand[0].usable == 4
    assert after == plan_for(db, "home", NOW)


def test_a_new_day_makes_a_new_plan(
    db: Session, carer: HouseholdAccess, computed: list[tuple[str, date]]
) -> None:
    plan_for(db, "home", NOW)
    assert plan_for(db, "home", NOW + timedelta(days=1)).plan.as_of == TODAY + timedelta(days=1)
    assert [day for _, day in computed] == [TODAY, TODAY + timedelta(days=1)]


def test_the_cut_off_makes_a_new_plan(
    db: Session, carer: HouseholdAccess, computed: list[tuple[str, date]]
) -> None:
    """The supplier's cut-off is 15:00; an order after it counts as tomorrow's."""
    for hour, minute in ((14, 0), (15, 0), (15, 1), (23, 0)):
        found = plan_for(db, "home", datetime(2026, 3, 11, hour, minute))
    assert len(computed) == 2
    household = read_household(db, "home")
    assert household is not None
    assert found.plan == make_plan(household, TODAY, at=time(23, 0))


def test_the_cut_off_of_a_supplier_elsewhere_goes_by_its_clock(
    db: Session,
    carer: HouseholdAccess,
    computed: list[tuple[str, date]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """15:00 in Helsinki is 13:00 in Lisbon."""
    db.get_one(SupplierRow, "home").time_zone = "Europe/Helsinki"
    db.commit()
    household = read_household(db, "home")
    assert household is not None
    assert household.time_zone == "Europe/Lisbon"
    for hour, minute in ((12, 0), (13, 0), (13, 1), (23, 0)):
        now = datetime(2026, 3, 11, hour, minute)
        found = plan_for(db, "home", now)
    assert len(computed) == 2
    assert found.plan == make_plan(household, TODAY, at=time(13, 1))
    for hour, is_old in ((12, True), (14, False)):
        monkeypatch.setenv("EBBSTOCK_NOW", datetime(2026, 3, 11, hour, tzinfo=UTC).isoformat())
        assert ("home" in stale_household_ids(db)) is is_old


def test_an_older_program_s_plan_is_not_used(
    db: Session,
    carer: HouseholdAccess,
    computed: list[tuple[str, date]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plan_for(db, "home", NOW)
    monkeypatch.setattr(plan_codec, "PLAN_FORMAT", plan_codec.PLAN_FORMAT + 1)
    plan_for(db, "home", NOW)
    assert len(computed) == 2


def test_a_household_keeps_one_stored_plan(db: Session, carer: HouseholdAccess) -> None:
    for day in range(3):
        plan_for(db, "home", NOW + timedelta(days=day))
    assert db.get_one(StoredPlanRow, "home", populate_existing=True).as_of == date(2026, 3, 13)


def test_no_household_no_plan(db: Session, carer: HouseholdAccess) -> None:
    with pytest.raises(NotFound):
        plan_for(db, "nowhere", NOW)


def test_many_plans_come_one_by_one(db: Session, carer: HouseholdAccess) -> None:
    found = plans_for(db, ("home", "nowhere", "other"))
    assert next(found).plan.household_id == "home"
    assert [one.plan.household_id for one in found] == ["other"]


def test_an_agency_s_plans_are_refreshed_only_when_needed(
    db: Session,
    people: dict[str, AccountRow],
    carer: HouseholdAccess,
    computed: list[tuple[str, date]],
) -> None:
    for _ in range(2):
        assert refresh_agency(db, "ours") == 0
    assert computed == [("home", TODAY)]
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=0, at=NOW)
    assert refresh_agency(db, "ours") == 0
    assert computed == [("home", TODAY)] * 2


def test_a_page_does_not_wait_for_plans_longer_than_it_may(
    db: Session, people: dict[str, AccountRow], computed: list[tuple[str, date]]
) -> None:
    assert refresh_agency(db, "ours", at_most_seconds=0) == 1
    assert computed == []


def test_old_plans_are_found_most_urgent_first(
    db: Session, carer: HouseholdAccess, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert stale_household_ids(db) == ("home", "lone", "other")
    for household_id, rank in (("home", 3), ("lone", 0)):
        plan_for(db, household_id, NOW)
        db.get_one(StoredPlanRow, household_id).urgency_rank = rank
        db.commit()
    assert stale_household_ids(db) == ("other",)
    monkeypatch.setenv("EBBSTOCK_NOW", (UTC_NOW + timedelta(days=1)).isoformat())
    assert stale_household_ids(db) == ("other", "lone", "home")
    assert stale_household_ids(db, "ours") == ("home",)


def test_a_household_that_cannot_be_planned_keeps_nobody_waiting(
    db: Session, people: dict[str, AccountRow], caplog: pytest.LogCaptureFixture
) -> None:
    """A record from the future: the server's clock was set back."""
    home = db.get_one(HouseholdRow, "other")
    home.agency_id = "ours"
    later = NOW + timedelta(days=9)
    db.add(LedgerRow(household_id="home", key="x", kind="count", at=later, item_code=KIT, units=1))
    db.commit()
    assert refresh_agency(db, "ours") == 0
    assert db.get(StoredPlanRow, "home") is None
    assert db.get(StoredPlanRow, "other") is not None
    assert "could not be planned: InvalidHousehold" in caplog.text


def test_plans_that_want_an_order_are_found_by_day(
    db: Session, people: dict[str, AccountRow], carer: HouseholdAccess
) -> None:
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=3, at=NOW)
    plan = plan_for(db, "home", NOW).plan
    plan_for(db, "other", NOW)
    due_on = plan.order.order_by_on
    assert due_on is not None
    assert plan.order.lines
    assert plans_to_order(db, "ours", due_on) == (plan,)
    assert plans_to_order(db, "ours", due_on - timedelta(days=1)) == ()


def test_plans_are_kept_up_to_date_in_the_background(
    engine: Engine, db: Session, carer: HouseholdAccess
) -> None:
    db.commit()
    replanner = Replanner(engine, every_seconds=0.01)
    replanner.start()
    try:
        wait_until_all_are_planned(db)
        count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=2, at=NOW)
        wait_until_all_are_planned(db)
    finally:
        replanner.stop()
    assert db.get_one(StoredPlanRow, "home", populate_existing=True).input_version == 2


def wait_until_all_are_planned(db: Session) -> None:
    deadline = clock.seconds() + 60
    while stale_household_ids(db):
        db.commit()
        assert clock.seconds() < deadline, "the plans were not computed"
        Event().wait(0.02)
    db.commit()


def test_a_coordinator_s_list_shows_the_own_households_by_urgency(
    db: Session, people: dict[str, AccountRow], carer: HouseholdAccess
) -> None:
    access = enter_agency(db, people["cody"], "ours")
    refresh_agency(db, "ours")
    refresh_agency(db, "theirs")
    page = due_page(db, access, DueFilter())
    plan = plan_for(db, "home", NOW).plan
    (line,) = page.lines
    assert (line.household_id, line.urgency) == ("home", plan.urgency)
    assert (line.expected_on, line.cautious_on) == (
        plan.run_out.expected_on,
        plan.run_out.cautious_on,
    )
    assert page.total == 1
    assert page.by_urgency == {one: int(one is plan.urgency) for one in Urgency}


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (DueFilter(search="tests"), 1),
        (DueFilter(search="HOME"), 1),
        (DueFilter(search="%"), 0),
        (DueFilter(search="other"), 0),
        (DueFilter(page=2), 0),
    ],
)
def test_a_coordinator_s_list_can_be_searched(
    wanted: DueFilter, found: int, db: Session, people: dict[str, AccountRow]
) -> None:
    refresh_agency(db, "ours")
    page = due_page(db, enter_agency(db, people["cody"], "ours"), wanted)
    assert len(page.lines) == found


def test_a_coordinator_s_list_can_be_filtered(db: Session, people: dict[str, AccountRow]) -> None:
    refresh_agency(db, "ours")
    access = enter_agency(db, people["cody"], "ours")
    urgency = plan_for(db, "home", NOW).plan.urgency
    for one in Urgency:
        assert due_page(db, access, DueFilter(urgency=one)).total == int(one is urgency)
