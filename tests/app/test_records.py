"""What is kept in memory is never older than the database, whoever wrote there."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from app.access import HouseholdAccess, Role
from app.convert import read_household, write_household
from app.db import open_engine, open_session
from app.models import AccountRow, DrainSessionRow, LedgerRow
from app.planning import plan_for
from app.records import Memory, record_on
from app.services import count_item
from app.services_accounts import add_member
from app.services_deletion import erase_household
from app.writing import Request
from tests.app.data_builders import KIT, NOW, TODAY, make_household
from tests.app.watched_changes import RECORD_TABLES, watch

APP = Path(__file__).parents[2] / "app"


@pytest.fixture
def elsewhere(engine: Engine) -> Iterator[Session]:
    """Another process on the same database, as far as memory goes."""
    second = open_engine(engine.url.render_as_string(hide_password=False))
    with open_session(second) as session:
        yield session
    second.dispose()


def test_an_unchanged_record_and_plan_are_read_once(db: Session, carer: HouseholdAccess) -> None:
    first, plan = record_on(db, "home", TODAY), plan_for(db, "home", NOW)
    db.commit()
    assert record_on(db, "home", TODAY) is first
    assert plan_for(db, "home", NOW) is plan
    assert first is not None
    assert plan.household is first.household
    assert first.household == read_household(db, "home", TODAY)


def test_a_change_made_elsewhere_is_seen_at_once(
    db: Session, elsewhere: Session, carer: HouseholdAccess
) -> None:
    for units in (4, 9):
        for reader in (db, elsewhere):
            before = plan_for(reader, "home", NOW)
            reader.commit()
        count_item(Request(db=elsewhere, access=carer, now=NOW), item_code=KIT, units=units, at=NOW)
        for reader in (db, elsewhere):
            after = plan_for(reader, "home", NOW)
            assert after.input_version == before.input_version + 1
            assert after.household == read_household(reader, "home", TODAY)
            assert {one.item_code: one.usable for one in after.plan.on_hand}[KIT] == units
            reader.commit()


def test_rows_that_a_session_holds_do_not_make_a_record_old(
    db: Session, elsewhere: Session, carer: HouseholdAccess
) -> None:
    held = db.exec(select(DrainSessionRow).where(DrainSessionRow.household_id == "home")).all()
    row = elsewhere.get_one(DrainSessionRow, held[0].id)
    row.stop_reason = "pain" if row.stop_reason != "pain" else "not-said"
    elsewhere.commit()
    db.commit()
    read = read_household(db, "home", TODAY)
    assert read is not None
    assert held
    assert read == read_household(elsewhere, "home", TODAY)


def test_a_later_household_with_the_same_id_is_another_one(
    db: Session, elsewhere: Session, people: dict[str, AccountRow]
) -> None:
    assert record_on(elsewhere, "lone", TODAY) is not None
    plan_for(elsewhere, "lone", NOW)
    elsewhere.commit()
    erase_household(db, "lone")
    db.commit()
    assert record_on(elsewhere, "lone", TODAY) is None
    elsewhere.commit()
    write_household(db, make_household(id="lone", name="Somebody else"))
    add_member(db, people["stranger"], "lone", Role.PATIENT)
    db.commit()
    for reader in (db, elsewhere):
        assert plan_for(reader, "lone", NOW).household.name == "Somebody else"


def test_a_memory_is_bounded_and_forgets(db: Session) -> None:
    memory: Memory[int] = Memory(most=2)
    for n, key in enumerate(("a", "b", "a", "c")):
        memory.keep(db, key, "v", n)
    assert [memory.get(db, key, "v") for key in ("a", "b", "c")] == [2, None, 3]
    assert memory.get(db, "a", "later") is None
    memory.forget(db, "a")
    assert memory.get(db, "a", "v") is None


KEEPING = {"record_on", "plan_for", "plans_for", "household_record"}


def kept_inside_of_a_change(source: str) -> list[int]:
    """Lines that give the session of an unfinished change to what keeps its reading."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and getattr(node.func, "attr", getattr(node.func, "id", "")) in KEEPING
        and any("change" in ast.unparse(one).split(".") for one in node.args)
    ]


def test_nothing_read_inside_of_an_unfinished_change_is_kept() -> None:
    files = sorted(APP.rglob("*.py"))
    assert files
    found = {one.name: kept_inside_of_a_change(one.read_text(encoding="utf-8")) for one in files}
    assert not {name: lines for name, lines in found.items() if lines}
    assert kept_inside_of_a_change("plan_for(change.db, key, now)") == [1]


def test_a_record_is_read_from_the_tables_that_are_watched(
    db: Session, engine: Engine, carer: HouseholdAccess
) -> None:
    read: set[str] = set()

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        read.update(re.findall(r"FROM \"?(\w+)", statement))

    event.listen(engine, "before_cursor_execute", note)
    read_household(db, "home", TODAY)
    event.remove(engine, "before_cursor_execute", note)
    assert read == RECORD_TABLES


def test_a_change_without_a_new_version_is_caught(
    db: Session, sqlite_engine: Engine, frozen_clock: None
) -> None:
    write_household(db, make_household())
    db.commit()
    changes = watch(sqlite_engine)
    with open_session(sqlite_engine) as session:
        write_household(session, make_household(id="further"))
        session.commit()
        assert (changes.seen, changes.silent) == (1, [])
        row = session.exec(select(DrainSessionRow)).first()
        assert row is not None
        row.stop_reason = "pain" if row.stop_reason != "pain" else "not-said"
        session.rollback()
        session.delete(session.exec(select(LedgerRow)).all()[0])
        session.commit()
    assert (changes.seen, changes.silent) == (2, [{"ledger"}])
