"""The order page: what to order and why, a yes or a no to it, orders so far."""

from __future__ import annotations

import re

from fastapi import APIRouter
from sqlmodel import Session
from starlette.responses import Response

from app import queries, wording, wording_steps
from app.access import HouseholdAccess, Permission
from app.deps import CheckedForm, DbSession, Login, Now, OrderedHousehold, SignedIn, ViewedHousehold
from app.errors import InvalidInput, OutOfDate
from app.feed_entries import has_order_day
from app.forms import Form, FormReader, renumbered, texts
from app.planning import StoredPlan, plan_for
from app.services_orders import OrderConfirmation, Refusal, confirm_order, decline_order
from app.views import after, household_places, render, sign_of, told_of
from app.views_amounts import amounts_shown, lines_of
from app.views_order import (
    RECENT_ANSWERS,
    answers_shown,
    facts_behind,
    order_choices,
    orders_shown,
)
from app.writing import Request
from planner.household import Household
from planner.results import ProposedLine

router = APIRouter(include_in_schema=False)

ANSWER = "Yes, we need these supplies and want this order placed."
NEEDED = "We use these supplies as planned, and what is at home will run out."
NO_ANSWER = "No, not needed now."
_LABELS = {
    "said_yes": "The box for your yes",
    "said_needed": "The box that supplies are needed",
    "declined_by": "Your name",
    "order": "An earlier order",
    "confirmed_by": "Your name",
    "promised_on": "Promised day",
    "express": "Express",
    "lines": "Boxes",
    "lines[].boxes": "Boxes in line {n}",
    "lines[].item": "Item in line {n}",
}


@router.get("/h/{household}/order")
def show_order(
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    now: Now,
    done: str = "",
    amount: str = "",
) -> Response:
    """The proposed order, with its reasons; `amount` fills in one of the other amounts."""
    stored = plan_for(db, access.household_id, now)
    record = stored.household
    lines = lines_of(record, stored.plan, amount)
    form = Form(values=_proposed_values(login, record, stored, lines))
    return _order_page(db, login, access, record, stored, form, done=done)


@router.get("/h/{household}/order/amounts")
def show_amounts(db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now) -> Response:
    """Other amounts than the proposed one, and how long they last."""
    stored = plan_for(db, access.household_id, now)
    record, plan = stored.household, stored.plan
    until = plan.order.covers_until
    context = {
        "places": household_places(access, "Order"),
        "household_id": access.household_id,
        "may_order": access.may(Permission.ORDER),
        "shown": amounts_shown(record, plan, now.time()),
        "until": "" if until is None else wording.day_text(until, today=plan.as_of),
    }
    return render("order_amounts.html", context, login=login)


def _proposed_values(
    login: Login,
    record: Household,
    stored: StoredPlan,
    lines: tuple[ProposedLine, ...] | None = None,
) -> dict[str, str]:
    chosen = stored.plan.order.lines if lines is None else lines
    proposed = {line.item_code: line.boxes for line in chosen}
    name = login.account.name
    values = {"confirmed_by": name, "declined_by": name, "version": str(stored.input_version)}
    for n, item in enumerate(record.items, 1):
        values[f"lines[{n}].boxes"] = str(proposed.get(item.code, 0))
    return values


