"""Who belongs to a household or agency: listed, changed, taken out, never left without a head."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from app.access import HouseholdAccess, Role, enter_agency, enter_household
from app.db import open_session
from app.errors import NotFound
from app.models import AccountRow, FeedRow, HouseholdRow, MembershipRow
from app.models_reminders import ReminderChoiceRow
from app.reminders import Choices, ReminderKind
from app.services_accounts import add_member
from app.services_feeds import make_feed_address
from app.services_members import (
    LastManager,
    agency_name_of,
    change_role,
    members_of,
    remove_member,
)
from app.services_reminders import save_choices
from tests.app.data_builders import UTC_NOW

People = dict[str, AccountRow]


def member_id(db: Session, access: HouseholdAccess, name: str) -> int:
    return next(one.member_id for one in members_of(db, access) if one.name == name)


def test_members_are_listed_with_their_roles(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    listed = [(one.name, one.role, one.is_you) for one in members_of(db, carer)]
    assert listed == [
        ("cara", Role.CARER, True),
        ("pat", Role.PATIENT, False),
        ("vic", Role.VIEWER, False),
    ]
    assert agency_name_of(db, carer) == "Ours"
    agency = enter_agency(db, people["cody"], "ours")
    assert [(one.name, one.role) for one in members_of(db, agency)] == [("cody", Role.COORDINATOR)]
    assert agency_name_of(db, enter_household(db, people["stranger"], "lone")) == ""


@pytest.mark.parametrize("role", [Role.PATIENT, Role.CARER, Role.VIEWER])
def test_a_role_is_changed(role: Role, db: Session, carer: HouseholdAccess, people: People) -> None:
    change_role(db, carer, member_id(db, carer, "vic"), role)
    assert enter_household(db, people["vic"], "home").role is role


def test_a_new_role_changes_no_plan(db: Session, carer: HouseholdAccess) -> None:
    change_role(db, carer, member_id(db, carer, "vic"), Role.CARER)
    row = db.get_one(HouseholdRow, "home", populate_existing=True)
    assert (row.input_version, row.name) == (1, "Household of the tests")


def test_nobody_becomes_coordinator_of_one_household(db: Session, carer: HouseholdAccess) -> None:
    with pytest.raises(NotFound):
        change_role(db, carer, member_id(db, carer, "vic"), Role.COORDINATOR)


def test_a_person_who_is_taken_out_loses_calendar_and_reminders_of_it(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    viewer = enter_household(db, people["vic"], "home")
    wanted = Choices(time_zone="UTC", wanted=frozenset({ReminderKind.RISK}))
    for access in (viewer, carer):
        make_feed_address(db, access, detailed=False, now=UTC_NOW)
        save_choices(db, access, wanted, UTC_NOW)
    remove_member(db, carer, member_id(db, carer, "vic"))
    with pytest.raises(NotFound):
        enter_household(db, people["vic"], "home")
    for table in (FeedRow, ReminderChoiceRow):
        assert db.exec(select(table.account_id)).all() == [carer.account_id]


def test_everybody_may_leave_but_a_viewer_takes_nobody_else_out(
    db: Session, people: People
) -> None:
    viewer = enter_household(db, people["vic"], "home")
    with pytest.raises(NotFound):
        remove_member(db, viewer, member_id(db, viewer, "pat"))
    with pytest.raises(NotFound):
        change_role(db, viewer, member_id(db, viewer, "vic"), Role.CARER)
    remove_member(db, viewer, member_id(db, viewer, "vic"))
    with pytest.raises(NotFound):
        enter_household(db, people["vic"], "home")


def test_members_of_another_household_are_out_of_reach(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    lone = enter_household(db, people["stranger"], "lone")
    theirs = member_id(db, lone, "stranger")
    with pytest.raises(NotFound):
        change_role(db, carer, theirs, Role.VIEWER)
    with pytest.raises(NotFound):
        remove_member(db, carer, theirs)
    assert enter_household(db, people["stranger"], "lone").role is Role.PATIENT


def test_the_last_who_manages_can_neither_leave_nor_step_down(db: Session, people: People) -> None:
    add_member(db, people["vic"], "lone", Role.VIEWER)
    lone = enter_household(db, people["stranger"], "lone")
    own = member_id(db, lone, "stranger")
    with pytest.raises(LastManager):
        remove_member(db, lone, own)
    with pytest.raises(LastManager):
        change_role(db, lone, own, Role.VIEWER)
    assert enter_household(db, people["stranger"], "lone").role is Role.PATIENT
    change_role(db, lone, member_id(db, lone, "vic"), Role.CARER)
    change_role(db, lone, own, Role.VIEWER)


def test_an_agency_s_coordinators_manage_a_household_without_members(
    db: Session, people: People
) -> None:
    coordinator = enter_household(db, people["cody"], "home")
    for one in members_of(db, coordinator):
        remove_member(db, coordinator, one.member_id)
    assert members_of(db, coordinator) == ()


def test_the_last_coordinator_cannot_leave(db: Session, people: People) -> None:
    agency = enter_agency(db, people["cody"], "ours")
    (own,) = members_of(db, agency)
    with pytest.raises(LastManager):
        remove_member(db, agency, own.member_id)
    assert enter_agency(db, people["cody"], "ours") == agency


def test_two_who_step_down_at_the_same_moment_do_not_leave_it_alone(
    engine: Engine, db: Session, people: People
) -> None:
    add_member(db, people["pat"], "lone", Role.CARER)
    db.commit()
    wanted = select(MembershipRow.id).where(MembershipRow.household_id == "lone")
    ids = [key or 0 for key in db.exec(wanted)]
    access = enter_household(db, people["stranger"], "lone")
    db.rollback()

    def step_down(key: int) -> bool:
        with open_session(engine) as own:
            try:
                change_role(own, access, key, Role.VIEWER)
            except LastManager:
                return False
        return True

    with ThreadPoolExecutor(2) as pool:
        assert sorted(pool.map(step_down, ids)) == [False, True]
