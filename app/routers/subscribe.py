"""Calendar addresses: how to subscribe, make, renew and switch off, and what they show."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app import clock, queries, wording
from app.access import AgencyAccess, HouseholdAccess
from app.deps import (
    AppSettings,
    CheckedForm,
    DbSession,
    Login,
    SignedIn,
    ViewedAgency,
    ViewedHousehold,
)
from app.errors import InvalidInput
from app.feed_filter import FeedFilter
from app.forms import Form, texts
from app.services_feeds import (
    choose_shown,
    find_feed,
    make_feed_address,
    revoke_feed_address,
    shown_by,
    suppliers_of,
)
from app.settings import Settings
from app.views import Place, after, agency_places, household_places, render, told_of
from app.views_feed import (
    LABELS,
    form_of,
    kind_choices,
    level_choices,
    read_filter,
    shown_text,
    supplier_choices,
)

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/calendar")
def show_household(
    db: DbSession, login: SignedIn, access: ViewedHousehold, done: str = ""
) -> Response:
    """How to subscribe to a household's calendar."""
    return _page(db, login, access, done=done)


@router.post("/h/{household}/calendar")
def make_for_household(
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    settings: AppSettings,
    form: CheckedForm,
) -> Response:
    """Make a new address; the old one stops working."""
    return _made(db, login, access, settings, detailed=form.get("detailed") == "yes")


@router.post("/h/{household}/calendar/off")
def switch_off_for_household(
    db: DbSession, access: ViewedHousehold, _form: CheckedForm
) -> Response:
    """Switch the address off."""
    revoke_feed_address(db, access, now=clock.utc_now())
    return after(f"/h/{access.household_id}/calendar", "revoked")


@router.get("/agency/{agency}/calendar")
def show_agency(db: DbSession, login: SignedIn, access: ViewedAgency, done: str = "") -> Response:
    """How to subscribe to a coordinator's calendar."""
    return _page(db, login, access, done=done)


@router.post("/agency/{agency}/calendar")
def make_for_agency(
    db: DbSession,
    login: SignedIn,
    access: ViewedAgency,
    settings: AppSettings,
    form: CheckedForm,
) -> Response:
    """Make a new address; the old one stops working. Without choices it shows what it did."""
    values = texts(form)
    detailed = values.get("detailed") == "yes"
    try:
        wanted = read_filter(values) if "least_urgency" in values else None
        return _made(db, login, access, settings, detailed=detailed, wanted=wanted)
    except InvalidInput as error:
        typed = Form(values=values, problems=error.faults, labels=LABELS)
        return _page(db, login, access, typed=typed, status=error.status)


@router.post("/agency/{agency}/calendar/shows")
def choose_for_agency(
    db: DbSession, login: SignedIn, access: ViewedAgency, form: CheckedForm
) -> Response:
    """Change what the address shows; the address stays."""
    values = texts(form)
    try:
        choose_shown(db, access, read_filter(values))
    except InvalidInput as error:
        typed = Form(values=values, problems=error.faults, labels=LABELS)
        return _page(db, login, access, typed=typed, status=error.status)
    return after(f"/agency/{access.agency_id}/calendar", "shows")


@router.post("/agency/{agency}/calendar/off")
def switch_off_for_agency(db: DbSession, access: ViewedAgency, _form: CheckedForm) -> Response:
    """Switch the address off."""
    revoke_feed_address(db, access, now=clock.utc_now())
    return after(f"/agency/{access.agency_id}/calendar", "revoked")


def _made(
    db: DbSession,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    settings: Settings,
    *,
    detailed: bool,
    wanted: FeedFilter | None = None,
) -> Response:
    now = clock.utc_now()
    secret = make_feed_address(db, access, detailed=detailed, now=now, wanted=wanted)
    return _page(db, login, access, address=f"{settings.base_url}/calendar/{secret}.ics")


def _page(
    db: DbSession,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    *,
    address: str = "",
    done: str = "",
    typed: Form | None = None,
    status: int = 200,
) -> Response:
    feed = queries.feed_address(db, access)
    places: tuple[Place, ...]
    if isinstance(access, HouseholdAccess):
        root, places = f"/h/{access.household_id}", household_places(access, "Calendar")
    else:
        root, places = f"/agency/{access.agency_id}", agency_places(access.agency_id, "Calendar")
    read_at = "not yet"
    if feed is not None and feed.last_read_at is not None:
        read_at = f"{wording.day_text(feed.last_read_at.date())} ({feed.last_read_at:%H:%M} UTC)"
    context: dict[str, object] = {
        "places": places,
        "told": told_of(done),
        "root": root,
        "address": address,
        "webcal": address.replace("https://", "webcal://").replace("http://", "webcal://"),
        "exists": feed is not None,
        "read_at": read_at,
        "detailed": feed is not None and feed.detailed,
        "says_yes_to_detail": typed is not None and typed.value("detailed") == "yes",
        "choices": None,
    }
    if isinstance(access, AgencyAccess):
        context |= _choices(db, access, typed)
    return render("subscribe.html", context, login=login, status=status)


def _choices(db: DbSession, access: AgencyAccess, typed: Form | None) -> dict[str, object]:
    """What may be chosen, and what is: also for an address that was switched off."""
    chosen = shown_by(find_feed(db, access))
    form = typed or form_of(chosen)
    return {
        "choices": form,
        "shown": shown_text(chosen),
        "levels": level_choices(),
        "kinds": kind_choices(),
        "suppliers": supplier_choices(form, suppliers_of(db, access)),
    }