@router.post("/h/{household}/order")
def do_confirm(
    db: DbSession, login: SignedIn, access: OrderedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Place the order that a person has said yes to."""
    values = texts(form)
    record = queries.household_record(db, access)
    rows = [n for n in range(1, len(record.items) + 1) if _boxes_typed(values, n)]
    try:
        confirmation = _confirmation(values, record, rows)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        confirm_order(request, confirmation)
    except OutOfDate:
        stored = plan_for(db, access.household_id, now)
        changed = Form(values=_proposed_values(login, record, stored) | {"changed": "yes"})
        return _order_page(db, login, access, record, stored, changed, status=OutOfDate.status)
    except InvalidInput as error:
        shown = Form(
            values={"declined_by": login.account.name} | values,
            problems=renumbered(error.faults, "lines", rows),
            labels=_LABELS,
            stands_for={"lines": "lines[1].boxes", "order": "lines[1].boxes"},
        )
        stored = plan_for(db, access.household_id, now)
        return _order_page(db, login, access, record, stored, shown, status=error.status)
    done = "placed" if confirmation.is_placed else "ordered"
    return after(f"/h/{access.household_id}/order", done)


def _version(values: dict[str, str]) -> int:
    """The record that the page showed; without one the page is as good as an old one.

    Raises:
        OutOfDate: when the form does not say which.
    """
    typed = values.get("version", "")
    if not re.fullmatch(r"[0-9]{1,9}", typed):
        raise OutOfDate
    return int(typed)


def _boxes_typed(values: dict[str, str], n: int) -> bool:
    return values.get(f"lines[{n}].boxes", "").strip() not in ("", "0")


def _confirmation(values: dict[str, str], record: Household, rows: list[int]) -> OrderConfirmation:
    reader = FormReader(values)
    lines = [
        (
            record.items[n - 1].code,
            reader.whole(f"lines[{n}].boxes", unit="boxes", default=1, example=2),
        )
        for n in rows
    ]
    promised_on = reader.optional_day("promised_on")
    reader.refuse()
    has_rule = record.settings.refill_rule is not None
    return OrderConfirmation(
        lines=tuple(lines),
        confirmed_by=reader.text("confirmed_by"),
        said_yes=reader.text("said_yes") == "yes",
        said_needed=reader.text("said_needed") == "yes",
        answer=f"{ANSWER} {NEEDED}" if has_rule else ANSWER,
        input_version=_version(values),
        is_placed=reader.text("placed") == "yes",
        promised_on=promised_on,
        is_express=reader.text("express") == "yes",
    )


@router.post("/h/{household}/order/decline")
def do_decline(
    db: DbSession, login: SignedIn, access: OrderedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Keep the answer that nothing is needed now."""
    values = texts(form)
    stored = plan_for(db, access.household_id, now)
    record = stored.household
    try:
        refusal = Refusal(
            declined_by=values.get("declined_by", "").strip(),
            asked=tuple((line.item_code, line.boxes) for line in stored.plan.order.lines),
            answer=NO_ANSWER,
            input_version=_version(values),
        )
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        decline_order(request, refusal)
    except InvalidInput as error:
        typed = _proposed_values(login, record, stored) | values
        shown = Form(values=typed, problems=error.faults, labels=_LABELS)
        return _order_page(db, login, access, record, stored, shown, status=error.status)
    return after(f"/h/{access.household_id}/order", "declined")


def _order_page(
    db: Session,
    login: Login,
    access: HouseholdAccess,
    record: Household,
    stored: StoredPlan,
    form: Form,
    *,
    done: str = "",
    status: int = 200,
) -> Response:
    plan = stored.plan
    names = wording.names_of(record)
    orders = orders_shown(record, plan.as_of)
    context = {
        "places": household_places(access, "Order"),
        "household_id": access.household_id,
        "told": told_of(done),
        "may_order": access.may(Permission.ORDER),
        "may_record": access.may(Permission.RECORD),
        "sign": sign_of(plan.urgency),
        "calls": wording_steps.call_texts(plan, names),
        "order_by": wording.order_by_text(plan),
        "has_order_day": has_order_day(plan),
        "what": wording.order_lines_text(plan.order, names),
        "covers": wording.order_covers_text(plan),
        "delivery": wording.delivery_text(plan),
        "risk": wording.delivery_risk_text(plan),
        "supplier": wording.supplier_text(names),
        "reasons": wording.reason_texts(plan, names),
        "facts": facts_behind(plan, record),
        "form": form,
        "answer": ANSWER,
        "lines": order_choices(record),
        "has_express": record.supplier.express_business_days is not None,
        "has_refill_rule": record.settings.refill_rule is not None,
        "needed": NEEDED,
        "no_answer": NO_ANSWER,
        "waiting": next((one for one in orders if one.is_waiting), None),
        "has_amounts": bool(plan.order.lines),
        "orders": orders,
        "answers": answers_shown(
            record, queries.declined_orders(db, access, RECENT_ANSWERS), plan.as_of
        ),
    }
    return render("order.html", context, login=login, status=status)
