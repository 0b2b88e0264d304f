"""First steps: a signed-in person without a household gets a plan from a few answers."""

from __future__ import annotations

from datetime import date

import pytest
from sqlmodel import Session, select

from app.access import Role
from app.convert import read_household
from app.models import AccountRow, HouseholdRow, MembershipRow
from app.places import country_of, places
from planner.household import Household, Site
from planner.regimen import Pattern
from tests.app.data_builders import UTC_NOW
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

START = "/start"
ANSWERS = {"name": "M. A.", "time_zone": "Europe/London", "kits": "9"}


@pytest.fixture
def newt(db: Session, people: dict[str, AccountRow], enter: Enter) -> Visitor:
    """Somebody who has just got an account."""
    account = AccountRow(
        email="newt@test.example", name="newt", password_hash="none", created_at=UTC_NOW
    )
    db.add(account)
    db.commit()
    people["newt"] = account
    return enter("newt")


def begun(db: Session, address: str) -> Household:
    db.rollback()
    household = read_household(db, address.partition("?")[0].removeprefix("/h/"))
    assert household is not None
    return household


def test_a_person_without_a_household_is_led_to_the_first_steps(newt: Visitor) -> None:
    answer = newt.get("/")
    assert (answer.status_code, answer.headers["location"]) == (303, START)
    said = newt.see(START)
    assert "Set up a household" in said
    assert "Did somebody invite you?" in said


def test_a_few_answers_give_a_plan_that_says_how_sure_it_is(newt: Visitor, db: Session) -> None:
    more = {"kits_per_box": "12", "lead_business_days": "2", "supplier_phone": "555 0199"}
    answer = newt.send(START, ANSWERS | more | {"loose_bottles": "4", "size": "1000"}, "kits")
    said = newt.follow(answer)
    assert "Your first plan is ready." in said
    assert "this first plan goes by what is usual for others" in said
    assert "You did not know these yet" not in said
    assert "Supplies for" in said
    assert "They will probably last through" in said
    assert "9 kits" in said
    household = begun(db, answer.headers["location"])
    catheter = household.catheters[0]
    assert (household.name, household.time_zone) == ("M. A.", "Europe/London")
    assert [one.capacity_ml for one in household.items] == [1000, 1000]
    assert (catheter.site, catheter.regimens[0].every_n_days) == (Site.CHEST, 2)
    assert catheter.bottle_code is not None
    assert household.supplier.lead_business_days == 2
    assert household.supplier.holiday_country == "GB"
    assert household.supplier.contact is not None
    assert newt.get("/").headers["location"] == f"/h/{household.id}"


def test_what_is_not_known_is_counted_with_and_listed(newt: Visitor, db: Session) -> None:
    changes = {"name": "Home", "time_zone": "America/Chicago", "size": "", "role": "carer"}
    answer = newt.send(START, changes, "kits")
    said = newt.follow(answer)
    assert "Bottle size: the plan counts with 500 mL." in said
    assert "Kits on the shelf: the plan counts with none until you count them." in said
    assert "Kits in a box: the plan counts with 10." in said
    assert "Delivery time: the plan counts with 5 working days." in said
    assert "has never been counted" in said
    household = begun(db, answer.headers["location"])
    assert household.items[0].capacity_ml == 500
    assert household.supplier.lead_business_days == 5
    role = select(MembershipRow.role).where(MembershipRow.household_id == household.id)
    assert db.exec(role).one() == Role.CARER.value


def test_weekdays_and_as_needed_can_be_said(newt: Visitor, db: Session) -> None:
    weekly = {"pattern": "weekdays", "weekday_0": "yes", "weekday_4": "yes"}
    answer = newt.send(START, ANSWERS | weekly, "kits")
    regimen = begun(db, answer.headers["location"]).catheters[0].regimens[0]
    assert regimen.rrule == "FREQ=WEEKLY;BYDAY=MO,FR"
    assert newt.see(answer.headers["location"])
    needed = {"pattern": "as-needed", "site": "abdomen", "starts_on": "2026-02-01"}
    answer = newt.send(START, ANSWERS | needed, "kits")
    catheter = begun(db, answer.headers["location"]).catheters[0]
    assert catheter.regimens[0].pattern is Pattern.AS_NEEDED
    assert catheter.regimens[0].starts_on == date(2026, 2, 1)
    assert "Set up another household" in newt.see("/")


