"""The page of people: the list, roles, invites, taking out, leaving, and another household."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import Session, select

from app.access import Role
from app.mail import Outcome
from app.models import AccountRow, MembershipRow
from app.models_links import OneTimeLinkRow
from app.services_accounts import add_member
from app.services_reminders import Post
from app.wording import STANDING_CAUTION
from tests.app.feed_builders import ABOUT_HEALTH
from tests.app.pages.conftest import Enter
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.visitor import Visitor, faults_of, text_of
from tests.app.reminder_builders import Sink

PLACES = [("cara", "/h/home"), ("pat", "/h/home"), ("cody", "/h/home"), ("cody", "/agency/ours")]


def invite_on(visitor: Visitor, root: str, **values: str) -> str:
    """Make an invite and give the address that the page shows."""
    page = visitor.send(f"{root}/people", values, "note")
    assert page.status_code == 200, text_of(page)
    found = re.search(r'class="address">http://testserver(/join/[\w-]+)<', page.text)
    assert found is not None
    return found[1]


@pytest.mark.parametrize(("who", "root"), PLACES)
def test_who_manages_invites_and_sees_the_link_once(who: str, root: str, enter: Enter) -> None:
    visitor = enter(who)
    page = visitor.get(f"{root}/people")
    check(page.text)
    assert STANDING_CAUTION in page.text
    address = invite_on(visitor, root, note="my sister")
    assert address not in visitor.get(f"{root}/people").text
    assert "for my sister, until Wed 18 March, 14:00 UTC" in visitor.see(f"{root}/people")
    assert visitor.get(address).status_code == 200


@pytest.mark.parametrize(("who", "root"), PLACES)
def test_an_invite_is_taken_back(who: str, root: str, enter: Enter) -> None:
    visitor = enter(who)
    address = invite_on(visitor, root)
    said = visitor.follow(visitor.send(f"{root}/people", {}, "invite"))
    assert "The invite does not work any more." in said
    assert "Open invites" not in said
    assert visitor.get(address).status_code == 404


@pytest.mark.parametrize("role", [Role.PATIENT, Role.CARER, Role.VIEWER])
def test_the_chosen_role_is_the_one_offered(role: Role, enter: Enter) -> None:
    visitor = enter("pat")
    address = invite_on(visitor, "/h/home", role=role.value)
    assert f"as {role.value}." in enter("stranger").see(address)


def test_the_usual_role_is_carer(enter: Enter) -> None:
    assert enter("pat").form("/h/home/people", "note").values["role"] == "carer"


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"role": "boss"}, "The role is boss. Choose one of the list."),
        ({"role": "coordinator"}, "The role is coordinator. Choose one of the list."),
        ({"role": ""}, "The role is empty. Choose one of the list."),
        (
            {"note": "n" * 61},
            f"Your note is {'n' * 57}.... Write at most 60 letters, or leave it empty.",
        ),
    ],
)
def test_a_bad_invite_is_named_and_what_was_typed_stays(
    values: dict[str, str], sentence: str, enter: Enter, db: Session
) -> None:
    page = enter("cara").send("/h/home/people", {"note": "my sister"} | values, "note")
    assert page.status_code == 422
    assert faults_of(page) == [sentence]
    assert f'value="{values.get("note", "my sister")}"' in page.text
    check(page.text)
    assert db.exec(select(OneTimeLinkRow)).all() == []


def test_too_many_invites_of_an_agency_are_named_on_its_page(enter: Enter) -> None:
    visitor = enter("cody")
    for _ in range(20):
        invite_on(visitor, "/agency/ours")
    page = visitor.send("/agency/ours/people", {}, "note")
    assert faults_of(page) == [
        "The role is one too many. 20 invites are open already; take one back first."
    ]


def member(db: Session, name: str) -> str:
    query = select(MembershipRow.id).join(AccountRow).where(AccountRow.name == name)
    found = db.exec(query).one()
    db.rollback()
    return str(found)


def test_a_role_is_changed_on_the_page(enter: Enter, db: Session) -> None:
    visitor = enter("cara")
    token = visitor.form("/h/home/people", "note").values["form_token"]
    values = {"form_token": token, "member": member(db, "vic"), "role": "carer"}
    answer = visitor.post("/h/home/people/role", values)
    assert "The role is changed." in visitor.follow(answer)
    assert enter("vic").get("/h/home/sessions/new").status_code == 200


@pytest.mark.parametrize("values", [{"member": "x"}, {"member": "1" * 30}, {"role": "boss"}, {}])
def test_nonsense_changes_nobody(values: dict[str, str], enter: Enter, db: Session) -> None:
    visitor = enter("cara")
    token = visitor.form("/h/home/people", "note").values["form_token"]
    good = {"member": member(db, "vic"), "role": "carer"} if values else {}
    answer = visitor.post("/h/home/people/role", good | values | {"form_token": token})
    assert answer.status_code == (422 if "role" in values else 404)
    assert db.exec(select(MembershipRow.role).order_by(MembershipRow.role)).all() == [
        "carer",
        "patient",
        "patient",
        "viewer",
    ]


def test_somebody_is_taken_out(enter: Enter, db: Session) -> None:
    visitor = enter("pat")
    token = visitor.form("/h/home/people", "note").values["form_token"]
    values = {"form_token": token, "member": member(db, "vic")}
    said = visitor.follow(visitor.post("/h/home/people/remove", values))
    assert "That person is taken out." in said
    assert "vic" not in said
    assert enter("vic").get("/h/home").status_code == 404


def test_a_viewer_sees_the_list_and_may_only_leave(enter: Enter) -> None:
    visitor = enter("vic")
    page = visitor.get("/h/home/people")
    check(page.text)
    assert re.findall(r'<form[^>]*action="([^"]*)"', page.text) == [
        "/sign-out",
        "/h/home/people/leave",
    ]
    answer = visitor.send("/h/home/people", {}, "member")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert visitor.get("/h/home").status_code == 404


def test_the_last_in_charge_is_told_to_find_somebody_first(enter: Enter) -> None:
    visitor = enter("stranger")
    forms = visitor.get("/h/lone/people")
    assert "/h/lone/people/leave" in forms.text
    token = visitor.form("/h/lone/people", "note").values["form_token"]
    page = visitor.post("/h/lone/people/leave", {"form_token": token})
    assert page.status_code == 409
    assert "Nobody else can manage this. Nothing was changed." in text_of(page)


def test_a_coordinator_who_is_no_member_cannot_leave_a_household(enter: Enter) -> None:
    visitor = enter("cody")
    page = visitor.get("/h/home/people")
    assert "/people/leave" not in page.text
    assert "The coordinators of Ours can see and change this household as well." in text_of(page)
    token = visitor.form("/h/home/people", "note").values["form_token"]
    assert visitor.post("/h/home/people/leave", {"form_token": token}).status_code == 404


def test_a_carer_of_two_households_sees_which_one_it_is_and_goes_to_the_other(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    assert "Go to another household" not in enter("cara").see("/h/home/shelf")
    add_member(db, people["cara"], "lone", Role.CARER)
    db.commit()
    visitor = enter("cara")
    for path in ("/h/home", "/h/home/shelf", "/h/lone/order"):
        page = visitor.get(path)
        check(page.text)
        assert "Household of the tests Go to another household" in text_of(page)
    assert 'href="/h/lone"' in visitor.get("/").text
    assert "Go to another household" in enter("cody").see("/h/home")


# By e-mail.


@pytest.fixture
def send_with(client: TestClient) -> Callable[[Sink], None]:
    def chosen(mailer: Sink) -> None:
        application = client.app
        assert isinstance(application, FastAPI)
        application.state.post = Post(
            mailer=mailer, sender="supplies@clinic.example", base_url="http://testserver"
        )

    return chosen


def test_without_a_mail_server_no_address_is_asked_for(enter: Enter) -> None:
    assert "send_to" not in enter("cara").form("/h/home/people", "note").values


def test_an_invite_goes_by_e_mail_and_the_address_is_not_kept(
    enter: Enter, db: Session, send_with: Callable[[Sink], None]
) -> None:
    sink = Sink()
    send_with(sink)
    visitor = enter("cara")
    page = visitor.send("/h/home/people", {"send_to": "nora@test.example"}, "note")
    assert "It is on its way by e-mail as well." in text_of(page)
    (sent,) = sink.taken
    assert (sent["To"], sent["Subject"]) == ("nora@test.example", "You are invited")
    assert sent["List-Unsubscribe"] is None
    body = sent.get_content()
    found = re.search(r"http://testserver(/join/[\w-]+)\n", body)
    assert found is not None
    assert found[1] in page.text
    assert visitor.get(found[1]).status_code == 200
    assert not ABOUT_HEALTH.search(f"{sent['Subject']} {body}")
    assert "Household of the tests" not in body
    kept = db.exec(select(OneTimeLinkRow)).one()
    assert "nora@test.example" not in str(kept.model_dump())


@pytest.mark.parametrize(
    ("outcome", "sentence"),
    [
        (Outcome.LATER, "It could not be sent by e-mail. Pass the link on yourself."),
        (Outcome.NEVER, "It could not be sent by e-mail. Pass the link on yourself."),
        (Outcome.UNSURE, "It may have gone by e-mail as well."),
    ],
)
def test_an_invite_that_does_not_leave_is_still_shown(
    outcome: Outcome,
    sentence: str,
    enter: Enter,
    send_with: Callable[[Sink], None],
) -> None:
    send_with(Sink(outcomes=[outcome]))
    page = enter("cara").send("/h/home/people", {"send_to": "nora@test.example"}, "note")
    assert sentence in text_of(page)
    assert 'class="address"' in page.text


@pytest.mark.parametrize("typed", ["nora", "no ra@test.example", "nora@test.example\nBcc: x@y.z"])
def test_a_bad_e_mail_address_makes_no_invite(
    typed: str,
    enter: Enter,
    db: Session,
    send_with: Callable[[Sink], None],
) -> None:
    sink = Sink()
    send_with(sink)
    page = enter("cara").send("/h/home/people", {"send_to": typed, "note": "sis"}, "note")
    assert page.status_code == 422
    (fault,) = faults_of(page)
    assert fault.endswith("Write an address such as ann@example.org, or leave it empty.")
    assert 'value="sis"' in page.text
    assert sink.taken == []
    assert db.exec(select(OneTimeLinkRow)).all() == []
