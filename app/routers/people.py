"""Who belongs to a household or agency: the list, roles, invites, leaving."""

from __future__ import annotations

from dataclasses import replace

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from app import clock, display
from app.access import AgencyAccess, HouseholdAccess, Permission, Role
from app.deps import (
    AppSettings,
    CheckedForm,
    DbSession,
    Login,
    ManagedHousehold,
    SignedIn,
    ViewedAgency,
    ViewedHousehold,
)
from app.errors import InvalidInput, NotFound
from app.forms import Form, FormReader, texts
from app.invite_mail import send_invite
from app.mail import is_address
from app.services_links import invite, open_invites, take_back_invite
from app.services_members import agency_name_of, change_role, members_of, remove_member
from app.views import Places, after, agency_places, household_places, render, told_of
from app.views_members import (
    LABELS,
    moment_text,
    read_role,
    role_choices,
    role_name,
    role_names,
    sent_text,
)

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/people")
def show_household(
    request: Request, db: DbSession, login: SignedIn, access: ViewedHousehold, done: str = ""
) -> Response:
    """Who belongs to a household."""
    return _page(request, db, login, access, _blank(access), done=done)


@router.get("/agency/{agency}/people")
def show_agency(
    request: Request, db: DbSession, login: SignedIn, access: ViewedAgency, done: str = ""
) -> Response:
    """Who works for an agency."""
    return _page(request, db, login, access, _blank(access), done=done)


@router.post("/h/{household}/people")
def invite_to_household(
    request: Request,
    db: DbSession,
    login: SignedIn,
    access: ManagedHousehold,
    settings: AppSettings,
    form: CheckedForm,
) -> Response:
    """Make an invite to a household."""
    return _invited(request, db, login, access, settings.base_url, texts(form))


@router.post("/agency/{agency}/people")
def invite_to_agency(
    request: Request,
    db: DbSession,
    login: SignedIn,
    access: ViewedAgency,
    settings: AppSettings,
    form: CheckedForm,
) -> Response:
    """Make an invite to an agency."""
    values = texts(form) | {"role": Role.COORDINATOR.value}
    return _invited(request, db, login, access, settings.base_url, values)


@router.post("/h/{household}/people/take-back")
def take_back_of_household(db: DbSession, access: ManagedHousehold, form: CheckedForm) -> Response:
    """Take an open invite back."""
    take_back_invite(db, access, _number(texts(form), "invite"))
    return after(f"{_root(access)}/people", "taken-back")


@router.post("/agency/{agency}/people/take-back")
def take_back_of_agency(db: DbSession, access: ViewedAgency, form: CheckedForm) -> Response:
    """Take an open invite back."""
    take_back_invite(db, access, _number(texts(form), "invite"))
    return after(f"{_root(access)}/people", "taken-back")


@router.post("/h/{household}/people/role")
def give_role(
    request: Request, db: DbSession, login: SignedIn, access: ManagedHousehold, form: CheckedForm
) -> Response:
    """Give a member another role."""
    values = texts(form)
    member, role = _number(values, "member"), read_role(values.get("role", ""))
    if role is None:
        name = f"member[{member}].role"
        reader = FormReader({name: values.get("role", "")})
        reader.fault(name, "choose one of the list")
        faulty = replace(_blank(access), problems=tuple(reader.faults))
        return _page(request, db, login, access, faulty, status=InvalidInput.status)
    change_role(db, access, member, role)
    return after(f"{_root(access)}/people", "role")


@router.post("/h/{household}/people/remove")
def remove_from_household(db: DbSession, access: ManagedHousehold, form: CheckedForm) -> Response:
    """Take somebody out of a household."""
    remove_member(db, access, _number(texts(form), "member"))
    return after(f"{_root(access)}/people", "removed")


@router.post("/agency/{agency}/people/remove")
def remove_from_agency(db: DbSession, access: ViewedAgency, form: CheckedForm) -> Response:
    """Take somebody out of an agency."""
    remove_member(db, access, _number(texts(form), "member"))
    return after(f"{_root(access)}/people", "removed")


