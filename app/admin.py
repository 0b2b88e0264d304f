"""What whoever runs the server does from the command line: let people in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from zoneinfo import available_timezones

from sqlmodel import Session, select

from app import clock, security
from app.db import create_tables, open_engine, open_session
from app.models import AccountRow, AgencyRow
from app.services_links import make_account_link, make_first_account_link, make_password_link
from app.settings import BadSetting, Settings


def join_address(settings: Settings, secret: str) -> str:
    """Where a link leads."""
    return f"{settings.base_url}/join/{secret}"


def make_first_link(settings: Settings) -> str | None:
    """The secret of the link for the very first account; None when there is an account."""
    with _database(settings) as db:
        return make_first_account_link(db, clock.utc_now())


def make_reset_link(settings: Settings, email: str) -> str:
    """The address of a link that sets a new password.

    Raises:
        BadSetting: when nobody signs in with this e-mail address.
    """
    wanted = email.strip().lower()
    with _database(settings) as db:
        account = db.exec(select(AccountRow).where(AccountRow.email == wanted)).first()
        if account is None:
            raise BadSetting(f"EMAIL is {email}: nobody signs in with it; check the address.")
        secret = make_password_link(db, account, clock.utc_now())
        db.commit()
    return f"{settings.base_url}/password/{secret}"


def make_link(settings: Settings, *, agency: str | None, time_zone: str | None) -> str:
    """The address of a link that opens an account.

    Args:
        settings: which database.
        agency: name of the agency that the person will coordinate; it is made if it is new.
        time_zone: IANA name, for a new agency.

    Raises:
        BadSetting: naming the argument, its value and what to write instead.
    """
    zone = time_zone or "UTC"
    if zone not in available_timezones():
        raise BadSetting(f"--time-zone is {zone}: write a name such as Europe/Lisbon.")
    if agency is not None and not 0 < len(agency.strip()) <= 120:
        raise BadSetting(f"--agency is {len(agency)} letters long: use 1 to 120.")
    with _database(settings) as db:
        agency_id = None if agency is None else _agency(db, agency.strip(), zone)
        secret = make_account_link(db, clock.utc_now(), agency_id=agency_id)
        db.commit()
    return join_address(settings, secret)


def _agency(db: Session, name: str, zone: str) -> str:
    found = db.exec(select(AgencyRow.id).where(AgencyRow.name == name)).first()
    if found is not None:
        return found
    row = AgencyRow(id=security.new_key(), name=name, time_zone=zone)
    db.add(row)
    db.flush()
    return row.id


@contextmanager
def _database(settings: Settings) -> Iterator[Session]:
    engine = open_engine(settings.database_url)
    try:
        create_tables(engine)
        with open_session(engine) as db:
            yield db
    finally:
        engine.dispose()
