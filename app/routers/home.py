"""Start page, signing in and out, and the page that says when to call somebody."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from app import clock, queries
from app.deps import (
    AppSettings,
    CheckedForm,
    DbSession,
    MaybeSignedIn,
    OpenForm,
    SignedIn,
    device_of,
    forget_browser,
    keep_signed_in,
)
from app.errors import Throttled, WrongSignIn
from app.forms import texts
from app.services_accounts import sign_in, sign_out
from app.texts import tr
from app.views import Place, render

router = APIRouter(include_in_schema=False)

LONGEST_PATH = 500
"""Of the page that a sign-in may lead to. [characters]"""


@router.get("/")
def start(db: DbSession, login: SignedIn) -> Response:
    """Lead to the one place this account has, or show all of them."""
    households = queries.household_links(db, login.account)
    agencies = queries.agency_links(db, login.account)
    links = [Place(name=one.name, href=f"/agency/{one.agency_id}") for one in agencies]
    links += [Place(name=one.name, href=f"/h/{one.household_id}") for one in households]
    if len(links) == 1:
        return RedirectResponse(links[0].href, status_code=303)
    if not links:
        return RedirectResponse("/start", status_code=303)
    return render("start.html", {"links": links}, login=login)


@router.get("/sign-in")
def show_sign_in(login: MaybeSignedIn, next: str = "/") -> Response:  # noqa: A002
    """The sign-in form."""
    if login is not None:
        return RedirectResponse("/", status_code=303)
    return render("sign_in.html", {"next": _own_path(next), "email": "", "fault": ""}, login=None)


@router.post("/sign-in")
def do_sign_in(
    request: Request,
    db: DbSession,
    settings: AppSettings,
    form: OpenForm,
) -> Response:
    """Sign in and go on to the wanted page."""
    values = texts(form)
    email, wanted = values.get("email", ""), _own_path(values.get("next", "/"))
    address = request.client.host if request.client else ""
    try:
        secret = sign_in(
            db,
            email=email,
            password=values.get("password", ""),
            address=address,
            now=clock.utc_now(),
            device=device_of(request),
        )
    except (WrongSignIn, Throttled) as error:
        context = {"next": wanted, "email": email, "fault": tr(error.message)}
        return render("sign_in.html", context, login=None, status=error.status)
    return keep_signed_in(RedirectResponse(wanted, status_code=303), settings, secret)


@router.post("/sign-out")
def do_sign_out(
    db: DbSession, login: SignedIn, settings: AppSettings, _form: CheckedForm
) -> Response:
    """End this browser's sign-in."""
    sign_out(db, login.secret, clock.utc_now())
    return forget_browser(RedirectResponse("/sign-in", status_code=303), settings)


@router.get("/when-to-call")
def when_to_call(login: MaybeSignedIn) -> Response:
    """Cautions that every household should know."""
    return render("when_to_call.html", {}, login=login)


def _own_path(path: str) -> str:
    """Only ever lead to a page of our own."""
    own = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable()
    return path if own and len(path) <= LONGEST_PATH else "/"