@router.post("/h/{household}/people/leave")
def leave_household(db: DbSession, access: ViewedHousehold, _form: CheckedForm) -> Response:
    """Leave a household."""
    return _left(db, access)


@router.post("/agency/{agency}/people/leave")
def leave_agency(db: DbSession, access: ViewedAgency, _form: CheckedForm) -> Response:
    """Leave an agency."""
    return _left(db, access)


def _left(db: DbSession, access: HouseholdAccess | AgencyAccess) -> Response:
    own = [one.member_id for one in members_of(db, access) if one.is_you]
    if not own:
        raise NotFound
    remove_member(db, access, own[0])
    return RedirectResponse("/", status_code=303)


def _invited(
    request: Request,
    db: DbSession,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    base_url: str,
    values: dict[str, str],
) -> Response:
    reader = FormReader(values)
    role = read_role(reader.text("role"))
    if role is None:
        reader.fault("role", "choose one of the list")
    post = getattr(request.app.state, "post", None)
    to = "" if post is None else reader.text("send_to")
    if to and not is_address(to):
        reader.fault("send_to", "write an address such as ann@example.org, or leave it empty")
    now = clock.utc_now()
    try:
        reader.refuse()
        secret = invite(db, access, role=role or Role.VIEWER, note=reader.text("note"), now=now)
    except InvalidInput as error:
        typed = Form(values=values, problems=error.faults, labels=LABELS)
        return _page(request, db, login, access, typed, status=error.status)
    address = f"{base_url}/join/{secret}"
    sent = ""
    if post is not None and to:
        name = login.account.name
        language = display.current().language
        outcome = send_invite(
            post, to=to, inviter=name, address=address, now=now, language=language
        )
        sent = sent_text(outcome)
    return _page(request, db, login, access, _blank(access), address=address, sent=sent)


def _page(
    request: Request,
    db: DbSession,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    form: Form,
    *,
    address: str = "",
    sent: str = "",
    done: str = "",
    status: int = 200,
) -> Response:
    is_household = isinstance(access, HouseholdAccess)
    may_manage = not isinstance(access, HouseholdAccess) or access.may(Permission.MANAGE)
    members = members_of(db, access)
    own = [one.member_id for one in members if one.is_you]
    invites = open_invites(db, access, clock.utc_now()) if may_manage else ()
    context = {
        "places": _places(access),
        "told": told_of(done),
        "root": _root(access),
        "form": form,
        "address": address,
        "sent": sent,
        "may_manage": may_manage,
        "can_send": getattr(request.app.state, "post", None) is not None,
        "own": own[0] if own else "",
        "agency": agency_name_of(db, access),
        "data": is_household and may_manage,
        "is_agency": not is_household,
        "roles": role_names() if is_household and may_manage else [],
        "choices": role_choices() if is_household else [],
        "members": [
            {
                "key": one.member_id,
                "name": one.name,
                "role": role_name(one.role),
                "is_you": one.is_you,
            }
            for one in members
        ],
        "invites": [
            {
                "key": one.link_id,
                "role": role_name(one.role),
                "note": one.note,
                "by": one.made_by,
                "until": moment_text(one.expires_at),
            }
            for one in invites
        ],
    }
    return render("people.html", context, login=login, status=status)


def _blank(access: HouseholdAccess | AgencyAccess) -> Form:
    values = {"role": Role.CARER.value} if isinstance(access, HouseholdAccess) else {}
    return Form(values=values, labels=LABELS)


def _number(values: dict[str, str], name: str) -> int:
    typed = values.get(name, "")
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 10):
        raise NotFound
    return int(typed)


def _root(access: HouseholdAccess | AgencyAccess) -> str:
    if isinstance(access, HouseholdAccess):
        return f"/h/{access.household_id}"
    return f"/agency/{access.agency_id}"


def _places(access: HouseholdAccess | AgencyAccess) -> Places:
    if isinstance(access, HouseholdAccess):
        return household_places(access, "People")
    return agency_places(access.agency_id, "People")
