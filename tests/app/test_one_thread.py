"""A page's handler and all that it asks for share one thread and one session."""

from __future__ import annotations

import threading
from typing import Annotated

import pytest
from fastapi import Depends, FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlalchemy.pool import QueuePool
from sqlmodel import Session

from app.deps import DbSession, OpenForm
from app.models import AgencyRow
from app.one_thread import in_one_thread

seen: list[tuple[str, int, Session]] = []


def note(who: str, db: Session) -> None:
    seen.append((who, threading.get_ident(), db))


def lower(db: DbSession) -> str:
    note("lower", db)
    return "lower"


Lower = Annotated[str, Depends(lower)]


def upper(db: DbSession, found: Lower, word: str) -> str:
    note("upper", db)
    return f"{found} {word}"


Upper = Annotated[str, Depends(upper)]


def show(db: DbSession, found: Lower, more: Upper, count: int = 1) -> str:
    note("handler", db)
    return f"{found}, {more}, {count}"


def take(db: DbSession, form: OpenForm, found: Lower) -> str:
    note("handler", db)
    return str(form["said"])


def fail(db: DbSession) -> str:
    db.add(AgencyRow(id="ours", name="Ours", time_zone="UTC"))
    db.flush()
    raise LookupError


@pytest.fixture
def client(sqlite_engine: Engine) -> TestClient:
    seen.clear()
    application = FastAPI()
    application.state.engine = sqlite_engine
    application.get("/show/{word}")(in_one_thread(show))
    application.post("/take")(in_one_thread(take))
    application.get("/fail")(in_one_thread(fail))
    return TestClient(application)


def test_everything_is_found_once_in_the_thread_of_the_handler(client: TestClient) -> None:
    answer = client.get("/show/word?count=2")
    assert answer.json() == "lower, lower word, 2"
    assert [who for who, _, _ in seen] == ["lower", "upper", "handler"]
    assert len({thread for _, thread, _ in seen}) == 1
    assert len({id(db) for _, _, db in seen}) == 1
    assert seen[0][1] != threading.get_ident()


def test_a_value_of_the_address_is_still_checked_by_the_framework(client: TestClient) -> None:
    assert client.get("/show/word?count=many").status_code == 422
    assert seen == []


def test_a_form_is_read_before(client: TestClient) -> None:
    assert client.post("/take", data={"said": "hello"}).json() == "hello"
    assert [who for who, _, _ in seen] == ["lower", "handler"]
    assert len({thread for _, thread, _ in seen}) == 1


def test_the_session_is_closed_and_nothing_half_done_is_kept(
    client: TestClient, sqlite_engine: Engine
) -> None:
    with pytest.raises(LookupError):
        client.get("/fail")
    assert isinstance(sqlite_engine.pool, QueuePool)
    assert sqlite_engine.pool.checkedout() == 0
    with sqlite_engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM agency").scalar() == 0
