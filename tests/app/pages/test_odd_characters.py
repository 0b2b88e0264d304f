"""Texts that a database refuses, in every field and every address, with both kinds of database.

PostgreSQL keeps no text with a character of code zero, and none that is longer than its column;
SQLite keeps both.

References:
    PostgreSQL manual, section 8.3, Character Types: the character with code zero cannot be
    stored (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Engine, text
from sqlalchemy.exc import DataError
from sqlmodel import Session, col, delete, update

from app.db import open_session
from app.main import create_app
from app.models import AccountRow, HouseholdRow, LoginAttemptRow, OrderLineRow, OrderRow
from app.models_orders import OrderStepRow
from tests.app.pages.conftest import SETTINGS, Enter
from tests.app.pages.form_rows import BUTTONS, LONG, ROWS, SPECIAL, Row
from tests.app.pages.test_every_form import (
    add_links,
    further,  # noqa: F401  (a fixture)
    is_tried,
    links,  # noqa: F401  (a fixture)
    shown_form,
    visit,  # noqa: F401  (a fixture)
    visitor_of,
    without_number,
)
from tests.app.pages.test_every_route import VALUES, all_routes
from tests.app.pages.visitor import Visitor

ZERO = "a\0b"
HUGE = "9" * 40
TEXT_KINDS = ("text", "search", "tel", "email")
BUTTON_FIELDS = ("entry", "member", "invite", "device", "order", "step", "lot", "submission")
QUERY = {"done": ZERO, "entry": ZERO, "before": ZERO, "item": ZERO, "lot": ZERO, "next": ZERO}


@pytest.fixture
def db(engine: Engine) -> Iterator[Session]:
    """A session on either kind of database."""
    with open_session(engine) as session:
        yield session


@pytest.fixture
def client(engine: Engine) -> Iterator[TestClient]:
    """The application on either kind of database."""
    application = create_app(SETTINGS, engine)
    with TestClient(application, raise_server_exceptions=False, follow_redirects=False) as made:
        yield made


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.path)
def test_every_field_of_every_form(
    row: Row,
    enter: Enter,
    visit: Visitor,  # noqa: F811
    db: Session,
    people: dict[str, AccountRow],
) -> None:
    visitor = visitor_of(row, enter, visit)
    found = []
    fields = shown_form(row, visitor).fields
    for name in fields:
        if name in ("form_token", "file") or not is_tried(name):
            continue
        for value in (LONG, ZERO) if fields[name].kind in TEXT_KINDS else (LONG, ZERO, HUGE):
            begin_anew(row, visitor, db, people)
            form = shown_form(row, visitor)
            sent = form.values | dict(row.fill) | {name: value}
            answer = visitor.post(row.path, sent)
            if answer.status_code >= 500:
                found.append(f"{value[:5]!r} in {name}: answered {answer.status_code}")
            is_taken = LONG in row.takes.get(without_number(name), ())
            must_refuse = value == LONG and form.fields[name].kind in TEXT_KINDS and not is_taken
            if must_refuse and answer.status_code != row.status:
                found.append(f"too long in {name}: answered {answer.status_code}")
    assert not found, "\n" + "\n".join(found)


def begin_anew(row: Row, visitor: Visitor, db: Session, people: dict[str, AccountRow]) -> None:
    """Put back what a form that is taken uses up: the links, and the place of an order."""
    if row.who == "nobody":
        visitor.client.cookies.clear()
        add_links(db, people)
        db.exec(delete(LoginAttemptRow))
    if row.route == "/h/{household}/order":
        for table in (OrderLineRow, OrderStepRow):
            db.exec(delete(table).where(col(table.order_key) != "o1"))
        db.exec(delete(OrderRow).where(col(OrderRow.key) != "o1"))
        version = col(HouseholdRow.input_version)
        db.exec(update(HouseholdRow).values(input_version=version + 1))
    db.commit()


def test_every_button(enter: Enter, client: TestClient) -> None:
    found = []
    tried = 0
    for route in sorted(BUTTONS | set(SPECIAL)):
        path = _filled(route, "nothing-here")
        for value in (ZERO, HUGE, LONG):
            who = enter("cody" if route.startswith("/agency") else "cara")
            token = shown_token(who)
            sent = {"form_token": token} | dict.fromkeys(BUTTON_FIELDS, value)
            status = who.post(path, sent).status_code
            tried += 1
            if status >= 500:
                found.append(f"{value[:5]!r} to {path}: answered {status}")
    assert not found, "\n" + "\n".join(found)
    assert tried == 3 * len(BUTTONS | set(SPECIAL))


def test_every_address(enter: Enter, client: TestClient) -> None:
    application = client.app
    assert isinstance(application, FastAPI)
    visitor = enter("cara")
    found = []
    for method, route in sorted(set(all_routes(application))):
        if method != "GET":
            continue
        for path in (_filled(route, "%00"), _all(route, "%00"), _all(route, LONG)):
            status = visitor.client.get(path).status_code
            if status >= 500:
                found.append(f"{path[:60]}: answered {status}")
        path = _filled(route, "nothing-here")
        for query in (QUERY, {"page": HUGE}, dict.fromkeys(QUERY, LONG)):
            status = visitor.client.get(path, params=query).status_code
            if status >= 500:
                found.append(f"{path} with {list(query)}: answered {status}")
    assert not found, "\n" + "\n".join(found)


@pytest.mark.postgres
def test_the_database_of_the_second_kind_refuses_such_texts(postgres_engine: Engine) -> None:
    """Or the tests above would prove nothing about it."""
    with postgres_engine.connect() as connection, pytest.raises(DataError, match=r"NUL|0x00"):
        connection.execute(text("SELECT :word"), {"word": ZERO})


def shown_token(visitor: Visitor) -> str:
    return visitor.form("/account", "form_token").values["form_token"]


def _filled(route: str, other: str) -> str:
    parts = [_part(one, VALUES.get(_name(one), other)) for one in route.split("/")]
    return "/".join(parts)


def _all(route: str, value: str) -> str:
    return "/".join(_part(one, value) for one in route.split("/"))


def _name(part: str) -> str:
    return part[1:].partition("}")[0].partition(":")[0]


def _part(part: str, value: str) -> str:
    return value + part.partition("}")[2] if part.startswith("{") else part
