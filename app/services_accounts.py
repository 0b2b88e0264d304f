"""Accounts and signing in: one function per action, each one transaction."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import String, bindparam
from sqlalchemy import select as select_columns
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, delete, select, update

from app import security
from app.access import Role
from app.db import upsert
from app.display import Display
from app.errors import InvalidInput, Throttled, WrongSignIn
from app.models import AccountRow, CoordinatorRow, LoginAttemptRow, LoginRow, MembershipRow
from app.models_settings import DisplayChoiceRow
from app.services_display import display_from
from planner.errors import Fault, show

SHORTEST_PASSWORD = 9
LONGEST_NAME = 60
LONGEST_EMAIL = 254
_SEEN_STEP_SECONDS = 600
_ATTEMPTS_PER_ADDRESS = 60
_LOGIN = (
    select_columns(
        col(LoginRow.ended_at),
        col(LoginRow.last_seen_at),
        col(LoginRow.created_at),
        col(DisplayChoiceRow.date_style),
        col(DisplayChoiceRow.volume_unit),
        col(DisplayChoiceRow.language),
        AccountRow,
    )
    .join(AccountRow, col(AccountRow.id) == LoginRow.account_id)
    .outerjoin(DisplayChoiceRow, col(DisplayChoiceRow.account_id) == AccountRow.id)
    .where(col(LoginRow.token_hash) == bindparam("token_hash", type_=String))
)
"""Written once, since every request asks it."""


def create_account(
    db: Session, *, email: str, name: str, password: str, now: datetime
) -> AccountRow:
    """Add an account; the caller commits.

    Raises:
        InvalidInput: fields `name`, `email`, `password`; the caller rolls back.
    """
    address = email.strip().lower()
    faults = [*name_faults(name)]
    if not _is_email(address):
        fix = "give an e-mail address such as ann@example.org"
        faults.append(Fault(field="email", value=show(email.strip()), fix=fix))
    taken = Fault(field="email", value=show(email.strip()), fix="it has an account already")
    if db.exec(select(AccountRow.id).where(AccountRow.email == address)).first() is not None:
        faults.append(taken)
    faults += password_faults(password)
    if faults:
        raise InvalidInput(faults)
    account = AccountRow(
        email=address,
        name=name.strip(),
        password_hash=security.hash_password(password),
        created_at=now,
    )
    db.add(account)
    try:
        db.flush()
    except IntegrityError:
        # Somebody took the address at the same moment.
        raise InvalidInput([taken]) from None
    return account


def name_faults(name: str) -> list[Fault]:
    """What is wrong with the name that a person wants to be called by."""
    if 0 < len(name.strip()) <= LONGEST_NAME and name.strip().isprintable():
        return []
    fix = f"write what people call you, in at most {LONGEST_NAME} letters"
    return [Fault(field="name", value=show(name.strip()), fix=fix)]


def password_faults(password: str, field: str = "password") -> list[Fault]:
    """What is wrong with a new password; it is never shown."""
    if SHORTEST_PASSWORD <= len(password) <= security.LONGEST_PASSWORD:
        return []
    fix = f"use {SHORTEST_PASSWORD} to {security.LONGEST_PASSWORD} characters"
    return [Fault(field=field, value=f"{len(password)} characters long", fix=fix)]


def _is_email(address: str) -> bool:
    name, _, host = address.partition("@")
    plain = address.isprintable() and " " not in address and len(address) <= LONGEST_EMAIL
    return plain and bool(name) and bool(host) and "@" not in host


def add_member(db: Session, account: AccountRow, household_id: str, role: Role) -> None:
    """Give an account a role in a household; the caller commits."""
    db.add(MembershipRow(account_id=account.id or 0, household_id=household_id, role=role.value))
    db.flush()


def add_coordinator(db: Session, account: AccountRow, agency_id: str) -> None:
    """Let an account coordinate an agency's households; the caller commits."""
    db.add(CoordinatorRow(account_id=account.id or 0, agency_id=agency_id))
    db.flush()


def sign_in(
    db: Session, *, email: str, password: str, address: str, now: datetime, device: str = ""
) -> str:
    """Sign a person in.

    Args:
        db: session.
        email: as typed.
        password: as typed.
        address: network address of the browser, for the throttle.
        now: present instant.
        device: what kind of device it is, as `security.device_kind` says.

    Returns:
        The secret for the sign-in cookie. A new one is drawn each time.

    Raises:
        WrongSignIn: when address or password do not fit.
        Throttled: after too many failures with this account from this address, or from this
            address at all. Nobody is locked out from elsewhere.
    """
    account = check_password(db, email=email, password=password, address=address, now=now)
    db.exec(delete(LoginRow).where(col(LoginRow.created_at) < now - security.ABSOLUTE_LIMIT))
    secret = open_login(db, account, now, device=device)
    db.commit()
    return secret


