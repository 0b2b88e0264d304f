"""One household: the patient's page, and taking an entry back."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from fastapi import APIRouter
from markupsafe import Markup
from sqlmodel import Session
from starlette.responses import Response

from app import display, queries, wording, wording_steps
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

_shown: Memory[dict[str, object]] = Memory()
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
    more = above_limit(stored.household, entry) if done == "session" else ()
    if done == "started":
        more, entry = started_texts(entry), ""
    context = {
        "places": household_places(access, "Overview"),
        "household_id": access.household_id,
        "household_name": access.household_name,
        "told": told_of(done, entry, more),
        "may_record": access.may(Permission.RECORD),
        "who_orders": wording_steps.who_orders_text(queries.who_orders(db, access)),
    }
    return render("overview.html", context | _plan_shown(db, stored), login=login)


def _plan_shown(db: Session, stored: StoredPlan) -> dict[str, object]:
    """All that the page says about a plan; made once for each plan and way of showing things."""
    household_id, made_from = stored.household.id, (stored, display.current())
    kept = _shown.get(db, household_id, made_from)
    if kept is not None:
        return kept
    record, plan = stored.household, stored.plan
    names = wording.names_of(record)
    made = {
        "sign": sign_of(plan.urgency),
        "has_order": bool(plan.order.lines),
        "headline": wording.headline(plan),
        "lasts": wording.lasts_text(plan),
        "sure": wording.sure_text(plan),
        "with_coming": wording.with_coming_text(plan),
        "delivery": wording.delivery_text(plan),
        "steps": wording_steps.next_steps(plan, names),
        "calls": wording_steps.call_texts(plan, names),
        "reasons": _further_reasons(plan, names),
        "curves": _curves(plan, names),
        "stock": [
            (names.items[one.item_code], wording.units_text(one.usable, names.kinds[one.item_code]))
            for one in plan.on_hand
        ],
        "last": last_session(record),
    }
    _shown.keep(db, household_id, made_from, made)
    return made


def _curves(plan: Plan, names: wording.Names) -> Markup:
    """The pictures of the shelves."""
    context = {
        "curves": [draw(plan, shelf) for shelf in plan.shelves],
        "shelf_names": [names.items.get(one.kit_code, one.kit_code) for one in plan.shelves],
    }
    return render_part("_curves.html", context)


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