def test_the_same_form_sent_twice_begins_one_household(newt: Visitor, db: Session) -> None:
    values = newt.form(START, "kits").values | ANSWERS
    first, second = (newt.post(START, values).headers["location"] for _ in range(2))
    assert first == second
    db.rollback()
    mine = select(HouseholdRow).where(HouseholdRow.name == "M. A.")
    assert len(db.exec(mine).all()) == 1


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"name": " "}, "Name of the household is empty. Write a name or initials."),
        ({"name": "x" * 121}, "Use at most 120 characters."),
        ({"role": "owner"}, "Who you are is owner. Choose one of those on the page."),
        ({"time_zone": ""}, "Nearest place is empty. Choose one of those on the page."),
        ({"time_zone": "Mars"}, "Nearest place is Mars. Choose one of those on the page."),
        ({"site": "arm"}, "Where the tube lies is arm. Choose one of those on the page."),
        ({"pattern": "rarely"}, "How it is written is rarely. Choose one of those"),
        ({"every_n_days": "0"}, "Number of days is 0. Give 1 to 60 days."),
        ({"every_n_days": "often"}, "Number of days is often. Give a whole number of days"),
        ({"pattern": "weekdays"}, "Weekdays is empty. Tick at least one weekday."),
        ({"starts_on": "spring"}, "Day is spring. Give a day of the calendar"),
        ({"size": "7"}, "Size of the bottle is 7. Choose one of those on the page."),
        ({"size": "other"}, "Other size is empty. Give a whole number of mL"),
        ({"size": "other", "bottle_ml": "5"}, "Other size is 5. Give 50 to 5000 mL."),
        ({"kits": "many"}, "Number of kits is many. Give a whole number of kits"),
        ({"kits": "-1"}, "Number of kits is -1. Give 0 to 10000 kits."),
        ({"loose_bottles": "x"}, "Number of loose bottles is x. Give a whole number"),
        ({"kits_per_box": "0"}, "Kits in a box is 0. Give 1 to 500 kits."),
        ({"lead_business_days": "61"}, "Working days to delivery is 61. Give 0 to 60 days."),
        ({"supplier_name": "x" * 121}, "Use at most 120 characters."),
        ({"supplier_phone": "5" * 61}, "Use at most 60 characters."),
    ],
)
def test_a_bad_value_is_named_entries_are_kept_and_nothing_is_saved(
    changes: dict[str, str], fault: str, newt: Visitor, db: Session
) -> None:
    answer = newt.send(START, ANSWERS | changes, "kits")
    assert answer.status_code == 422
    assert any(fault in one for one in faults_of(answer)), faults_of(answer)
    assert text_of(answer).count(fault) >= 2  # in the summary and beside the field
    kept = next(one for one in forms_of(answer) if "kits" in one.values).values
    choices = ("role", "time_zone", "site", "pattern", "size")
    typed = {name: one for name, one in (ANSWERS | changes).items() if name not in choices}
    assert kept.items() >= typed.items()
    db.rollback()
    assert db.exec(select(HouseholdRow).where(HouseholdRow.id.startswith("h-"))).all() == []


def test_every_fault_is_named_at_once(newt: Visitor) -> None:
    answer = newt.send(START, {"kits": "x", "lead_business_days": "y"}, "kits")
    assert len(faults_of(answer)) == 4


def test_the_codes_in_the_address_name_nothing_but_what_is_to_be_checked(cara: Visitor) -> None:
    said = cara.see("/h/home?done=started&entry=size.nonsense.box")
    assert "Bottle size: the plan counts with 500 mL." in said
    assert "nonsense" not in said


def test_places_come_from_the_time_zone_database() -> None:
    assert len(places()) > 300
    assert country_of("America/Chicago") == "US"
    assert country_of("UTC") is None
