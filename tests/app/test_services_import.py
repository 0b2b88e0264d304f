"""A household as a file and back: the same bytes, whole or not at all."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlmodel import Session, select

from app.access import HouseholdAccess, Role, enter_agency, enter_household
from app.convert import read_household, write_household
from app.errors import InvalidInput, NotFound, OutOfDate
from app.exporting import household_file
from app.models import AccountRow, HouseholdRow, ItemRow, LedgerRow
from app.planning import plan_for
from app.queries import open_feed
from app.services import count_item, record_session, undo
from app.services_accounts import add_member
from app.services_feeds import make_feed_address
from app.services_import import (
    import_for_agency,
    import_into,
    import_new,
    is_empty,
    read_file,
)
from app.services_links import invite, open_invites
from app.writing import Request
from planner.scenario import ScenarioFile, read_scenario
from planner.scenario_writer import write_scenario
from tests.app.data_builders import KIT, NOW, TODAY, UTC_NOW, make_household
from tests.app.test_services_record import SESSION
from tests.planner.scenario_builders import SMALL, spoilt, with_more

People = dict[str, AccountRow]
SEEDS = Path(__file__).parents[2] / "seed_scenarios"


def file_of(**changes: object) -> bytes:
    household = make_household(**changes)
    return write_scenario(ScenarioFile(as_of=TODAY, households=(household,))).encode()


def households(db: Session) -> set[str]:
    db.rollback()
    return set(db.exec(select(HouseholdRow.id)))


def test_saved_read_in_and_saved_again_it_is_the_same_file(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    ask = Request(db=db, access=carer, now=NOW)
    record_session(ask, SESSION)
    entry = count_item(ask, item_code=KIT, units=9, at=NOW).key
    undo(ask, entry)
    first = household_file(db, "home")
    assert first is not None
    key = import_new(db, people["rival"], read_file(first.encode())[0], Role.CARER)
    assert household_file(db, key) == first
    again = import_new(db, people["rival"], read_file(first.encode())[0], Role.CARER)
    assert household_file(db, again) == first


@pytest.mark.parametrize("path", sorted(SEEDS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_seed_scenario_comes_back_as_it_went_in(
    path: Path, db: Session, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    scenario = read_scenario(path)
    monkeypatch.setenv("EBBSTOCK_NOW", f"{scenario.as_of}T22:00:00")
    agency = enter_agency(db, people["cody"], "ours")
    for household in scenario.households[:3]:
        alone = ScenarioFile(as_of=scenario.as_of, households=(household,))
        content = write_scenario(alone)
        (key,) = import_for_agency(db, agency, read_file(content.encode()))
        assert household_file(db, key) == content


def test_what_is_read_in_can_be_planned(db: Session, people: People) -> None:
    key = import_new(db, people["rival"], read_file(file_of())[0], Role.PATIENT)
    before = plan_for(db, "home", NOW).plan
    after = plan_for(db, key, NOW).plan
    assert replace(after, household_id="home") == before


def test_its_address_says_nothing_and_its_first_member_is_who_read_it_in(
    db: Session, people: People
) -> None:
    key = import_new(db, people["rival"], read_file(file_of(id="maria-lopez"))[0], Role.PATIENT)
    assert re.fullmatch(r"[0-9a-f]{32}", key)
    access = enter_household(db, people["rival"], key)
    assert (access.role, access.agency_id) == (Role.PATIENT, None)
    with pytest.raises(NotFound):
        enter_household(db, people["cody"], key)


def test_an_id_that_is_taken_here_disturbs_nobody(db: Session, people: People) -> None:
    before = read_household(db, "home")
    import_new(db, people["stranger"], read_file(file_of(name="Another"))[0], Role.PATIENT)
    assert read_household(db, "home") == before


def test_an_agency_gets_all_households_of_a_file(db: Session, people: People) -> None:
    many = tuple(make_household(id=f"h{n}", name=f"Home {n}") for n in range(3))
    content = write_scenario(ScenarioFile(as_of=TODAY, households=many)).encode()
    agency = enter_agency(db, people["cody"], "ours")
    keys = import_for_agency(db, agency, read_file(content, most=3))
    names = [enter_household(db, people["cody"], key).household_name for key in keys]
    assert names == ["Home 0", "Home 1", "Home 2"]
    with pytest.raises(InvalidInput, match="households is 3 in one file: split it, 2 in each"):
        read_file(content, most=2)
    with pytest.raises(InvalidInput, match="choose a file with 1 of them"):
        read_file(content)


BAD = {
    "nothing": (b" \n", "the file is empty: choose a file that was saved here"),
    "a picture": (b"\x89PNG\r\n\x1a\n\xff", "the file is not UTF-8 text: save it as plain"),
    "not the format": (b"a = \nb = 2\n", "the file is not valid TOML: correct it at line 1"),
    "another table": (b"format = 1\nas_of = 2026-03-08\n", "household is"),
    "a wrong number": (
        spoilt("ml = [180]", "ml = [-5]").encode(),
        "sessions[1].bottles[1].ml is -5: give 0 to 5000 mL.",
    ),
    "a later day": (
        with_more("\n[[sessions]]\nat = 2026-03-12\nml = [100]\n")
        .replace("as_of = 2026-03-08", "as_of = 2026-03-20")
        .encode(),
        "sessions[3].at is 2026-03-12: it lies after the day of the plan, 2026-03-11",
    ),
    "too large": (b"# " + b"x" * 20_000_000, "the file is too large"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_is_refused_with_the_place_of_the_fault(kind: str, frozen_clock: None) -> None:
    content, sentence = BAD[kind]
    with pytest.raises(InvalidInput) as refusal:
        read_file(content)
    assert any(fault.sentence.startswith(sentence) for fault in refusal.value.faults), str(
        refusal.value
    )


def test_every_fault_of_a_file_is_named(frozen_clock: None) -> None:
    content = spoilt("ml = [180]", "ml = [-5]").replace("expires_on = 2027-06-30", "expires_on = 1")
    with pytest.raises(InvalidInput) as refusal:
        read_file(content.encode())
    assert len(refusal.value.faults) == 2


def test_the_small_example_is_good(frozen_clock: None) -> None:
    assert len(read_file(SMALL.encode())) == 1


@pytest.mark.parametrize(
    ("phone", "said"),
    [
        ("5" * 61, f"{'5' * 57}...: use at most 60 characters."),
        ("5\0", "5?: leave out the character with code zero."),
    ],
    ids=["too long", "with a code zero"],
)
def test_a_text_that_a_database_refuses_saves_nothing(
    phone: str, said: str, db: Session, people: People
) -> None:
    household = make_household(id="x")
    terms = household.supplier
    assert terms.contact is not None
    unfit = replace(terms, contact=replace(terms.contact, phone=phone))
    before = households(db)
    with pytest.raises(InvalidInput) as refusal:
        import_new(db, people["stranger"], replace(household, supplier=unfit), Role.PATIENT)
    assert str(refusal.value) == f"contact.phone is {said}"
    assert households(db) == before
    import_new(db, people["stranger"], household, Role.PATIENT)


def test_a_failure_half_way_saves_nothing(
    db: Session, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    from app import services_import

    def fail(*args: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(services_import, "add_member", fail)
    before = households(db)
    with pytest.raises(RuntimeError):
        import_new(db, people["stranger"], make_household(id="x"), Role.PATIENT)
    assert households(db) == before
    assert len(db.exec(select(ItemRow)).all()) == 9


@pytest.fixture
def bare(db: Session, people: People) -> HouseholdAccess:
    """A household of the stranger's without entries."""
    write_household(db, make_household(id="bare", name="Bare", sessions=(), ledger=(), orders=()))
    add_member(db, people["stranger"], "bare", Role.CARER)
    db.commit()
    return enter_household(db, people["stranger"], "bare")


