"""A person's own account: name, password, devices, deleting it, and a lost password."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from app import clock
from app.access import Role
from app.deps import (
    AppSettings,
    CheckedForm,
    DbSession,
    Login,
    OpenForm,
    SignedIn,
    forget_browser,
)
from app.errors import AppError, InvalidInput
from app.forms import Form, texts
from app.services_accounts import SHORTEST_PASSWORD
from app.services_joining import invitation_of
from app.services_links import LinkGone, Purpose
from app.services_members import LastManager
from app.services_own import (
    calendars_of,
    change_name,
    change_password,
    check_own_password,
    delete_account,
    devices_of,
    end_all_devices,
    end_device,
    places_of,
    set_password_by_link,
)
from app.views import after, render, told_of
from app.views_members import ACCOUNT_LABELS, device_name, moment_text, role_name

router = APIRouter(include_in_schema=False)


@router.get("/account")
def show_account(db: DbSession, login: SignedIn, done: str = "") -> Response:
    """What an account holds, and everything that can be changed."""
    return _page(db, login, Form(values={"name": login.account.name}), done=done)


@router.post("/account/name")
def do_change_name(db: DbSession, login: SignedIn, form: CheckedForm) -> Response:
    """Change what a person is called."""
    values = texts(form)
    try:
        change_name(db, login.account, values.get("name", ""))
    except InvalidInput as error:
        return _refused(db, login, values, error)
    return after("/account", "name")


@router.post("/account/password")
def do_change_password(
    request: Request, db: DbSession, login: SignedIn, form: CheckedForm
) -> Response:
    """Change the password; other devices are signed out."""
    values = texts(form)
    try:
        change_password(
            db,
            login.account,
            old=values.get("old_password", ""),
            new=values.get("new_password", ""),
            secret=login.secret,
            address=_address(request),
            now=clock.utc_now(),
        )
    except InvalidInput as error:
        return _refused(db, login, values, error)
    return after("/account", "password")


@router.post("/account/device")
def do_end_device(db: DbSession, login: SignedIn, form: CheckedForm) -> Response:
    """Sign one device out."""
    end_device(db, login.account, texts(form).get("device", ""), clock.utc_now())
    return after("/account", "device")


@router.post("/account/sign-out-everywhere")
def do_end_all(
    db: DbSession, login: SignedIn, settings: AppSettings, _form: CheckedForm
) -> Response:
    """Sign every device out, this one too."""
    end_all_devices(db, login.account, clock.utc_now())
    return forget_browser(RedirectResponse("/sign-in", status_code=303), settings)


@router.get("/account/delete")
def ask_to_delete(db: DbSession, login: SignedIn) -> Response:
    """What goes with an account, before it goes."""
    return _delete_page(db, login, Form(labels=ACCOUNT_LABELS))


@router.post("/account/delete")
def do_delete(
    request: Request, db: DbSession, login: SignedIn, settings: AppSettings, form: CheckedForm
) -> Response:
    """Delete the account for good."""
    try:
        typed = texts(form).get("password", "")
        check_own_password(db, login.account, typed, _address(request), clock.utc_now())
    except InvalidInput as error:
        faulty = Form(problems=error.faults, labels=ACCOUNT_LABELS)
        return _delete_page(db, login, faulty, status=error.status)
    try:
        delete_account(db, login.account)
    except LastManager as error:
        return _delete_page(db, login, Form(labels=ACCOUNT_LABELS), refusal=error)
    gone = render("gone.html", {"what": "Your account"}, login=None)
    return forget_browser(gone, settings)


@router.get("/password/{reset}")
def show_new_password(reset: str, db: DbSession) -> Response:
    """The form of a link that sets a new password."""
    return _password_page(db, reset, Form(labels=ACCOUNT_LABELS))


@router.post("/password/{reset}")
def do_set_password(reset: str, db: DbSession, form: OpenForm) -> Response:
    """Set a new password; who holds the link needs no other proof."""
    try:
        set_password_by_link(db, reset, texts(form).get("password", ""), clock.utc_now())
    except InvalidInput as error:
        faulty = Form(problems=error.faults, labels=ACCOUNT_LABELS)
        return _password_page(db, reset, faulty, status=error.status)
    return RedirectResponse("/sign-in", status_code=303)


def _password_page(db: DbSession, secret: str, form: Form, *, status: int = 200) -> Response:
    if invitation_of(db, secret, clock.utc_now()).purpose is not Purpose.PASSWORD:
        raise LinkGone
    context = {"form": form, "shortest": SHORTEST_PASSWORD}
    return render("new_password.html", context, login=None, status=status)


def _refused(db: DbSession, login: Login, values: dict[str, str], error: InvalidInput) -> Response:
    name = values.get("name", login.account.name)
    form = Form(values={"name": name}, problems=error.faults, labels=ACCOUNT_LABELS)
    return _page(db, login, form, status=error.status)


def _page(
    db: DbSession, login: Login, form: Form, *, done: str = "", status: int = 200
) -> Response:
    devices = devices_of(db, login.account, login.secret, clock.utc_now())
    context = {
        "told": told_of(done),
        "form": form,
        "email": login.account.email,
        "shortest": SHORTEST_PASSWORD,
        "devices": [
            {
                "key": one.key,
                "name": device_name(one.kind),
                "since": moment_text(one.since),
                "seen": moment_text(one.seen),
                "is_this": one.is_this,
            }
            for one in devices
        ],
        "calendars": [
            {
                "name": one.name,
                "href": f"/h/{one.household_id}/calendar"
                if one.household_id is not None
                else f"/agency/{one.agency_id}/calendar",
            }
            for one in calendars_of(db, login.account)
        ],
        "belongs": [
            (one.name, role_name(one.role or Role.COORDINATOR))
            for one in places_of(db, login.account)
        ],
    }
    return render("account.html", context, login=login, status=status)


def _delete_page(
    db: DbSession,
    login: Login,
    form: Form,
    *,
    refusal: AppError | None = None,
    status: int = 200,
) -> Response:
    context = {
        "form": form,
        "refusal": "" if refusal is None else refusal.message,
        "belongs": [one.name for one in places_of(db, login.account)],
        "calendars": len(calendars_of(db, login.account)),
    }
    shown = status if refusal is None else refusal.status
    return render("account_delete.html", context, login=login, status=shown)


def _address(request: Request) -> str:
    return request.client.host if request.client else ""
