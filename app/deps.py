"""What routers ask for: the database, who is signed in, and the household in the address.

Paths name the household `{household}` and the agency `{agency}`. A router takes one of

    db: DbSession                    database session of this request
    login: SignedIn                  who is signed in (account, form token)
    access: ViewedHousehold          may view the household in the path
    access: RecordedHousehold        may record sessions, counts, receipts, waste, undo
    access: OrderedHousehold         may confirm and cancel orders
    access: ManagedHousehold         may decide who belongs to it, and delete it
    access: ViewedAgency             coordinator of the agency in the path
    form: CheckedForm                posted form of a signed-in person, checked for origin
    form: OpenForm                   posted form of somebody who need not be signed in
    now: Now                         wall-clock moment of the household in the path
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request
from fastapi.concurrency import run_in_threadpool
from sqlmodel import Session
from starlette.datastructures import FormData
from starlette.responses import Response

from app import clock, security
from app.access import (
    AgencyAccess,
    HouseholdAccess,
    Permission,
    enter_agency,
    enter_household,
)
from app.db import open_session
from app.display import show_as
from app.errors import NotSignedIn, Refused
from app.models import AccountRow
from app.services_accounts import person_of_login
from app.services_display import display_from
from app.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Login:
    """The signed-in person of a request.

    Attributes:
        form_token: put it into every form as the hidden field `form_token`.
    """

    account: AccountRow
    secret: str
    form_token: str


# What only passes something on is `async`, so that it costs no change of thread.


async def get_settings(request: Request) -> Settings:
    """The settings that the application was made with."""
    settings: Settings = request.app.state.settings
    return settings


async def get_session(request: Request) -> AsyncIterator[Session]:
    """A database session that ends with the request."""
    db = open_session(request.app.state.engine)
    try:
        yield db
    finally:
        await run_in_threadpool(db.close)


AppSettings = Annotated[Settings, Depends(get_settings)]
DbSession = Annotated[Session, Depends(get_session)]


def get_login_or_none(request: Request, db: DbSession) -> Login | None:
    """Who is signed in, if anybody."""
    settings: Settings = request.app.state.settings
    secret = request.cookies.get(settings.cookie_name, "")
    person = person_of_login(db, secret, clock.utc_now()) if secret else None
    if person is None:
        return None
    account, choice = person
    show_as(display_from(choice))
    return Login(account=account, secret=secret, form_token=security.form_token(secret))


MaybeSignedIn = Annotated[Login | None, Depends(get_login_or_none)]


def get_login(request: Request, db: DbSession) -> Login:
    """Who is signed in.

    Raises:
        NotSignedIn: when nobody is.
    """
    login = get_login_or_none(request, db)
    if login is None:
        raise NotSignedIn
    return login


SignedIn = Annotated[Login, Depends(get_login)]


def keep_signed_in(answer: Response, settings: Settings, secret: str) -> Response:
    """Give a browser the cookie of its sign-in."""
    answer.set_cookie(
        settings.cookie_name,
        secret,
        max_age=int(security.ABSOLUTE_LIMIT.total_seconds()),
        httponly=True,
        secure=settings.secure_cookies,
        samesite="lax",
        path="/",
    )
    return answer


def forget_browser(answer: Response, settings: Settings) -> Response:
    """Take the cookie and everything kept back from a browser."""
    answer.delete_cookie(settings.cookie_name, path="/", secure=settings.secure_cookies)
    answer.headers["Clear-Site-Data"] = '"cache", "storage"'
    return answer


def device_of(request: Request) -> str:
    """What kind of device a request comes from."""
    return security.device_kind(request.headers.get("user-agent", ""))


async def get_checked_form(request: Request, login: SignedIn) -> AsyncIterator[FormData]:
    """The posted form, once it is sure that one of our pages sent it.

    Raises:
        Refused: when its hidden value does not fit the signed-in browser.
    """
    async with request.form() as form:
        sent = form.get("form_token")
        if not isinstance(sent, str) or not security.form_token_matches(login.secret, sent):
            raise Refused
        yield form


CheckedForm = Annotated[FormData, Depends(get_checked_form)]


async def get_open_form(request: Request) -> AsyncIterator[FormData]:
    """The posted form of somebody who need not be signed in; the guard checked its origin."""
    async with request.form() as form:
        yield form


OpenForm = Annotated[FormData, Depends(get_open_form)]


def view_household(household: str, db: DbSession, login: SignedIn) -> HouseholdAccess:
    """Access to the household in the path, to look at it."""
    return enter_household(db, login.account, household, Permission.VIEW)


def record_household(household: str, db: DbSession, login: SignedIn) -> HouseholdAccess:
    """Access to the household in the path, to write in its record."""
    return enter_household(db, login.account, household, Permission.RECORD)


def order_household(household: str, db: DbSession, login: SignedIn) -> HouseholdAccess:
    """Access to the household in the path, to confirm or cancel orders."""
    return enter_household(db, login.account, household, Permission.ORDER)


def manage_household(household: str, db: DbSession, login: SignedIn) -> HouseholdAccess:
    """Access to the household in the path, to decide who belongs to it, and to delete it."""
    return enter_household(db, login.account, household, Permission.MANAGE)


def view_agency(agency: str, db: DbSession, login: SignedIn) -> AgencyAccess:
    """Access to the agency in the path."""
    return enter_agency(db, login.account, agency)


ViewedHousehold = Annotated[HouseholdAccess, Depends(view_household)]
RecordedHousehold = Annotated[HouseholdAccess, Depends(record_household)]
OrderedHousehold = Annotated[HouseholdAccess, Depends(order_household)]
ManagedHousehold = Annotated[HouseholdAccess, Depends(manage_household)]
ViewedAgency = Annotated[AgencyAccess, Depends(view_agency)]


async def get_now(access: ViewedHousehold) -> datetime:
    """The wall-clock moment of the household in the path."""
    return clock.now_in(access.time_zone)


Now = Annotated[datetime, Depends(get_now)]
