"""The page of one's own account: name, password, devices, a lost password, deleting it."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session, select

from app.access import HouseholdAccess
from app.models import AccountRow
from app.security import LONGEST_PASSWORD
from app.services_accounts import create_account
from app.services_feeds import make_feed_address
from app.services_links import make_password_link
from app.settings import Settings
from app.wording import STANDING_CAUTION
from tests.app.data_builders import UTC_NOW
from tests.app.pages.conftest import Enter
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

OLD, NEW = "a long enough password", "another long password"
EMAIL = "nan@test.example"
PHONE = {"user-agent": "Mozilla/5.0 (Linux; Android 15) Mobile"}


@pytest.fixture
def nan(client: TestClient, db: Session, people: dict[str, AccountRow]) -> Visitor:
    """Somebody with a password, signed in with the form, in no household."""
    create_account(db, email=EMAIL, name="Nan", password=OLD, now=UTC_NOW)
    db.commit()
    client.post("/sign-in", data={"email": EMAIL, "password": OLD})
    return Visitor(client)


def signs_in(client: TestClient, password: str) -> bool:
    sent = {"email": EMAIL, "password": password}
    return bool(client.post("/sign-in", data=sent).status_code == 303)


@pytest.mark.parametrize("who", ["pat", "cara", "vic", "cody", "stranger"])
def test_everybody_has_an_account_page(who: str, enter: Enter) -> None:
    visitor = enter(who)
    assert 'href="/account"' in visitor.get("/when-to-call").text
    for path in ("/account", "/account/delete", "/import"):
        page = visitor.get(path)
        assert page.status_code == 200
        assert STANDING_CAUTION in page.text
        check(page.text)


def test_the_page_says_where_one_belongs(enter: Enter) -> None:
    assert "Household of the tests : Carer" in enter("cara").see("/account")
    assert "Ours : Coordinator" in enter("cody").see("/account")


def test_a_name_is_changed(nan: Visitor) -> None:
    said = nan.follow(nan.send("/account", {"name": "Nanette"}, "name"))
    assert "Your name is changed." in said
    assert "Nanette" in said


@pytest.mark.parametrize(
    ("typed", "shown"),
    [("", "empty"), (" ", "empty"), ("n" * 61, "n" * 57 + "..."), ("a\x07", "a\x07")],
)
def test_a_bad_name_is_named_and_stays(typed: str, shown: str, nan: Visitor) -> None:
    page = nan.send("/account", {"name": typed}, "name")
    assert page.status_code == 422
    assert faults_of(page) == [
        f"Your name is {shown}. Write what people call you, in at most 60 letters."
    ]
    assert f'value="{typed}"' in page.text


def test_a_password_is_changed(nan: Visitor, client: TestClient) -> None:
    values = {"old_password": OLD, "new_password": NEW}
    said = nan.follow(nan.send("/account", values, "new_password"))
    assert "Your password is changed. Other devices are signed out." in said
    client.cookies.clear()
    assert not signs_in(client, OLD)
    assert signs_in(client, NEW)


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        (
            {"old_password": "wrong", "new_password": NEW},
            "The password so far is not right. Write the password with which you sign in.",
        ),
        (
            {"old_password": "", "new_password": NEW},
            "The password so far is not right. Write the password with which you sign in.",
        ),
        (
            {"old_password": OLD, "new_password": "short"},
            "The new password is 5 characters long. Use 9 to 256 characters.",
        ),
        (
            {"old_password": OLD, "new_password": "p" * (LONGEST_PASSWORD + 1)},
            "The new password is 257 characters long. Use 9 to 256 characters.",
        ),
    ],
)
def test_a_bad_password_is_named_and_never_shown(
    values: dict[str, str], sentence: str, nan: Visitor, client: TestClient
) -> None:
    page = nan.send("/account", values, "new_password")
    assert page.status_code == 422
    assert faults_of(page) == [sentence]
    assert 'value="Nan"' in page.text
    assert re.findall(r'type="password" value="([^"]*)"', page.text) == ["", ""]
    check(page.text)
    client.cookies.clear()
    assert signs_in(client, OLD)


def test_trying_out_passwords_has_an_end(nan: Visitor) -> None:
    for _ in range(8):
        nan.send("/account", {"old_password": "wrong", "new_password": NEW}, "new_password")
    page = nan.send("/account", {"old_password": OLD, "new_password": NEW}, "new_password")
    assert page.status_code == 429
    assert "too many attempts" in text_of(page)


def test_another_device_is_seen_and_signed_out(nan: Visitor, client: TestClient) -> None:
    here = dict(client.cookies)
    client.cookies.clear()
    client.post("/sign-in", data={"email": EMAIL, "password": OLD}, headers=PHONE)
    there = dict(client.cookies)
    client.cookies.clear()
    client.cookies.update(here)
    said = nan.see("/account")
    assert "Phone or tablet , since Wed 11 March, 14:00 UTC" in said
    assert said.count("(this one)") == 1
    answer = nan.send("/account", {}, "device")
    assert "That device is signed out." in nan.follow(answer)
    client.cookies.clear()
    client.cookies.update(there)
    assert client.get("/account").status_code == 303


def test_signing_out_everywhere_ends_this_one_too_and_lists_calendars_before(
    enter: Enter, db: Session, carer: HouseholdAccess
) -> None:
    make_feed_address(db, carer, detailed=False, now=UTC_NOW)
    visitor = enter("cara")
    page = visitor.get("/account")
    assert "These calendar addresses go on" in text_of(page)
    assert 'href="/h/home/calendar"' in page.text
    form = next(one for one in forms_of(page) if one.action.endswith("everywhere"))
    answer = visitor.post(form.action, form.values)
    assert answer.headers["location"] == "/sign-in"
    assert answer.headers["clear-site-data"] == '"cache", "storage"'
    assert visitor.get("/account").status_code == 303


def test_an_account_is_deleted_after_its_password(
    nan: Visitor, client: TestClient, db: Session
) -> None:
    said = nan.see("/account/delete")
    assert "This cannot be undone." in said
    wrong = nan.send("/account/delete", {"password": "wrong"}, "password")
    assert wrong.status_code == 422
    assert faults_of(wrong) == [
        "The password is not right. Write the password with which you sign in."
    ]
    page = nan.send("/account/delete", {"password": OLD}, "password")
    assert page.status_code == 200
    check(page.text)
    assert "Your account is deleted" in text_of(page)
    assert client.get("/account").status_code == 303
    assert not signs_in(client, OLD)
    assert db.exec(select(AccountRow).where(AccountRow.email == EMAIL)).all() == []


def test_the_last_in_charge_is_told_why_not(
    nan: Visitor, db: Session, people: dict[str, AccountRow]
) -> None:
    from app.access import Role
    from app.convert import write_household
    from app.services_accounts import add_member
    from tests.app.data_builders import make_household

    write_household(db, make_household(id="hers", name="Blue door"))
    account = db.exec(select(AccountRow).where(AccountRow.email == EMAIL)).one()
    add_member(db, account, "hers", Role.PATIENT)
    db.commit()
    page = nan.send("/account/delete", {"password": OLD}, "password")
    assert page.status_code == 409
    assert "You are the only one in charge of Blue door. Nothing was deleted." in text_of(page)
    check(page.text)
    assert nan.get("/h/hers").status_code == 200


# A lost password.


def test_a_link_sets_a_new_password(client: TestClient, nan: Visitor, db: Session) -> None:
    account = db.exec(select(AccountRow).where(AccountRow.email == EMAIL)).one()
    path = f"/password/{make_password_link(db, account, UTC_NOW)}"
    db.commit()
    client.cookies.clear()
    page = client.get(path)
    check(page.text)
    assert EMAIL not in page.text
    bad = client.post(path, data={"password": "short"})
    assert faults_of(bad) == ["The password is 5 characters long. Use 9 to 256 characters."]
    assert client.post(path, data={"password": NEW}).headers["location"] == "/sign-in"
    assert signs_in(client, NEW)
    client.cookies.clear()
    assert client.get(path).status_code == 404
    assert client.post(path, data={"password": OLD}).status_code == 404


def test_an_invite_opens_no_page_for_a_password(
    client: TestClient, db: Session, carer: HouseholdAccess
) -> None:
    from app.access import Role
    from app.services_links import invite

    secret = invite(db, carer, role=Role.VIEWER, note="", now=UTC_NOW)
    assert client.get(f"/password/{secret}").status_code == 404
    assert client.post(f"/password/{secret}", data={"password": NEW}).status_code == 404
    assert client.get(f"/join/{secret}").status_code == 200


def test_a_cookie_over_https_is_for_https_only() -> None:
    assert Settings(secure_cookies=True).cookie_name == "__Host-ebbstock"