def check_password(
    db: Session, *, email: str, password: str, address: str, now: datetime
) -> AccountRow:
    """The account that address and password belong to; every failure counts.

    Raises:
        WrongSignIn: when address or password do not fit.
        Throttled: see `sign_in`.
    """
    db.commit()
    here = security.attempt_subject("", address)
    both = security.attempt_subject(email, address)
    _refuse_many(db, here, _ATTEMPTS_PER_ADDRESS, now)
    _refuse_many(db, both, security.ATTEMPTS_PER_WINDOW, now)
    # Counted before the slow check, so that attempts at the same time all count.
    _count_failure(db, both, now)
    _count_failure(db, here, now)
    wanted = select(AccountRow).where(AccountRow.email == email.strip().lower())
    account = db.exec(wanted).first()
    is_open = account is not None and account.closed_at is None
    password_hash = account.password_hash if account is not None and is_open else None
    db.commit()
    if not security.password_matches(password_hash, password) or account is None:
        raise WrongSignIn
    _forget_failures(db, both, here)
    return account


def open_login(db: Session, account: AccountRow, now: datetime, *, device: str = "") -> str:
    """Open a sign-in for one browser and give its secret; the caller commits."""
    fresh = security.new_secret()
    db.add(
        LoginRow(
            token_hash=fresh.secret_hash,
            account_id=account.id or 0,
            created_at=now,
            last_seen_at=now,
            device=device or None,
        )
    )
    db.flush()
    return fresh.secret


def sign_out(db: Session, secret: str, now: datetime) -> None:
    """End one browser's sign-in on the server."""
    db.commit()
    db.exec(
        update(LoginRow)
        .where(col(LoginRow.token_hash) == security.hash_secret(secret))
        .values(ended_at=now)
    )
    db.commit()


def account_of_login(db: Session, secret: str, now: datetime) -> AccountRow | None:
    """Whose browser this is; None when its sign-in ended, grew old or never was."""
    person = person_of_login(db, secret, now)
    return None if person is None else person[0]


def person_of_login(db: Session, secret: str, now: datetime) -> tuple[AccountRow, Display] | None:
    """The same with how this person wants to see pages, in one query."""
    token_hash = security.hash_secret(secret)
    found = db.execute(_LOGIN, {"token_hash": token_hash}).first()
    if found is None:
        return None
    ended_at, last_seen_at, created_at, *choices, account = found
    if ended_at is not None or account.closed_at is not None:
        return None
    idle = now - last_seen_at
    if idle > security.IDLE_LIMIT or now - created_at > security.ABSOLUTE_LIMIT:
        return None
    if idle.total_seconds() > _SEEN_STEP_SECONDS:
        db.commit()
        mine = col(LoginRow.token_hash) == token_hash
        db.exec(update(LoginRow).where(mine).values(last_seen_at=now))
        db.commit()
    return account, display_from(*choices)


def _refuse_many(db: Session, subject: str, limit: int, now: datetime) -> None:
    row = db.get(LoginAttemptRow, subject, populate_existing=True)
    db.commit()
    if row is None or now - row.first_failed_at > security.ATTEMPT_WINDOW:
        return
    if row.failures >= limit:
        raise Throttled


def _count_failure(db: Session, subject: str, now: datetime) -> None:
    old = col(LoginAttemptRow.first_failed_at) < now - security.ATTEMPT_WINDOW
    db.exec(delete(LoginAttemptRow).where(old))
    more = update(LoginAttemptRow).where(col(LoginAttemptRow.subject_hash) == subject)
    counted = db.exec(more.values(failures=col(LoginAttemptRow.failures) + 1))
    if counted.rowcount == 0:
        upsert(db, LoginAttemptRow(subject_hash=subject, failures=1, first_failed_at=now))
    db.commit()


def _forget_failures(db: Session, both: str, here: str) -> None:
    db.exec(delete(LoginAttemptRow).where(col(LoginAttemptRow.subject_hash) == both))
    less = update(LoginAttemptRow).where(col(LoginAttemptRow.subject_hash) == here)
    db.exec(less.values(failures=col(LoginAttemptRow.failures) - 1))
    db.commit()
