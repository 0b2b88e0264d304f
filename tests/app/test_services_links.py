"""Links that work once: kept as hashes, used by one person, taken back, too old."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from app import security
from app.access import AgencyAccess, HouseholdAccess, Role, enter_agency, enter_household
from app.db import open_session
from app.errors import InvalidInput, NotFound
from app.models import AccountRow, CoordinatorRow, MembershipRow
from app.models_links import OneTimeLinkRow
from app.services_accounts import account_of_login, sign_in
from app.services_joining import (
    AlreadyInside,
    NewPerson,
    invitation_of,
    join_as,
    join_as_new,
)
from app.services_links import (
    MOST_OPEN_INVITES,
    LinkGone,
    invite,
    make_account_link,
    make_first_account_link,
    make_password_link,
    open_invites,
    take_back_invite,
)
from tests.app.data_builders import UTC_NOW

People = dict[str, AccountRow]

NEW = NewPerson(name="Nora", email="Nora@Test.Example", password="a long enough one")
A_DAY, A_WEEK = timedelta(hours=24), timedelta(days=7)


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    from argon2 import PasswordHasher

    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(security, "_hasher", cheap)


@pytest.fixture
def agency(db: Session, people: People) -> AgencyAccess:
    return enter_agency(db, people["cody"], "ours")


def invited(db: Session, access: HouseholdAccess | AgencyAccess, role: Role = Role.VIEWER) -> str:
    return invite(db, access, role=role, note="", now=UTC_NOW)


def links(db: Session) -> int:
    db.rollback()
    return len(db.exec(select(OneTimeLinkRow.id)).all())


def test_the_first_link_opens_an_account_that_is_signed_in(db: Session) -> None:
    secret = make_first_account_link(db, UTC_NOW)
    assert secret is not None
    login = join_as_new(db, secret, NEW, UTC_NOW, "phone")
    account = account_of_login(db, login, UTC_NOW)
    assert account is not None
    assert (account.name, account.email) == ("Nora", "nora@test.example")
    assert sign_in(
        db, email="nora@test.example", password=NEW.password, address="192.0.2.1", now=UTC_NOW
    )


def test_only_the_latest_first_link_works_and_only_until_there_is_an_account(db: Session) -> None:
    first, second = make_first_account_link(db, UTC_NOW), make_first_account_link(db, UTC_NOW)
    assert first is not None
    assert second is not None
    with pytest.raises(LinkGone):
        join_as_new(db, first, NEW, UTC_NOW, "")
    join_as_new(db, second, NEW, UTC_NOW, "")
    assert make_first_account_link(db, UTC_NOW) is None
    assert links(db) == 0


def test_a_new_start_leaves_the_links_of_coordinators_alone(db: Session, people: People) -> None:
    kept = make_account_link(db, UTC_NOW, agency_id="ours")
    db.commit()
    assert make_first_account_link(db, UTC_NOW) is None
    join_as_new(db, kept, NEW, UTC_NOW, "")
    nora = db.exec(select(AccountRow.id).where(AccountRow.name == "Nora")).one()
    agencies = select(CoordinatorRow.agency_id).where(CoordinatorRow.account_id == nora)
    assert db.exec(agencies).all() == ["ours"]


def test_only_the_hash_of_a_secret_is_kept(db: Session, carer: HouseholdAccess) -> None:
    secret = invited(db, carer)
    assert len(secret) >= 43
    row = db.exec(select(OneTimeLinkRow)).one()
    assert row.token_hash == security.hash_secret(secret)
    assert secret not in str(row.model_dump())


MAKE: dict[str, tuple[Callable[[Session, HouseholdAccess, People], str], timedelta]] = {
    "account": (lambda db, _access, _people: make_account_link(db, UTC_NOW), A_DAY),
    "invite": (lambda db, access, _people: invited(db, access), A_WEEK),
    "password": (lambda db, _access, people: make_password_link(db, people["pat"], UTC_NOW), A_DAY),
}


@pytest.mark.parametrize("kind", MAKE)
def test_a_link_ends_by_itself_and_is_forgotten(
    kind: str, db: Session, carer: HouseholdAccess, people: People
) -> None:
    make, good_for = MAKE[kind]
    secret = make(db, carer, people)
    db.commit()
    assert invitation_of(db, secret, UTC_NOW + good_for - timedelta(seconds=1)).purpose == kind
    for late in (good_for, good_for + timedelta(days=1)):
        with pytest.raises(LinkGone):
            invitation_of(db, secret, UTC_NOW + late)
        with pytest.raises(LinkGone):
            join_as_new(db, secret, NEW, UTC_NOW + late, "")
    assert open_invites(db, carer, UTC_NOW + good_for) == ()
    invite(db, carer, role=Role.CARER, note="", now=UTC_NOW + good_for)
    assert links(db) == 1


def test_a_link_for_a_password_opens_no_account(db: Session, people: People) -> None:
    secret = make_password_link(db, people["pat"], UTC_NOW)
    db.commit()
    with pytest.raises(LinkGone):
        join_as_new(db, secret, NEW, UTC_NOW, "")
    assert links(db) == 1


@pytest.mark.parametrize("role", [Role.PATIENT, Role.CARER, Role.VIEWER])
def test_an_invite_lets_a_new_person_in_once(
    role: Role, db: Session, carer: HouseholdAccess
) -> None:
    secret = invited(db, carer, role)
    offered = invitation_of(db, secret, UTC_NOW)
    assert (offered.place, offered.role) == ("Household of the tests", role)
    login = join_as_new(db, secret, NEW, UTC_NOW, "")
    account = account_of_login(db, login, UTC_NOW)
    assert account is not None
    assert enter_household(db, account, "home").role is role
    with pytest.raises(NotFound):
        enter_household(db, account, "other")
    again = NewPerson(name="Ned", email="ned@test.example", password=NEW.password)
    with pytest.raises(LinkGone):
        join_as_new(db, secret, again, UTC_NOW, "")


def test_an_invite_lets_somebody_in_who_has_an_account(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    secret = invited(db, carer, Role.CARER)
    join_as(db, secret, people["stranger"], UTC_NOW)
    access = enter_household(db, people["stranger"], "home")
    assert access.role is Role.CARER
    assert access.one_of_several
    assert enter_household(db, people["stranger"], "lone").role is Role.PATIENT
    with pytest.raises(LinkGone):
        join_as(db, secret, people["rival"], UTC_NOW)


def test_who_is_in_already_uses_no_invite_up_and_keeps_the_role(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    secret = invited(db, carer, Role.PATIENT)
    with pytest.raises(AlreadyInside):
        join_as(db, secret, people["vic"], UTC_NOW)
    assert enter_household(db, people["vic"], "home").role is Role.VIEWER
    assert invitation_of(db, secret, UTC_NOW).role is Role.PATIENT


def test_an_agency_s_invite_makes_a_coordinator(
    db: Session, agency: AgencyAccess, people: People
) -> None:
    secret = invited(db, agency, Role.COORDINATOR)
    join_as(db, secret, people["stranger"], UTC_NOW)
    assert enter_agency(db, people["stranger"], "ours").agency_name == "Ours"
    assert enter_household(db, people["stranger"], "home").role is Role.COORDINATOR
    other = invited(db, agency, Role.COORDINATOR)
    with pytest.raises(AlreadyInside):
        join_as(db, other, people["stranger"], UTC_NOW)


def test_a_link_for_a_new_account_gives_nothing_to_somebody_who_has_one(
    db: Session, people: People
) -> None:
    secret = make_account_link(db, UTC_NOW)
    db.commit()
    with pytest.raises(LinkGone, match="only makes new accounts"):
        join_as(db, secret, people["vic"], UTC_NOW)
    assert links(db) == 1


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": " "}, "name is empty: write what people call you, in at most 60 letters."),
        ({"email": "nora"}, "email is nora: give an e-mail address such as ann@example.org."),
        ({"email": "a b@c"}, "email is a b@c: give an e-mail address such as ann@example.org."),
        ({"email": "vic@test.example"}, "email is vic@test.example: it has an account already."),
        ({"password": "short"}, "password is 5 characters long: use 9 to 256 characters."),
    ],
)
def test_bad_input_saves_nothing_and_the_link_still_works(
    changes: dict[str, str], sentence: str, db: Session, carer: HouseholdAccess, people: People
) -> None:
    secret = invited(db, carer)
    whole = {"name": NEW.name, "email": NEW.email, "password": NEW.password} | changes
    with pytest.raises(InvalidInput) as refusal:
        join_as_new(db, secret, NewPerson(**whole), UTC_NOW, "")
    assert str(refusal.value) == sentence
    assert len(db.exec(select(AccountRow.id)).all()) == len(people)
    join_as_new(db, secret, NEW, UTC_NOW, "")


def test_an_invite_that_was_taken_back_does_not_work(db: Session, carer: HouseholdAccess) -> None:
    kept, gone = invited(db, carer), invited(db, carer)
    newest = open_invites(db, carer, UTC_NOW)[0]
    take_back_invite(db, carer, newest.link_id)
    take_back_invite(db, carer, newest.link_id)
    with pytest.raises(LinkGone):
        join_as_new(db, gone, NEW, UTC_NOW, "")
    join_as_new(db, kept, NEW, UTC_NOW, "")


def test_nobody_takes_back_another_household_s_invite(
    db: Session, carer: HouseholdAccess, people: People
) -> None:
    invited(db, carer)
    link_id = open_invites(db, carer, UTC_NOW)[0].link_id
    lone = enter_household(db, people["stranger"], "lone")
    assert open_invites(db, lone, UTC_NOW) == ()
    take_back_invite(db, lone, link_id)
    assert links(db) == 1


def test_a_viewer_neither_invites_nor_takes_back(db: Session, people: People) -> None:
    viewer = enter_household(db, people["vic"], "home")
    with pytest.raises(NotFound):
        invited(db, viewer)
    with pytest.raises(NotFound):
        take_back_invite(db, viewer, 1)


def test_the_list_shows_who_invited_whom_and_until_when(
    db: Session, carer: HouseholdAccess
) -> None:
    invite(db, carer, role=Role.CARER, note=" my sister ", now=UTC_NOW)
    (shown,) = open_invites(db, carer, UTC_NOW)
    assert (shown.role, shown.note, shown.made_by) == (Role.CARER, "my sister", "cara")
    assert shown.expires_at == UTC_NOW + A_WEEK


@pytest.mark.parametrize(
    ("role", "note", "sentence"),
    [
        (Role.COORDINATOR, "", "role is coordinator: choose one of the list."),
        (
            Role.CARER,
            "n" * 61,
            f"note is {'n' * 57}...: write at most 60 letters, or leave it empty.",
        ),
        (Role.CARER, "a\nb", "note is a\nb: write at most 60 letters, or leave it empty."),
    ],
)
def test_a_bad_invite_is_refused(
    role: Role, note: str, sentence: str, db: Session, carer: HouseholdAccess
) -> None:
    with pytest.raises(InvalidInput) as refusal:
        invite(db, carer, role=role, note=note, now=UTC_NOW)
    assert str(refusal.value) == sentence
    assert links(db) == 0


def test_there_is_an_end_to_open_invites(db: Session, carer: HouseholdAccess) -> None:
    for _ in range(MOST_OPEN_INVITES):
        invited(db, carer)
    with pytest.raises(InvalidInput, match="20 invites are open already"):
        invited(db, carer)
    assert links(db) == MOST_OPEN_INVITES


def test_of_several_people_who_use_a_link_at_once_one_gets_in(
    engine: Engine, db: Session, carer: HouseholdAccess
) -> None:
    secret = invited(db, carer)
    db.rollback()

    def use(n: int) -> bool:
        person = NewPerson(name="N", email=f"n{n}@test.example", password=NEW.password)
        with open_session(engine) as own:
            try:
                join_as_new(own, secret, person, UTC_NOW, "")
            except LinkGone:
                return False
        return True

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(use, range(4))) == [False, False, False, True]
    members = select(MembershipRow.id).where(MembershipRow.household_id == "home")
    assert len(db.exec(members).all()) == 4


def test_of_two_links_used_with_one_address_one_opens_the_account(
    engine: Engine, db: Session, carer: HouseholdAccess
) -> None:
    secrets = [invited(db, carer), invited(db, carer)]
    db.rollback()

    def use(secret: str) -> str:
        with open_session(engine) as own:
            try:
                join_as_new(own, secret, NEW, UTC_NOW, "")
            except InvalidInput as error:
                return str(error)
        return ""

    with ThreadPoolExecutor(2) as pool:
        said = sorted(pool.map(use, secrets))
    assert said == ["", "email is Nora@Test.Example: it has an account already."]
    assert links(db) == 1


def test_moments_are_kept_as_instants(db: Session, carer: HouseholdAccess) -> None:
    invited(db, carer)
    made: datetime = db.exec(select(OneTimeLinkRow.made_at)).one()
    assert made == UTC_NOW
