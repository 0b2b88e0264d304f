"""Signing in: right and wrong passwords, ends, and the throttle."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlmodel import Session, select

from app import security
from app.errors import InvalidInput, Throttled, WrongSignIn
from app.models import AccountRow, LoginAttemptRow, LoginRow
from app.services_accounts import account_of_login, create_account, sign_in, sign_out
from tests.app.data_builders import UTC_NOW

PASSWORD = "a long enough one"
HERE = "192.0.2.7"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The cheapest hash, so that the tests are quick; the real one is tested once."""
    from argon2 import PasswordHasher

    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(security, "_hasher", cheap)


@pytest.fixture
def account(db: Session) -> AccountRow:
    made = create_account(
        db, email=" Ann@Test.Example ", name="Ann", password=PASSWORD, now=UTC_NOW
    )
    db.commit()
    return made


def enter(db: Session, password: str = PASSWORD, **changes: str) -> str:
    wanted = {"email": "ann@test.example", "address": HERE} | changes
    return sign_in(db, password=password, now=UTC_NOW, **wanted)


def test_the_right_password_opens_a_login(db: Session, account: AccountRow) -> None:
    secret = enter(db, email="ANN@test.example ")
    found = account_of_login(db, secret, UTC_NOW)
    assert found is not None
    assert found.id == account.id


def test_each_sign_in_has_its_own_secret_and_only_its_hash_is_kept(
    db: Session, account: AccountRow
) -> None:
    secrets = {enter(db), enter(db)}
    assert len(secrets) == 2
    assert all(len(secret) >= 43 for secret in secrets)
    kept = set(db.exec(select(LoginRow.token_hash)))
    assert kept == {security.hash_secret(secret) for secret in secrets}


@pytest.mark.parametrize(
    ("email", "password"),
    [("ann@test.example", "wrong"), ("nobody@test.example", PASSWORD), ("", "")],
)
def test_wrong_and_unknown_get_the_same_answer(
    email: str, password: str, db: Session, account: AccountRow
) -> None:
    with pytest.raises(WrongSignIn) as refusal:
        enter(db, password, email=email)
    assert str(refusal.value) == WrongSignIn.message


def test_an_unknown_account_costs_a_hash_check_too(
    db: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    checked: list[str | None] = []

    def note(password_hash: str | None, password: str) -> bool:
        checked.append(password_hash)
        return security_check(password_hash, password)

    security_check = security.password_matches
    monkeypatch.setattr(security, "password_matches", note)
    with pytest.raises(WrongSignIn):
        enter(db, email="nobody@test.example")
    assert checked == [None]
    assert not security_check(None, PASSWORD)


def test_a_closed_account_cannot_sign_in_or_go_on(db: Session, account: AccountRow) -> None:
    secret = enter(db)
    account.closed_at = UTC_NOW
    db.commit()
    assert account_of_login(db, secret, UTC_NOW) is None
    with pytest.raises(WrongSignIn):
        enter(db)


def test_signing_out_ends_the_login_on_the_server(db: Session, account: AccountRow) -> None:
    secret, other = enter(db), enter(db)
    sign_out(db, secret, UTC_NOW)
    assert account_of_login(db, secret, UTC_NOW) is None
    assert account_of_login(db, other, UTC_NOW) is not None


def test_a_login_ends_when_it_is_not_used(db: Session, account: AccountRow) -> None:
    secret = enter(db)
    assert account_of_login(db, secret, UTC_NOW + security.IDLE_LIMIT) is not None
    later = UTC_NOW + 2 * security.IDLE_LIMIT
    assert account_of_login(db, secret, later) is not None
    assert account_of_login(db, secret, later + security.IDLE_LIMIT + timedelta(hours=1)) is None


def test_a_login_ends_after_its_longest_time_however_much_it_is_used(
    db: Session, account: AccountRow
) -> None:
    secret = enter(db)
    moment = UTC_NOW
    while moment < UTC_NOW + security.ABSOLUTE_LIMIT - timedelta(days=7):
        moment += timedelta(days=7)
        assert account_of_login(db, secret, moment) is not None
    moment = UTC_NOW + security.ABSOLUTE_LIMIT + timedelta(seconds=1)
    assert account_of_login(db, secret, moment) is None


def test_logins_that_ended_long_ago_are_forgotten(db: Session, account: AccountRow) -> None:
    enter(db)
    later = UTC_NOW + security.ABSOLUTE_LIMIT + timedelta(days=1)
    sign_in(db, email=account.email, password=PASSWORD, address=HERE, now=later)
    assert len(db.exec(select(LoginRow)).all()) == 1


def test_nonsense_is_no_login(db: Session) -> None:
    assert account_of_login(db, "nonsense", UTC_NOW) is None


def fail(db: Session, times: int, **changes: str) -> None:
    for _ in range(times):
        with pytest.raises(WrongSignIn):
            enter(db, "wrong", **changes)


def test_too_many_failures_must_wait_even_with_the_right_password(
    db: Session, account: AccountRow
) -> None:
    fail(db, security.ATTEMPTS_PER_WINDOW)
    with pytest.raises(Throttled):
        enter(db)


def test_nobody_is_locked_out_by_failures_from_elsewhere(db: Session, account: AccountRow) -> None:
    fail(db, security.ATTEMPTS_PER_WINDOW, address="198.51.100.9")
    assert enter(db)


def test_the_wait_ends(db: Session, account: AccountRow) -> None:
    fail(db, security.ATTEMPTS_PER_WINDOW)
    later = UTC_NOW + security.ATTEMPT_WINDOW + timedelta(seconds=1)
    assert sign_in(db, email=account.email, password=PASSWORD, address=HERE, now=later)


def test_success_forgets_earlier_failures(db: Session, account: AccountRow) -> None:
    for _ in range(3):
        fail(db, security.ATTEMPTS_PER_WINDOW - 1)
        enter(db)


def test_one_address_cannot_try_many_accounts(db: Session, account: AccountRow) -> None:
    for n in range(60):
        fail(db, 1, email=f"guess{n}@test.example")
    with pytest.raises(Throttled):
        enter(db)


def test_the_throttle_keeps_neither_names_nor_addresses(db: Session, account: AccountRow) -> None:
    fail(db, 1)
    for row in db.exec(select(LoginAttemptRow)):
        assert HERE not in row.subject_hash
        assert len(row.subject_hash) == 64


@pytest.mark.parametrize(
    ("email", "password", "sentence"),
    [
        ("ann@test.example", PASSWORD, "email is ann@test.example: it has an account already."),
        ("ann", PASSWORD, "email is ann: give an e-mail address such as ann@example.org."),
        (
            "bob@test.example",
            "short",
            "password is 5 characters long: use 9 to 256 characters.",
        ),
    ],
)
def test_a_bad_new_account_is_refused(
    email: str, password: str, sentence: str, db: Session, account: AccountRow
) -> None:
    with pytest.raises(InvalidInput) as refusal:
        create_account(db, email=email, name="X", password=password, now=UTC_NOW)
    assert str(refusal.value) == sentence
