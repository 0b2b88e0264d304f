"""Signing in and out, and where one lands."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session

from app.access import Role
from app.models import AccountRow
from app.services_accounts import add_member, create_account
from tests.app.data_builders import UTC_NOW
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import text_of

WHO = {"email": "nan@test.example", "password": "a long enough password"}


@pytest.fixture
def nan(db: Session, people: dict[str, AccountRow]) -> AccountRow:
    """A patient who signs in with the form."""
    account = create_account(
        db, email=WHO["email"], name="Nan", password=WHO["password"], now=UTC_NOW
    )
    add_member(db, account, "home", Role.PATIENT)
    db.commit()
    return account


def test_signing_in_leads_to_the_one_household(client: TestClient, nan: AccountRow) -> None:
    answer = client.post("/sign-in", data=WHO | {"next": "/"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert client.get("/").headers["location"] == "/h/home"
    assert client.get("/sign-in").headers["location"] == "/"


@pytest.mark.parametrize(
    ("wanted", "led_to"),
    [
        ("/h/home/shelf", "/h/home/shelf"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example", "/"),
        ("/\\elsewhere.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/h\r\nSet-Cookie: a=b", "/"),
    ],
)
def test_signing_in_leads_to_pages_of_our_own_only(
    wanted: str, led_to: str, client: TestClient, nan: AccountRow
) -> None:
    answer = client.post("/sign-in", data=WHO | {"next": wanted})
    assert answer.headers["location"] == led_to


def test_a_wrong_password_keeps_the_address_and_does_not_say_which_was_wrong(
    client: TestClient, nan: AccountRow
) -> None:
    page = client.post("/sign-in", data=WHO | {"password": "a wrong password"})
    assert page.status_code == 401
    assert 'value="nan@test.example"' in page.text
    assert "a wrong password" not in page.text
    assert "The e-mail address or the password is not right" in text_of(page)
    unknown = client.post("/sign-in", data=WHO | {"email": "nobody@test.example"})
    assert "The e-mail address or the password is not right" in text_of(unknown)


def test_signing_out_ends_it_on_the_server(client: TestClient, enter: Enter) -> None:
    visitor = enter("cara")
    cookie = dict(client.cookies)
    answer = visitor.send("/when-to-call", {}, "form_token")
    assert answer.headers["location"] == "/sign-in"
    assert answer.headers["clear-site-data"] == '"cache", "storage"'
    client.cookies.update(cookie)
    assert client.get("/h/home").status_code == 303


def test_somebody_with_several_places_chooses(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    add_member(db, people["cara"], "lone", Role.CARER)
    db.commit()
    page = enter("cara").get("/")
    assert page.status_code == 200
    assert 'href="/h/home"' in page.text
    assert 'href="/h/lone"' in page.text


def test_a_coordinator_lands_at_the_agency(enter: Enter) -> None:
    visitor = enter("cody")
    assert visitor.get("/").headers["location"] == "/agency/ours"
    assert visitor.get("/agency").headers["location"] == "/agency/ours"


@pytest.mark.parametrize("name", ["email", "password"])
def test_a_very_long_entry_is_answered_like_any_wrong_one(
    name: str, client: TestClient, nan: AccountRow
) -> None:
    page = client.post("/sign-in", data=WHO | {name: "x" * 3000})
    assert page.status_code == 401
    assert "Check both and try again." in text_of(page)
    if name == "password":
        assert f'value="{WHO["email"]}"' in page.text


def test_a_very_long_way_on_leads_to_the_start(client: TestClient, nan: AccountRow) -> None:
    answer = client.post("/sign-in", data=WHO | {"next": "/" + "x" * 3000})
    assert answer.headers["location"] == "/"
