"""Links that open an account or let somebody in: the first start, and invites."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from app import clock
from app.deps import (
    AppSettings,
    CheckedForm,
    DbSession,
    Login,
    MaybeSignedIn,
    OpenForm,
    SignedIn,
    device_of,
    keep_signed_in,
)
from app.errors import InvalidInput
from app.forms import Form, texts
from app.services_accounts import SHORTEST_PASSWORD
from app.services_joining import Invitation, NewPerson, invitation_of, join_as, join_as_new
from app.views import after, render
from app.views_members import LABELS, role_name

router = APIRouter(include_in_schema=False)


@router.get("/join/{secret}")
def show_link(secret: str, db: DbSession, login: MaybeSignedIn) -> Response:
    """What a link offers. Opening it changes nothing, since programs follow links as well."""
    offered = invitation_of(db, secret, clock.utc_now())
    return _page(login, secret, offered, Form(labels=LABELS))


@router.post("/join/{secret}")
def do_join_as_new(
    request: Request, secret: str, db: DbSession, settings: AppSettings, sent: OpenForm
) -> Response:
    """Open an account by a link; who holds the link needs no other proof."""
    values = texts(sent)
    now = clock.utc_now()
    person = NewPerson(
        name=values.get("name", ""),
        email=values.get("email", ""),
        password=values.get("password", ""),
    )
    try:
        login = join_as_new(db, secret, person, now, device_of(request))
    except InvalidInput as error:
        typed = {name: text for name, text in values.items() if name != "password"}
        form = Form(values=typed, problems=error.faults, labels=LABELS)
        offered = invitation_of(db, secret, now)
        return _page(None, secret, offered, form, status=error.status)
    return keep_signed_in(RedirectResponse("/", status_code=303), settings, login)


@router.post("/join/{secret}/here")
def do_join(secret: str, db: DbSession, login: SignedIn, _form: CheckedForm) -> Response:
    """Let somebody in who has an account."""
    now = clock.utc_now()
    offered = invitation_of(db, secret, now)
    join_as(db, secret, login.account, now)
    if offered.household_id is None:
        return RedirectResponse(f"/agency/{offered.agency_id}", status_code=303)
    return after(f"/h/{offered.household_id}", "joined")


def _page(
    login: Login | None, secret: str, offered: Invitation, form: Form, *, status: int = 200
) -> Response:
    context = {
        "invite": offered,
        "role": "" if offered.role is None else role_name(offered.role),
        "action": f"/join/{secret}",
        "form": form,
        "shortest": SHORTEST_PASSWORD,
    }
    return render("join.html", context, login=login, status=status)
