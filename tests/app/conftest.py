"""Fixtures of the application's tests: a database of each kind, and a fixed moment."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, SQLModel

from app.access import HouseholdAccess, Role, enter_household
from app.convert import write_household
from app.db import create_tables, open_engine, open_session
from app.models import AccountRow, AgencyRow
from app.services_accounts import add_coordinator, add_member
from tests.app.data_builders import UTC_NOW, make_household


@pytest.fixture
def frozen_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock stands at `NOW`."""
    monkeypatch.setenv("EBBSTOCK_NOW", UTC_NOW.isoformat())


@pytest.fixture
def sqlite_engine(tmp_path: Path) -> Iterator[Engine]:
    """An empty SQLite file with all tables."""
    engine = open_engine(f"sqlite:///{tmp_path}/ebbstock.db")
    create_tables(engine)
    yield engine
    engine.dispose()


@pytest.fixture(scope="session")
def postgres_engine(postgres_url: str) -> Iterator[Engine]:
    """A PostgreSQL database with all tables, shared by the tests."""
    engine = open_engine(postgres_url)
    create_tables(engine)
    yield engine
    engine.dispose()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def engine(request: pytest.FixtureRequest) -> Iterator[Engine]:
    """An empty database with all tables, once of each kind."""
    if request.param == "sqlite":
        yield request.getfixturevalue("sqlite_engine")
        return
    shared: Engine = request.getfixturevalue("postgres_engine")
    yield shared
    names = ", ".join(SQLModel.metadata.tables)
    with shared.begin() as connection:
        connection.exec_driver_sql(f"TRUNCATE {names} RESTART IDENTITY CASCADE")


@pytest.fixture
def db(engine: Engine) -> Iterator[Session]:
    """A session on the database."""
    with open_session(engine) as session:
        yield session


PEOPLE = {
    "pat": Role.PATIENT,
    "cara": Role.CARER,
    "vic": Role.VIEWER,
    "cody": None,
    "rival": None,
    "stranger": None,
}
"""Accounts: pat, cara and vic belong to home; cody coordinates its agency, rival another one;
the stranger has a household of their own."""


@pytest.fixture
def people(db: Session, frozen_clock: None) -> dict[str, AccountRow]:
    """Two agencies, three households and everybody in `PEOPLE`."""
    db.add_all([AgencyRow(id="ours", name="Ours"), AgencyRow(id="theirs", name="Theirs")])
    db.flush()
    write_household(db, make_household(), agency_id="ours")
    write_household(db, make_household(id="other"), agency_id="theirs")
    write_household(db, make_household(id="lone"))
    accounts = {}
    for name, role in PEOPLE.items():
        account = AccountRow(
            email=f"{name}@test.example", name=name, password_hash="none", created_at=UTC_NOW
        )
        db.add(account)
        db.flush()
        if role is not None:
            add_member(db, account, "home", role)
        accounts[name] = account
    add_coordinator(db, accounts["cody"], "ours")
    add_coordinator(db, accounts["rival"], "theirs")
    add_member(db, accounts["stranger"], "lone", Role.PATIENT)
    db.commit()
    return accounts


@pytest.fixture
def carer(db: Session, people: dict[str, AccountRow]) -> HouseholdAccess:
    """The carer's access to the household `home`."""
    return enter_household(db, people["cara"], "home")
