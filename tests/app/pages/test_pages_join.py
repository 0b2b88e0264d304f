"""The page behind a link: a first account, an invite for somebody new or signed in."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session, select

from app.access import HouseholdAccess, Role, enter_household
from app.models import AccountRow
from app.services_links import invite, make_first_account_link
from app.wording import STANDING_CAUTION
from tests.app.data_builders import UTC_NOW
from tests.app.pages.conftest import Enter
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.visitor import PageForm, Visitor, faults_of, forms_of, text_of

GOOD = {"name": "Nora", "email": "nora@test.example", "password": "a long enough one"}


@pytest.fixture
def address(db: Session, carer: HouseholdAccess) -> str:
    """The page of an invite to be a viewer."""
    return f"/join/{invite(db, carer, role=Role.VIEWER, note='', now=UTC_NOW)}"


def test_the_first_account_is_made_on_an_empty_database(
    client: TestClient, db: Session, frozen_clock: None
) -> None:
    path = f"/join/{make_first_account_link(db, UTC_NOW)}"
    visitor = Visitor(client)
    page = visitor.get(path)
    check(page.text)
    assert STANDING_CAUTION in page.text
    answer = visitor.send(path, GOOD, "password")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "httponly" in answer.headers["set-cookie"].lower()
    assert client.get("/").headers["location"] == "/start"
    assert client.get("/start").status_code == 200
    gone = client.get(path)
    assert gone.status_code == 404
    assert "does not work any more" in text_of(gone)
    assert client.post(path, data=GOOD | {"email": "other@test.example"}).status_code == 404


def test_an_invite_says_where_to_and_lets_a_new_person_in(client: TestClient, address: str) -> None:
    visitor = Visitor(client)
    said = visitor.see(address)
    assert "You can join Household of the tests as viewer." in said
    check(visitor.get(address).text)
    answer = visitor.send(address, GOOD, "password")
    assert answer.headers["location"] == "/"
    assert client.get("/").headers["location"] == "/h/home"


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": ""}, "Your name is empty. Write what people call you, in at most 60 letters."),
        (
            {"name": "n" * 61},
            f"Your name is {'n' * 57}.... Write what people call you, in at most 60 letters.",
        ),
        (
            {"email": "nora at home"},
            "E-mail address is nora at home. Give an e-mail address such as ann@example.org.",
        ),
        ({"email": ""}, "E-mail address is empty. Give an e-mail address such as ann@example.org."),
        (
            {"email": "Vic@test.example"},
            "E-mail address is Vic@test.example. It has an account already.",
        ),
        ({"password": "short"}, "Password is 5 characters long. Use 9 to 256 characters."),
        ({"password": "p" * 257}, "Password is 257 characters long. Use 9 to 256 characters."),
    ],
)
def test_a_bad_value_is_named_and_what_was_typed_stays(
    changes: dict[str, str], sentence: str, client: TestClient, address: str
) -> None:
    typed = GOOD | changes
    page = Visitor(client).send(address, typed, "password")
    assert page.status_code == 422
    assert faults_of(page) == [sentence]
    for name in ("name", "email"):
        assert f'value="{typed[name]}"' in page.text
    assert 'type="password" value=""' in page.text
    check(page.text)
    assert Visitor(client).send(address, GOOD, "password").status_code == 303


def test_several_bad_values_are_named_together(client: TestClient, address: str) -> None:
    page = Visitor(client).send(address, {"name": "", "email": "", "password": ""}, "password")
    assert len(faults_of(page)) == 3


def test_somebody_with_an_account_signs_in_and_joins(
    enter: Enter, client: TestClient, address: str, db: Session, people: dict[str, AccountRow]
) -> None:
    assert f'href="/sign-in?next={address}"' in client.get(address).text
    visitor = enter("stranger")
    assert "You are signed in as stranger" in visitor.see(address)
    form = next(iter(one for one in _forms(visitor, address) if one.action.endswith("/here")))
    answer = visitor.post(form.action, form.values)
    assert answer.headers["location"] == "/h/home?done=joined"
    said = visitor.follow(answer)
    assert "Welcome. You are in now." in said
    assert "Household of the tests Go to another household" in said
    assert enter_household(db, people["stranger"], "home").role is Role.VIEWER


def _forms(visitor: Visitor, path: str) -> list[PageForm]:
    return forms_of(visitor.get(path))


def test_who_is_in_already_is_told(enter: Enter, address: str) -> None:
    visitor = enter("cara")
    form = next(one for one in _forms(visitor, address) if one.action.endswith("/here"))
    page = visitor.post(form.action, form.values)
    assert page.status_code == 409
    assert "You belong to it already" in text_of(page)
    assert visitor.get(address).status_code == 200


def test_joining_needs_the_form_of_one_s_own_browser(enter: Enter, address: str) -> None:
    visitor = enter("stranger")
    assert visitor.post(f"{address}/here", {"form_token": "guess"}).status_code == 403
    assert visitor.get("/h/home").status_code == 404


@pytest.mark.parametrize("path", ["/join/guess", "/join/guess/here"])
def test_a_guessed_link_opens_nothing(
    path: str, client: TestClient, enter: Enter, db: Session
) -> None:
    before = len(db.exec(select(AccountRow.id)).all())
    assert client.get("/join/guess").status_code == 404
    if path.endswith("guess"):
        assert client.post(path, data=GOOD).status_code == 404
    else:
        visitor = enter("cara")
        token = visitor.form("/when-to-call", "form_token").values["form_token"]
        assert visitor.post(path, {"form_token": token}).status_code == 404
    db.rollback()
    assert len(db.exec(select(AccountRow.id)).all()) == before
