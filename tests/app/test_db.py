"""Tables of a database that an older version made."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import Engine, inspect
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session, SQLModel

from app.access import HouseholdAccess
from app.convert import read_household, write_household
from app.db import create_tables, open_session, transaction
from app.feed_filter import FeedFilter
from app.models import FeedRow
from app.queries import open_feed
from app.services_feeds import make_feed_address, shown_by
from tests.app.data_builders import UTC_NOW, make_household

ADDED = ("least_urgency", "entry_kinds", "supplier_name")


def columns_of(engine: Engine, table: str) -> dict[str, bool]:
    """Whether each column may be empty, by name."""
    found = inspect(engine).get_columns(table)
    return {str(column["name"]): bool(column["nullable"]) for column in found}


def make_older(engine: Engine) -> None:
    """Take the columns away that came later."""
    with engine.begin() as connection:
        for name in ADDED:
            connection.exec_driver_sql(f"ALTER TABLE feed DROP COLUMN {name}")
    assert not set(ADDED) & columns_of(engine, "feed").keys()


def test_an_older_database_gets_the_columns_and_keeps_its_addresses(
    engine: Engine, db: Session, carer: HouseholdAccess
) -> None:
    whole = columns_of(engine, "feed")
    secret = make_feed_address(db, carer, detailed=True, now=UTC_NOW)
    make_older(engine)
    create_tables(engine)
    assert columns_of(engine, "feed") == whole
    db.expire_all()
    found = open_feed(db, secret)
    assert found is not None
    assert found.feed.detailed
    assert shown_by(found.feed) == FeedFilter()


def test_one_missing_column_is_enough(engine: Engine) -> None:
    whole = columns_of(engine, "feed")
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE feed DROP COLUMN supplier_name")
    create_tables(engine)
    assert columns_of(engine, "feed") == whole


def test_catheters_of_an_older_database_have_no_other_kits(engine: Engine) -> None:
    household = make_household()
    with transaction(engine) as db:
        write_household(db, household)
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE catheter DROP COLUMN other_kits")
    create_tables(engine)
    assert columns_of(engine, "catheter")["other_kits"]
    with open_session(engine) as db:
        assert read_household(db, household.id) == household


def test_making_tables_again_changes_nothing(
    engine: Engine, db: Session, carer: HouseholdAccess
) -> None:
    make_feed_address(db, carer, detailed=True, now=UTC_NOW)
    before = {name: columns_of(engine, name) for name in SQLModel.metadata.tables}
    row = db.get_one(FeedRow, 1).model_dump()
    db.commit()
    for _ in range(3):
        create_tables(engine)
    assert {name: columns_of(engine, name) for name in SQLModel.metadata.tables} == before
    db.expire_all()
    assert db.get_one(FeedRow, 1).model_dump() == row


def test_four_processes_that_start_at_once_all_succeed(engine: Engine) -> None:
    whole = columns_of(engine, "feed")
    make_older(engine)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: create_tables(engine), range(4)))
    assert columns_of(engine, "feed") == whole


def test_a_column_that_cannot_be_added_is_not_passed_over(
    engine: Engine, db: Session, carer: HouseholdAccess, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_feed_address(db, carer, detailed=True, now=UTC_NOW)
    make_older(engine)
    column = SQLModel.metadata.tables["feed"].columns["least_urgency"]
    with monkeypatch.context() as without_default:
        without_default.setattr(column, "server_default", None)
        with pytest.raises(DBAPIError, match=r"NOT NULL|null values"):
            create_tables(engine)
    create_tables(engine)
    assert set(ADDED) <= columns_of(engine, "feed").keys()


def test_suppliers_and_orders_of_an_older_database_know_no_express(engine: Engine) -> None:
    household = make_household()
    with transaction(engine) as db:
        write_household(db, household)
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE supplier DROP COLUMN express_business_days")
        connection.exec_driver_sql("ALTER TABLE supply_order DROP COLUMN is_express")
    create_tables(engine)
    assert columns_of(engine, "supplier")["express_business_days"]
    assert columns_of(engine, "supply_order")["is_express"]
    with open_session(engine) as db:
        assert read_household(db, household.id) == household
