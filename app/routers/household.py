"""One household: the patient's page, and taking an entry back."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from fastapi import APIRouter
from markupsafe import Markup
from sqlmodel import Session
from starlette.responses import Response

from app import display, wording
from app.access import Permission
from app.chart import draw
from app.deps import (
    CheckedForm,
    DbSession,
    Now,
    RecordedHousehold,
    SignedIn,
    ViewedHousehold,
)
from app.errors import InvalidInput
from app.forms import texts
from app.planning import StoredPlan, plan_for
from app.records import Memory
from app.services import undo
from app.views import after, household_places, render, render_part, sign_of, told_of
from app.views_session import above_limit, last_session
from app.views_settings import started_texts
from app.writing import Request
from planner.results import Plan, ReasonCode

router = APIRouter(include_in_schema=False)

_drawn: Memory[Markup] = Memory()
_SAID_ALREADY = (ReasonCode.ORDER_BY, ReasonCode.NOTHING_TO_ORDER)
_UNDO_PAGES = {"shelf": "/shelf", "sessions": "/sessions"}


@router.get("/h/{household}")
def overview(
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    now: Now,
    done: str = "",
    entry: str = "",
) -> Response:
    """The patient's page: how long supplies last, how sure that is, what comes next."""
    stored = plan_for(db, access.household_id, now)
    record, plan = stored.household, stored.plan
    names = wording.names_of(record)
    more = above_limit(record, entry) if done == "session" else ()
    if done == "started":
        more, entry = started_texts(entry), ""
    context = {
        "places": household_places(access, "Overview"),
        "household_id": access.household_id,
        "household_name": access.household_name,
        "told": told_of(done, entry, more),
        "may_record": access.may(Permission.RECORD),
        "sign": sign_of(plan.urgency),
        "headline": wording.headline(plan),
        "lasts": wording.lasts_text(plan),
        "sure": wording.sure_text(plan),
        "with_coming": wording.with_coming_text(plan),
        "delivery": wording.delivery_text(plan),
        "steps": wording.next_steps(plan, names),
        "calls": wording.call_texts(plan, names),
        "reasons": _further_reasons(plan, names),
        "curves": _curves(db, stored, names),
        "stock": [
            (names.items[one.item_code], wording.units_text(one.usable, names.kinds[one.item_code]))
            for one in plan.on_hand
        ],
        "last": last_session(record),
    }
    return render("overview.html", context, login=login)


def _curves(db: Session, stored: StoredPlan, names: wording.Names) -> Markup:
    """The pictures of the shelves; drawn once for each plan and way of showing things."""
    household_id, made_from = stored.household.id, (stored, display.current())
    kept = _drawn.get(db, household_id, made_from)
    if kept is not None:
        return kept
    shelves = stored.plan.shelves
    context = {
        "curves": [draw(stored.plan, shelf) for shelf in shelves],
        "shelf_names": [names.items.get(one.kit_code, one.kit_code) for one in shelves],
    }
    made = render_part("_curves.html", context)
    _drawn.keep(db, household_id, made_from, made)
    return made


def _further_reasons(plan: Plan, names: wording.Names) -> tuple[str, ...]:
    """Remarks beyond those that the next steps say already."""
    return tuple(
        wording.reason_text(reason, names, today=plan.as_of)
        for reason in plan.reasons
        if reason.code not in _SAID_ALREADY
    )


@router.post("/h/{household}/undo")
def do_undo(db: DbSession, access: RecordedHousehold, now: Now, form: CheckedForm) -> Response:
    """Take back a session or an entry of the shelf."""
    values = texts(form)
    page = f"/h/{access.household_id}{_UNDO_PAGES.get(values.get('page', ''), '')}"
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    try:
        undo(request, values.get("entry", ""))
    except InvalidInput:
        return after(page, "already")
    return after(page, "undone")
