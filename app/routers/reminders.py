"""E-mail reminders: what a person wants to hear, and the link that stops it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import time
from zoneinfo import available_timezones

from fastapi import APIRouter, Request
from starlette.responses import Response

from app import clock
from app.access import AgencyAccess, HouseholdAccess
from app.deps import CheckedForm, DbSession, Login, SignedIn, ViewedAgency, ViewedHousehold
from app.errors import InvalidInput, NotFound
from app.forms import Form, FormReader, texts
from app.reminders import APPROACHING_DAYS, Choices, ReminderKind
from app.services_reminders import choices_of, knows_stop_link, save_choices, stop_by_link
from app.views import Place, after, agency_places, household_places, render, told_of

router = APIRouter(include_in_schema=False)

_OF_HOUSEHOLD = (ReminderKind.ORDER_BY, ReminderKind.RISK, ReminderKind.DELIVERY_LATE)
_OF_AGENCY = (ReminderKind.DIGEST,)
_SENTENCES = {
    ReminderKind.ORDER_BY: f"The day to order by is {APPROACHING_DAYS} days away or less",
    ReminderKind.RISK: "Supplies may run out before new ones come",
    ReminderKind.DELIVERY_LATE: "A delivery is late",
    ReminderKind.DIGEST: "Each working day: the households that need somebody to act",
}
_DETAILED_FOR_HOUSEHOLD = "Detailed: they also name what to order"
_DETAILED_FOR_AGENCY = "Detailed: they also name the households"
_LABELS = {
    "quiet_from": "Quiet from",
    "quiet_until": "Quiet until",
    "time_zone": "Your time zone",
}


@router.get("/h/{household}/reminders")
def show_household(
    request: Request, db: DbSession, login: SignedIn, access: ViewedHousehold, done: str = ""
) -> Response:
    """What a person wants to hear about a household."""
    return _page(request, login, access, _form_of(choices_of(db, access)), done=done)


@router.post("/h/{household}/reminders")
def choose_for_household(
    request: Request, db: DbSession, login: SignedIn, access: ViewedHousehold, form: CheckedForm
) -> Response:
    """Keep what a person wants to hear about a household."""
    return _saved(request, db, login, access, texts(form))


@router.get("/agency/{agency}/reminders")
def show_agency(
    request: Request, db: DbSession, login: SignedIn, access: ViewedAgency, done: str = ""
) -> Response:
    """What a coordinator wants to hear."""
    return _page(request, login, access, _form_of(choices_of(db, access)), done=done)


@router.post("/agency/{agency}/reminders")
def choose_for_agency(
    request: Request, db: DbSession, login: SignedIn, access: ViewedAgency, form: CheckedForm
) -> Response:
    """Keep what a coordinator wants to hear."""
    return _saved(request, db, login, access, texts(form))


@router.get("/reminders/stop/{secret}")
def ask_to_stop(secret: str, db: DbSession) -> Response:
    """Ask before messages stop, since programs follow links by themselves."""
    if not knows_stop_link(db, secret):
        raise NotFound
    return render("reminders_stop.html", {"stopped": False}, login=None)


@router.post("/reminders/stop/{secret}")
def do_stop(secret: str, db: DbSession) -> Response:
    """Stop messages; who holds the link needs no cookie and no other proof.

    References:
        RFC 8058 section 3.2: a mail program posts to this address and takes no further step.
    """
    stop_by_link(db, secret, clock.utc_now())
    return render("reminders_stop.html", {"stopped": True}, login=None)


def _saved(
    request: Request,
    db: DbSession,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    values: Mapping[str, str],
) -> Response:
    try:
        choices = _choices(values, access)
    except InvalidInput as error:
        form = Form(values=values, problems=error.faults, labels=_LABELS)
        return _page(request, login, access, form, status=error.status)
    save_choices(db, access, choices, clock.utc_now())
    return after(f"{_root(access)}/reminders", "reminders")


def _choices(values: Mapping[str, str], access: HouseholdAccess | AgencyAccess) -> Choices:
    reader = FormReader(values)
    quiet_from, quiet_until = _time(reader, "quiet_from"), _time(reader, "quiet_until")
    zone = reader.text("time_zone")
    if zone not in available_timezones():
        reader.fault("time_zone", f"write a name such as {access.time_zone}")
    reader.refuse()
    return Choices(
        wanted=frozenset(kind for kind in _kinds(access) if reader.text(kind) == "yes"),
        quiet_from=quiet_from,
        quiet_until=quiet_until,
        time_zone=zone,
        detailed=reader.text("detailed") == "yes",
    )


def _time(reader: FormReader, name: str) -> time:
    try:
        return time.fromisoformat(reader.text(name)).replace(tzinfo=None, second=0, microsecond=0)
    except ValueError:
        reader.fault(name, "give a time of day such as 21:00")
        return time()


def _form_of(choices: Choices) -> Form:
    values = {kind.value: "yes" for kind in choices.wanted}
    values["quiet_from"] = f"{choices.quiet_from:%H:%M}"
    values["quiet_until"] = f"{choices.quiet_until:%H:%M}"
    values["time_zone"] = choices.time_zone
    values["detailed"] = "yes" if choices.detailed else "no"
    return Form(values=values, labels=_LABELS)


def _kinds(access: HouseholdAccess | AgencyAccess) -> tuple[ReminderKind, ...]:
    return _OF_HOUSEHOLD if isinstance(access, HouseholdAccess) else _OF_AGENCY


def _root(access: HouseholdAccess | AgencyAccess) -> str:
    if isinstance(access, HouseholdAccess):
        return f"/h/{access.household_id}"
    return f"/agency/{access.agency_id}"


def _page(
    request: Request,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    form: Form,
    *,
    done: str = "",
    status: int = 200,
) -> Response:
    places: tuple[Place, ...]
    if isinstance(access, HouseholdAccess):
        places, detailed = household_places(access, "Calendar"), _DETAILED_FOR_HOUSEHOLD
    else:
        places, detailed = agency_places(access.agency_id, "Calendar"), _DETAILED_FOR_AGENCY
    context = {
        "places": places,
        "told": told_of(done),
        "root": _root(access),
        "form": form,
        "kinds": [(kind.value, _SENTENCES[kind]) for kind in _kinds(access)],
        "detailed": detailed,
        "leaves": getattr(request.app.state, "mail_reaches_people", True),
        "email": login.account.email,
    }
    return render("reminders.html", context, login=login, status=status)
