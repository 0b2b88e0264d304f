"""The demo: scenarios moved to today, three people who can sign in, all or nothing."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, func, select

from app import demo
from app.access import Role
from app.convert import read_household
from app.db import open_session
from app.models import AccountRow, HouseholdRow
from app.planning import plan_for
from app.queries import agency_links, household_links
from app.services_accounts import sign_in
from app.serving import prepare_demo
from app.settings import SEED_SCENARIOS, Settings
from planner.household import Household, refuse_future
from planner.ledger import Receipt, Reversal
from planner.regimen import Pattern, Regimen
from planner.scenario import InvalidScenario, ScenarioFile, read_scenario
from planner.supply import OrderStatus
from tests.app.data_builders import NOW, TODAY, UTC_NOW, make_household

AS_OF = date(2026, 3, 8)
FORTY = "agency_forty.toml"


def at(day: date) -> datetime:
    return datetime.combine(day, time(17, 0))


@pytest.fixture
def small_folder(tmp_path: Path) -> Path:
    """The seed scenarios without the many households."""
    folder = tmp_path / "scenarios"
    folder.mkdir()
    for path in SEED_SCENARIOS.glob("*.toml"):
        if path.name != FORTY:
            shutil.copy(path, folder)
    return folder


@pytest.mark.parametrize("days_later", range(-20, 21))
def test_the_last_day_falls_on_one_of_the_seven_days_from_today(days_later: int) -> None:
    today = AS_OF + timedelta(days=days_later)
    household = make_household(sessions=(), ledger=(), orders=())
    regimen = household.catheters[0].regimens[0]
    moved = demo.move_to(household, AS_OF, at(today)).catheters[0].regimens[0]
    shift = moved.starts_on - regimen.starts_on
    assert shift.days % 7 == 0
    assert today <= AS_OF + shift <= today + timedelta(days=6)


@pytest.fixture(scope="module")
def scenarios() -> list[ScenarioFile]:
    return [read_scenario(path) for path in sorted(SEED_SCENARIOS.glob("*.toml"))]


@pytest.mark.parametrize("weekday", range(7))
def test_nothing_of_a_moved_scenario_lies_ahead(
    weekday: int, scenarios: list[ScenarioFile]
) -> None:
    now = at(date(2026, 11, 23) + timedelta(days=weekday))
    for scenario in scenarios:
        for household in scenario.households:
            moved = demo.move_to(household, scenario.as_of, now)
            refuse_future(moved, now.date())
            assert all(session.started_at <= now for session in moved.sessions)
            assert all(entry.at <= now for entry in moved.ledger)


def test_sessions_keep_their_weekday() -> None:
    path = SEED_SCENARIOS / "monday_wednesday_friday.toml"
    scenario = read_scenario(path)
    before = scenario.households[0]
    moved = demo.move_to(before, scenario.as_of, at(date(2026, 11, 25)))
    weekdays = {session.id: session.drained_on.weekday() for session in before.sessions}
    assert moved.sessions
    assert all(weekdays[one.id] == one.drained_on.weekday() for one in moved.sessions)


def test_the_end_of_a_recurrence_moves_too() -> None:
    household = make_household()
    rule = Regimen(
        starts_on=date(2026, 1, 5), pattern=Pattern.RRULE, rrule="FREQ=DAILY;UNTIL=20260308"
    )
    changed = replace(household, catheters=(replace(household.catheters[0], regimens=(rule,)),))
    moved = demo.move_to(changed, AS_OF, at(date(2026, 3, 22)))
    assert moved.catheters[0].regimens[0].rrule == "FREQ=DAILY;UNTIL=20260322"


def test_goods_that_have_not_come_yet_are_on_their_way() -> None:
    plain = make_household()
    order = replace(plain.orders[0], status=OrderStatus.RECEIVED, received_on=TODAY)
    receipt = Receipt(
        id="r2", at=NOW + timedelta(hours=1), item_code="K-HALF", units=10, order_id="o1"
    )
    whole = replace(plain, orders=(order,), ledger=(*plain.ledger, receipt))
    before = demo.up_to(whole, NOW)
    assert before.orders[0].is_open
    assert before.ledger == plain.ledger
    assert demo.up_to(whole, NOW + timedelta(hours=2)) == whole


def test_what_is_left_out_takes_its_reversal_along() -> None:
    plain = make_household()
    ahead = replace(plain.sessions[-1], id="s-ahead", started_at=NOW + timedelta(hours=1))
    reversal = Reversal(id="v1", at=NOW - timedelta(hours=1), reverses_id="s-ahead")
    whole = replace(plain, sessions=(*plain.sessions, ahead), ledger=(*plain.ledger, reversal))
    assert demo.up_to(whole, NOW) == plain


def test_the_demo_is_loaded_with_its_people(
    engine: Engine, small_folder: Path, frozen_clock: None
) -> None:
    ids = demo.load_demo(engine, small_folder)
    with open_session(engine) as db:
        people = {account.email: account for account in db.exec(select(AccountRow))}
        assert set(people) == {demo.PATIENT, demo.CARER, demo.COORDINATOR}
        home = read_scenario(small_folder / demo.HOME_FILE).households[0].id
        second = read_scenario(small_folder / demo.SECOND_FILE).households[0].id
        links = {
            email: {(link.household_id, link.role) for link in household_links(db, account)}
            for email, account in people.items()
        }
        assert links == {
            demo.PATIENT: {(home, Role.PATIENT)},
            demo.CARER: {(home, Role.CARER), (second, Role.CARER)},
            demo.COORDINATOR: set(),
        }
        assert [link.agency_id for link in agency_links(db, people[demo.COORDINATOR])] == [
            demo.AGENCY_ID
        ]
        of_agency = select(HouseholdRow.id).where(HouseholdRow.agency_id == demo.AGENCY_ID)
        assert sorted(db.exec(of_agency)) == sorted(ids)
        for email in people:
            assert sign_in(
                db, email=email, password=demo.PASSWORD, address="192.0.2.1", now=UTC_NOW
            )
        assert plan_for(db, home, NOW).plan.as_of == TODAY


def test_a_bad_file_leaves_the_database_empty(
    sqlite_engine: Engine, small_folder: Path, frozen_clock: None
) -> None:
    (small_folder / "zz_bad.toml").write_text("format = 1\n")
    with pytest.raises(InvalidScenario):
        demo.load_demo(sqlite_engine, small_folder)
    assert not demo.has_households(sqlite_engine)


def test_a_failure_half_way_leaves_the_database_empty(
    engine: Engine, small_folder: Path, frozen_clock: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(demo, "add_coordinator", fail)
    with pytest.raises(RuntimeError):
        demo.load_demo(engine, small_folder)
    with open_session(engine) as db:
        assert db.exec(select(func.count()).select_from(AccountRow)).one() == 0
        assert db.exec(select(func.count()).select_from(HouseholdRow)).one() == 0


def test_a_folder_without_scenarios_is_named(sqlite_engine: Engine, tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"lacks chest_every_other_day\.toml"):
        demo.load_demo(sqlite_engine, tmp_path)


def test_a_second_start_keeps_what_was_written(
    tmp_path: Path, small_folder: Path, frozen_clock: None
) -> None:
    for path in small_folder.glob("*.toml"):
        if path.name not in (demo.HOME_FILE, demo.SECOND_FILE):
            path.unlink()
    settings = Settings(database_url=f"sqlite:///{tmp_path}/demo.db")
    said: list[str] = []
    prepare_demo(settings, folder=small_folder, tell=said.append)
    assert said[0] == "Loading the invented households of the demo ..."
    assert said[-1] == "Planned 2 of 2 households"
    said.clear()
    prepare_demo(settings, folder=small_folder, tell=said.append)
    assert said == ["The database holds households already; they are kept."]


def test_shifting_back_and_forth_changes_nothing(db: Session) -> None:
    household: Household = make_household()
    there = demo.move_to(household, AS_OF, at(date(2030, 1, 6)))
    back = demo.move_to(there, date(2030, 1, 6), at(AS_OF))
    assert back == demo.up_to(household, at(AS_OF))
    assert read_household(db, "home") is None
