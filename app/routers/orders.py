"""The order page: what to order and why, confirming it, orders on their way."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from app import queries, wording
from app.access import HouseholdAccess, Permission
from app.deps import CheckedForm, DbSession, Login, Now, OrderedHousehold, SignedIn, ViewedHousehold
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.planning import StoredPlan, plan_for
from app.services_orders import OrderConfirmation, cancel_order, confirm_order
from app.views import after, household_places, render, sign_of, told_of
from app.writing import Request
from planner.household import Household
from planner.results import CatheterOutlook, Plan
from planner.supply import Order, OrderStatus

router = APIRouter(include_in_schema=False)

ANSWER = "Yes, we need these supplies and want this order placed."
RECENT_ORDERS = 12
_LABELS = {
    "said_yes": "The box for your yes",
    "confirmed_by": "Your name",
    "promised_on": "Promised day",
    "lines": "Boxes",
    "lines[].boxes": "Boxes in line {n}",
    "lines[].item": "Item in line {n}",
}
_STATES = {
    OrderStatus.PLACED: "on its way",
    OrderStatus.RECEIVED: "received",
    OrderStatus.CANCELLED: "cancelled",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLineShown:
    """One item that may be ordered."""

    n: int
    code: str
    name: str
    per_box: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderShown:
    """An earlier order."""

    key: str
    placed: str
    lines: str
    state: str
    by: str
    is_open: bool


@router.get("/h/{household}/order")
def show_order(
    db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now, done: str = ""
) -> Response:
    """The proposed order, with its reasons."""
    stored = plan_for(db, access.household_id, now)
    record = queries.household_record(db, access)
    proposed = {line.item_code: line.boxes for line in stored.plan.order.lines}
    values = {"confirmed_by": login.account.name, "version": str(stored.input_version)}
    for n, item in enumerate(record.items, 1):
        values[f"lines[{n}].boxes"] = str(proposed.get(item.code, 0))
    return _order_page(login, access, record, stored, Form(values=values), done=done)


@router.post("/h/{household}/order")
def do_confirm(
    db: DbSession, login: SignedIn, access: OrderedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Place the order that a person has said yes to."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        confirmation = _confirmation(values, record)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        confirm_order(request, confirmation)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS)
        stored = plan_for(db, access.household_id, now)
        return _order_page(login, access, record, stored, shown, status=error.status)
    return after(f"/h/{access.household_id}/order", "ordered")


def _confirmation(values: dict[str, str], record: Household) -> OrderConfirmation:
    reader = FormReader(values)
    lines = []
    for n, item in enumerate(record.items, 1):
        name = f"lines[{n}].boxes"
        boxes = reader.whole(name, unit="boxes") if reader.text(name) else 0
        lines.append((item.code, boxes))
    promised_on = reader.day("promised_on") if reader.text("promised_on") else None
    version = reader.whole("version", unit="version")
    reader.refuse()
    return OrderConfirmation(
        lines=tuple(lines),
        confirmed_by=reader.text("confirmed_by"),
        said_yes=reader.text("said_yes") == "yes",
        answer=ANSWER,
        input_version=version,
        promised_on=promised_on,
    )


@router.post("/h/{household}/order/cancel")
def do_cancel(db: DbSession, access: OrderedHousehold, now: Now, form: CheckedForm) -> Response:
    """Mark an open order as cancelled."""
    values = texts(form)
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    cancel_order(request, values.get("order", ""))
    return after(f"/h/{access.household_id}/order", "cancelled")


def _order_page(
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
    context = {
        "places": household_places(access, "Order"),
        "household_id": access.household_id,
        "told": told_of(done),
        "may_order": access.may(Permission.ORDER),
        "may_record": access.may(Permission.RECORD),
        "sign": sign_of(plan.urgency),
        "calls": wording.call_texts(plan, names),
        "order_by": wording.order_by_text(plan),
        "what": wording.order_lines_text(plan.order, names),
        "covers": wording.order_covers_text(plan),
        "delivery": wording.delivery_text(plan),
        "risk": wording.delivery_risk_text(plan),
        "supplier": wording.supplier_text(names),
        "reasons": wording.reason_texts(plan, names),
        "facts": _facts(plan, record, names),
        "form": form,
        "answer": ANSWER,
        "lines": [
            OrderLineShown(
                n=n,
                code=item.code,
                name=item.name,
                per_box=wording.units_text(item.units_per_box, item.kind),
            )
            for n, item in enumerate(record.items, 1)
        ],
        "orders": [_order_shown(record, one) for one in _latest(record)],
    }
    return render("order.html", context, login=login, status=status)


def _latest(record: Household) -> list[Order]:
    ordered = sorted(record.orders, key=lambda one: (one.placed_at, one.id), reverse=True)
    return ordered[:RECENT_ORDERS]


def _order_shown(record: Household, order: Order) -> OrderShown:
    lines = [
        f"{wording.count_text(line.boxes, 'boxes')} of {record.item(line.item_code).name}"
        for line in order.lines
    ]
    return OrderShown(
        key=order.id,
        placed=wording.day_text(order.placed_at.date()),
        lines=wording.joined(lines),
        state=_STATES[order.status],
        by=order.confirmed_by,
        is_open=order.is_open,
    )


def _facts(plan: Plan, record: Household, names: wording.Names) -> list[tuple[str, str]]:
    """The numbers behind the order, each with its name."""
    several = len(plan.outlooks) > 1
    facts = [
        (names.items[one.item_code], wording.units_text(one.usable, names.kinds[one.item_code]))
        for one in plan.on_hand
    ]
    facts += [
        (
            f"{names.items[one.item_code]}, on the way",
            wording.units_text(one.in_transit, names.kinds[one.item_code]),
        )
        for one in plan.on_hand
        if one.in_transit
    ]
    for outlook in plan.outlooks:
        label = record.catheter(outlook.catheter_id).label
        facts += _outlook_facts(outlook, f" ({label})" if several else "")
    chance = wording.chance_text(plan.order.risk_if_ordered_today)
    facts.append(("Chance to run out before goods ordered today come", chance))
    if plan.order.lines:
        chance = wording.chance_text(plan.order.chance_short)
        facts.append(
            ("Chance that this order does not last as long as it should", f"at most {chance}")
        )
    return facts


def _outlook_facts(outlook: CatheterOutlook, label: str) -> list[tuple[str, str]]:
    low, high = outlook.rate_low_ml_per_day, outlook.rate_high_ml_per_day
    facts = [
        (
            f"Fluid a day{label}",
            f"about {outlook.rate_ml_per_day:,.0f} mL (8 in 10: {low:,.0f} to {high:,.0f})",
        ),
        (f"Usual days between sessions{label}", f"{outlook.usual_gap_days:.1f}"),
        (f"Bottles in a usual session{label}", f"{outlook.bottles_per_session:.2f}"),
        (
            f"Chance of a further bottle{label}",
            wording.chance_text(outlook.further_bottle_chance),
        ),
        (f"Chance that a bottle is lost{label}", wording.chance_text(outlook.loss_chance)),
        (f"Sessions learned from{label}", str(outlook.sessions_learned_from)),
        (
            f"How much your own record counts{label}",
            f"{outlook.record_weight:.0%}; the rest is what is usual for others",
        ),
    ]
    if outlook.kept_chance is not None:
        kept = wording.chance_text(outlook.kept_chance)
        facts.insert(2, (f"Sessions held on their day{label}", kept))
    return facts