def test_a_file_takes_the_place_of_an_empty_household(
    db: Session, bare: HouseholdAccess, people: People
) -> None:
    assert is_empty(db, "bare")
    secret = make_feed_address(db, bare, detailed=False, now=UTC_NOW)
    invite(db, bare, role=Role.VIEWER, note="sis", now=UTC_NOW)
    key = import_into(db, bare, read_file(file_of())[0])
    assert "bare" not in households(db)
    access = enter_household(db, people["stranger"], key)
    assert (access.role, access.household_name) == (Role.CARER, "Household of the tests")
    feed = open_feed(db, secret)
    assert feed is not None
    assert isinstance(feed.access, HouseholdAccess)
    assert feed.access.household_id == key
    assert [one.note for one in open_invites(db, access, UTC_NOW)] == ["sis"]
    content = household_file(db, key)
    assert content is not None
    assert content.encode() == file_of()


def test_a_household_with_entries_is_never_replaced(
    db: Session, carer: HouseholdAccess, bare: HouseholdAccess
) -> None:
    before = read_household(db, "home")
    with pytest.raises(OutOfDate, match="has entries already"):
        import_into(db, carer, make_household(id="new"))
    assert read_household(db, "home") == before
    count_item(Request(db=db, access=bare, now=NOW), item_code=KIT, units=1, at=NOW)
    with pytest.raises(OutOfDate):
        import_into(db, bare, make_household(id="new"))
    assert db.exec(select(LedgerRow).where(LedgerRow.household_id == "bare")).one().units == 1


def test_a_viewer_reads_nothing_in(db: Session, people: People, bare: HouseholdAccess) -> None:
    add_member(db, people["vic"], "bare", Role.VIEWER)
    db.commit()
    viewer = enter_household(db, people["vic"], "bare")
    with pytest.raises(NotFound):
        import_into(db, viewer, make_household(id="new"))
    assert "bare" in households(db)


def test_records_of_today_are_not_of_the_future(db: Session, people: People) -> None:
    tomorrow = TODAY + timedelta(days=1)
    household = make_household()
    text = write_scenario(ScenarioFile(as_of=tomorrow, households=(household,)))
    assert read_file(text.encode()) == (household,)
    assert isinstance(tomorrow, date)
