"""What is set for a later day goes into a household's file and comes back from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, time

import pytest
from sqlmodel import Session, select

from app.access import HouseholdAccess, Role, enter_agency
from app.changes import Subject
from app.convert import read_household
from app.errors import InvalidInput
from app.exporting import household_file
from app.later_settings import read_later
from app.models import AccountRow, HouseholdRow
from app.services_import import import_for_agency, import_new, read_file
from app.services_settings import set_fields, take_back
from app.writing import Request
from planner.household import Household
from planner.scenario import parse_scenario
from tests.app.data_builders import NOW, TODAY

LATER = date(2026, 4, 1)
LATEST = date(2026, 5, 1)


@pytest.fixture
def saved(db: Session, carer: HouseholdAccess, people: dict[str, AccountRow]) -> str:
    """The file of a household with changes for later days, one of them taken back."""
    ask = Request(db=db, access=carer, now=NOW)
    set_fields(ask, Subject.SUPPLIER, {"lead_business_days": 4}, starts_on=TODAY)
    terms = {"lead_business_days": 5, "delivery_weekdays": (1, 3), "cut_off": time(11, 30)}
    set_fields(ask, Subject.SUPPLIER, terms, starts_on=LATER)
    set_fields(ask, Subject.PLAN, {"protection": 0.95}, starts_on=LATEST)
    gone = set_fields(ask, Subject.PLAN, {"cover_days": 14}, starts_on=LATER)
    take_back(ask, gone.key)
    text = household_file(db, "home")
    assert text is not None
    return text


def on_day(db: Session, key: str, day: date | None) -> Household:
    found = read_household(db, key, day)
    assert found is not None
    return replace(found, id="any")


def test_the_copy_is_the_same_on_every_day(
    saved: str, db: Session, people: dict[str, AccountRow]
) -> None:
    content = saved.encode()
    later = read_later(content)
    assert [(one.subject, one.starts_on) for one in later] == [
        (Subject.SUPPLIER, LATER),
        (Subject.PLAN, LATEST),
    ]
    (household,) = read_file(content)
    assert household.supplier.lead_business_days == 4
    key = import_new(db, people["stranger"], household, Role.CARER, later)
    for day in (None, LATER, LATEST):
        assert on_day(db, key, day) == on_day(db, "home", day)
    assert on_day(db, key, LATER).supplier.lead_business_days == 5
    assert on_day(db, key, LATEST).settings.protection == 0.95
    assert household_file(db, key) == saved


def test_the_planner_reads_such_a_file_as_the_record_of_its_day(saved: str) -> None:
    with_later, without = parse_scenario(saved), parse_scenario(saved.partition("\n[[later")[0])
    assert with_later == without


def test_a_file_without_such_settings_has_no_such_part(
    db: Session, people: dict[str, AccountRow]
) -> None:
    text = household_file(db, "lone")
    assert text is not None
    assert "later_settings" not in text
    assert read_later(text.encode()) == ()


SPOILT: dict[str, Callable[[str], str]] = {
    "no such subject": lambda text: text.replace('"supplier"', '"weather"'),
    "one that the record holds": lambda text: text.replace('"supplier"', '"pause"'),
    "no such field": lambda text: text.replace('"{\\"lead', '"{\\"weight'),
    "a word for a number": lambda text: text.replace('days\\": 5', 'days\\": \\"soon\\"'),
    "no JSON": lambda text: text.replace('values = "{', 'values = "[', 1),
    "no day": lambda text: text.replace(f"starts_on = {LATER}", "starts_on = true"),
    "a moment": lambda text: text.replace(f"starts_on = {LATER}", f"starts_on = {LATER}T10:00:00"),
    "no answer": lambda text: text.replace("is_removal = false", 'is_removal = "no"', 1),
    "something left out": lambda text: text.replace('target = ""\n', "", 1),
}


@pytest.mark.parametrize("kind", SPOILT)
def test_what_cannot_be_used_is_named(kind: str, saved: str) -> None:
    head, mark, tail = saved.partition("\n[[later_settings]]")
    spoilt = SPOILT[kind](tail)
    assert spoilt != tail
    content = f"{head}{mark}{spoilt}".encode()
    assert len(read_file(content)) == 1
    with pytest.raises(InvalidInput) as refusal:
        read_later(content)
    assert str(refusal.value) == (
        "later_settings[1] is not usable: write it as it was saved, or take it out."
    )


def test_what_does_not_go_with_the_record_saves_nothing(
    saved: str, db: Session, people: dict[str, AccountRow]
) -> None:
    content = saved.replace("0.95", "7.5").encode()
    before = set(db.exec(select(HouseholdRow.id)))
    db.rollback()
    (household,) = read_file(content)
    with pytest.raises(InvalidInput, match=r"later_settings\[2\] is not usable"):
        import_new(db, people["stranger"], household, Role.CARER, read_later(content))
    assert set(db.exec(select(HouseholdRow.id))) == before


def test_an_agency_reads_in_one_household_with_such_settings_or_many_without(
    saved: str, db: Session, people: dict[str, AccountRow]
) -> None:
    content = saved.encode()
    agency = enter_agency(db, people["cody"], "ours")
    (key,) = import_for_agency(db, agency, read_file(content), read_later(content))
    assert on_day(db, key, LATEST) == on_day(db, "home", LATEST)
    with pytest.raises(InvalidInput, match="2 in one file: save each household that has some"):
        read_later(content, 2)
