"""Calendar addresses: how to subscribe, make, renew and switch off."""

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
from app.services_feeds import make_feed_address, revoke_feed_address
from app.settings import Settings
from app.views import Place, after, agency_places, household_places, render, told_of

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
    """Make a new address; the old one stops working."""
    return _made(db, login, access, settings, detailed=form.get("detailed") == "yes")


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
) -> Response:
    secret = make_feed_address(db, access, detailed=detailed, now=clock.utc_now())
    return _page(db, login, access, address=f"{settings.base_url}/calendar/{secret}.ics")


def _page(
    db: DbSession,
    login: Login,
    access: HouseholdAccess | AgencyAccess,
    *,
    address: str = "",
    done: str = "",
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
    context = {
        "places": places,
        "told": told_of(done),
        "root": root,
        "address": address,
        "webcal": address.replace("https://", "webcal://").replace("http://", "webcal://"),
        "exists": feed is not None,
        "read_at": read_at,
        "detailed": feed is not None and feed.detailed,
    }
    return render("subscribe.html", context, login=login)
