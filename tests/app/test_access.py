"""Who may do what in which household: every role, and every other household."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlmodel import Session, SQLModel, delete

from app.access import HouseholdAccess, Permission, Role, enter_agency, enter_household
from app.errors import NotFound
from app.models import AccountRow, HouseholdRow, MembershipRow
from app.queries import agency_links, household_links, household_record, recorded_by
from app.services import WasteEntry, count_item, record_session, report_waste, undo
from app.services_orders import (
    OrderConfirmation,
    Refusal,
    StepEntry,
    confirm_order,
    decline_order,
    move_order,
    undo_order_step,
)
from app.writing import Request
from tests.app.data_builders import KIT, NOW, UTC_NOW
from tests.app.test_services_record import SESSION

People = dict[str, AccountRow]

ALL = {Permission.VIEW, Permission.RECORD, Permission.ORDER, Permission.MANAGE}
ALLOWED: dict[tuple[str, str], set[Permission]] = {
    ("pat", "home"): ALL,
    ("cara", "home"): ALL,
    ("cody", "home"): ALL,
    ("vic", "home"): {Permission.VIEW},
    ("rival", "other"): ALL,
    ("stranger", "lone"): ALL,
}
PAIRS = [
    (person, household)
    for person in ("pat", "cara", "vic", "cody", "rival", "stranger")
    for household in ("home", "other", "lone", "nowhere")
]


@pytest.mark.parametrize(("person", "household"), PAIRS)
@pytest.mark.parametrize("permission", Permission)
def test_an_account_enters_only_where_it_may(
    person: str, household: str, permission: Permission, db: Session, people: People
) -> None:
    if permission in ALLOWED.get((person, household), set()):
        access = enter_household(db, people[person], household, permission)
        assert (access.household_id, access.account_id) == (household, people[person].id)
    else:
        with pytest.raises(NotFound):
            enter_household(db, people[person], household, permission)


@pytest.mark.parametrize(
    ("person", "role"),
    [
        ("pat", Role.PATIENT),
        ("cara", Role.CARER),
        ("vic", Role.VIEWER),
        ("cody", Role.COORDINATOR),
    ],
)
def test_each_enters_in_their_own_role(
    person: str, role: Role, db: Session, people: People
) -> None:
    assert enter_household(db, people[person], "home").role is role


def test_a_coordinator_enters_only_the_own_agency(db: Session, people: People) -> None:
    assert enter_agency(db, people["cody"], "ours").agency_name == "Ours"
    for person, agency in (("cody", "theirs"), ("cara", "ours"), ("rival", "ours")):
        with pytest.raises(NotFound):
            enter_agency(db, people[person], agency)
    with pytest.raises(NotFound):
        enter_agency(db, people["cody"], "nowhere")


def test_access_ends_at_once(db: Session, people: People) -> None:
    db.exec(delete(MembershipRow))
    db.commit()
    with pytest.raises(NotFound):
        enter_household(db, people["cara"], "home")


def test_a_closed_account_enters_nothing(db: Session, people: People) -> None:
    for person in ("cara", "cody"):
        people[person].closed_at = UTC_NOW
    db.commit()
    for person in ("cara", "cody"):
        with pytest.raises(NotFound):
            enter_household(db, people[person], "home")
    with pytest.raises(NotFound):
        enter_agency(db, people["cody"], "ours")


def test_links_lead_only_to_own_households(db: Session, people: People) -> None:
    assert [link.household_id for link in household_links(db, people["cara"])] == ["home"]
    assert household_links(db, people["cody"]) == ()
    assert [link.agency_id for link in agency_links(db, people["cody"])] == ["ours"]
    assert agency_links(db, people["cara"]) == ()


def test_ids_of_another_household_mean_nothing_here(db: Session, people: People) -> None:
    """`other` has the same session and order ids as `home`; a write must not leak over."""
    stranger = enter_household(db, people["stranger"], "lone")
    before = {key: db.get_one(HouseholdRow, key).input_version for key in ("home", "other")}
    ask = Request(db=db, access=stranger, now=NOW)
    undo(ask, "s1")
    move_order(ask, "o1", StepEntry(kind="cancelled", on=NOW.date()))
    for key in ("home", "other"):
        access = replace(stranger, household_id=key)
        record = household_record(db, access)
        assert record.orders[0].is_open
        assert len(record.valid_sessions) == 12
        assert db.get_one(HouseholdRow, key, populate_existing=True).input_version == before[key]


WRITES = {
    "session": lambda ask: record_session(ask, SESSION),
    "count": lambda ask: count_item(ask, item_code=KIT, units=3, at=NOW),
    "waste": lambda ask: report_waste(
        ask, WasteEntry(at=NOW, item_code=KIT, units=1, reason="wet")
    ),
    "undo": lambda ask: undo(ask, "s1"),
    "order": lambda ask: confirm_order(
        ask,
        OrderConfirmation(
            lines=((KIT, 1),), confirmed_by="V", said_yes=True, answer="Yes", input_version=1
        ),
    ),
    "undo of a step": lambda ask: undo_order_step(ask, "o1", 1),
    "a no": lambda ask: decline_order(
        ask, Refusal(declined_by="V", asked=(), answer="No", input_version=1)
    ),
    "cancel": lambda ask: move_order(ask, "o1", StepEntry(kind="cancelled", on=NOW.date())),
}


@pytest.mark.parametrize("write", WRITES)
def test_a_viewer_changes_nothing(write: str, db: Session, people: People) -> None:
    viewer = enter_household(db, people["vic"], "home")
    with pytest.raises(NotFound):
        WRITES[write](Request(db=db, access=viewer, now=NOW))
    row = db.get_one(HouseholdRow, "home", populate_existing=True)
    assert row.input_version == 1


def test_the_names_of_writers_stay_within_the_household(
    db: Session, people: People, carer: HouseholdAccess
) -> None:
    key = record_session(Request(db=db, access=carer, now=NOW), SESSION).key
    stranger = enter_household(db, people["stranger"], "lone")
    assert recorded_by(db, carer) == {key: "cara"}
    assert recorded_by(db, stranger) == {}


def test_every_household_table_names_its_household(db: Session) -> None:
    free = {"account", "login", "login_attempt", "agency", "coordinator", "household"}
    free |= {"published_entry", "outbox"}  # both hang on a row that names it
    free |= {"display_choice"}  # how one account sees pages
    for name, table in SQLModel.metadata.tables.items():
        assert name in free or "household_id" in table.columns, name
