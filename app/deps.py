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

`app.one_thread` finds them, in the thread of the handler.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request
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
from app.display import show_as
from app.errors import NotSignedIn, Refused
from app.models import AccountRow
from app.services_accounts import person_of_login
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


def get_settings(request: Request) -> Settings:
    """The settings that the application was made with."""
    settings: Settings = request.app.state.settings
    return settings


def get_session() -> Session:
    """The database session of the request, which `app.one_thread` opens and closes."""
    raise NotImplementedError


AppSettings = Annotated[Settings, Depends(get_settings)]
DbSession = Annotated[Session, Depends(get_session)]


def get_login_or_none(request: Request, db: DbSession) -> Login | None:
    """Who is signed in, if anybody."""
    settings: Settings = request.app.state.settings
    secret = request.cookies.get(settings.cookie_name, "")
    person = person_of_login(db, secret, clock.utc_now()) if secret else None
    if person is None:
        return None
    account, display = person
    show_as(display)
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


def get_open_form() -> FormData:
    """The posted form of somebody who need not be signed in; the guard checked its origin.

    `app.one_thread` reads it, since that may have to wait for the browser.
    """
    raise NotImplementedError


OpenForm = Annotated[FormData, Depends(get_open_form)]


def get_checked_form(form: OpenForm, login: SignedIn) -> FormData:
    """The posted form, once it is sure that one of our pages sent it.

    Raises:
        Refused: when its hidden value does not fit the signed-in browser.
    """
    sent = form.get("form_token")
    if not isinstance(sent, str) or not security.form_token_matches(login.secret, sent):
        raise Refused
    return form


CheckedForm = Annotated[FormData, Depends(get_checked_form)]


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


def get_now(access: ViewedHousehold) -> datetime:
    """The wall-clock moment of the household in the path."""
    return clock.now_in(access.time_zone)


Now = Annotated[datetime, Depends(get_now)]
