"""Visitors of the pages: signed in, on a SQLite file, at a fixed moment."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlmodel import Session

from app.db import open_engine
from app.main import create_app
from app.models import AccountRow, LoginRow
from app.security import new_secret
from app.settings import Settings
from tests.app.data_builders import UTC_NOW
from tests.app.pages.visitor import Visitor
from tests.app.watched_changes import watch

SETTINGS = Settings(base_url="http://testserver")

Enter = Callable[[str], Visitor]


@pytest.fixture
def db(sqlite_engine: Engine) -> Iterator[Session]:
    """The pages do not depend on the kind of database."""
    with Session(sqlite_engine, expire_on_commit=False) as session:
        yield session


@pytest.fixture
def client(sqlite_engine: Engine) -> Iterator[TestClient]:
    """The whole application, nobody signed in; its changes are watched."""
    engine = open_engine(str(sqlite_engine.url))
    changes = watch(engine)
    application = create_app(SETTINGS, engine)
    with TestClient(application, raise_server_exceptions=False, follow_redirects=False) as made:
        yield made
    engine.dispose()
    assert changes.silent == []


@pytest.fixture
def enter(client: TestClient, db: Session, people: dict[str, AccountRow]) -> Enter:
    """Sign a person of the tests in without the form."""

    def entered(name: str) -> Visitor:
        fresh = new_secret()
        db.add(
            LoginRow(
                token_hash=fresh.secret_hash,
                account_id=people[name].id or 0,
                created_at=UTC_NOW,
                last_seen_at=UTC_NOW,
            )
        )
        db.commit()
        client.cookies.set(SETTINGS.cookie_name, fresh.secret)
        return Visitor(client)

    return entered


@pytest.fixture
def cara(enter: Enter) -> Visitor:
    """The carer of the household `home`."""
    return enter("cara")
