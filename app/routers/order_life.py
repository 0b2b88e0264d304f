"""The page of one order: its history, the next step, undoing the last one."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter
from sqlmodel import Session
from starlette.responses import Response

from app import clock, queries, wording, wording_steps
from app.access import HouseholdAccess, Permission
from app.deps import (
    AppSettings,
    CheckedForm,
    DbSession,
    Login,
    Now,
    OrderedHousehold,
    SignedIn,
    ViewedHousehold,
)
from app.errors import InvalidInput
from app.fhir import MEDIA_TYPE, order_bundle
from app.forms import Form, FormReader, texts
from app.order_documents import order_csv
from app.order_writing import find_order
from app.planning import plan_for
from app.services_orders import StepEntry, last_step_number, move_order, undo_order_step
from app.views import after, household_places, render, told_of
from app.views_order import order_shown
from app.views_order_life import goods_shown, history_shown, step_choices
from app.writing import Request
from planner.order_steps import OrderStatus

router = APIRouter(include_in_schema=False)

_LABELS = {
    "step": "What happened",
    "on": "Day it happened",
    "at": "Day it happened",
    "expected_on": "Delivery day the supplier named",
}


@router.get("/h/{household}/orders/{order}")
def show_order(
    db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now, order: str, done: str = ""
) -> Response:
    """One order with its history."""
    form = Form(values={"on": now.date().isoformat()})
    return _page(db, login, access, now, order, form, done=done)


@router.get("/h/{household}/orders/{order}/print")
def show_print(
    db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now, order: str
) -> Response:
    """The order as a sheet of paper for the supplier."""
    record = queries.household_record(db, access)
    found = find_order(record, order)
    named_on = found.promised_on
    context = {
        "places": household_places(access, "Order"),
        "household_id": access.household_id,
        "order": order_shown(record, found, now.date()),
        "goods": goods_shown(record, found, now.date()),
        "day_named": "" if named_on is None else wording.day_text(named_on, with_year=True),
        "supplier": wording.supplier_text(wording.names_of(record)),
    }
    return render("order_print.html", context, login=login)


@router.get("/h/{household}/orders/{order}/order.csv")
def download_csv(db: DbSession, access: ViewedHousehold, order: str) -> Response:
    """The order for a spreadsheet."""
    record = queries.household_record(db, access)
    found = find_order(record, order)
    return _file(order_csv(record, found), "text/csv; charset=utf-8", "order.csv")


@router.get("/h/{household}/orders/{order}/order.fhir.json")
def download_fhir(
    db: DbSession, access: ViewedHousehold, settings: AppSettings, order: str
) -> Response:
    """The order as HL7 FHIR, for a supplier's system."""
    record = queries.household_record(db, access)
    found = find_order(record, order)
    made_at = clock.utc_now()
    text = order_bundle(record, found, base_url=settings.base_url, made_at=made_at)
    return _file(text, MEDIA_TYPE, "order.fhir.json")


def _file(text: str, media_type: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type=media_type, headers=headers)


@router.post("/h/{household}/orders/{order}/step")
def do_step(
    db: DbSession,
    login: SignedIn,
    access: OrderedHousehold,
    now: Now,
    order: str,
    form: CheckedForm,
) -> Response:
    """Write down the next step."""
    values = texts(form)
    try:
        reader = FormReader(values)
        on, expected_on = reader.day("on"), reader.optional_day("expected_on")
        if not reader.text("step"):
            reader.fault("step", "choose one of the steps")
        reader.refuse()
        assert on is not None
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        entry = StepEntry(kind=reader.text("step"), on=on, expected_on=expected_on)
        move_order(request, order, entry)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS, stands_for={"at": "on"})
        return _page(db, login, access, now, order, shown, status=error.status)
    cancelled = entry.kind == OrderStatus.CANCELLED
    return after(f"/h/{access.household_id}/orders/{order}", "cancelled" if cancelled else "step")


@router.post("/h/{household}/orders/{order}/undo")
def do_undo(
    db: DbSession,
    login: SignedIn,
    access: OrderedHousehold,
    now: Now,
    order: str,
    form: CheckedForm,
) -> Response:
    """Take back the last step."""
    values = texts(form)
    try:
        reader = FormReader(values)
        number = reader.whole("number", unit="steps")
        reader.refuse()
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        undo_order_step(request, order, number)
    except InvalidInput as error:
        values |= {"on": now.date().isoformat()}
        shown = Form(values=values, problems=error.faults, labels=_LABELS)
        return _page(db, login, access, now, order, shown, status=error.status)
    return after(f"/h/{access.household_id}/orders/{order}", "step-undone")


def _page(
    db: Session,
    login: Login,
    access: HouseholdAccess,
    now: datetime,
    key: str,
    form: Form,
    *,
    done: str = "",
    status: int = 200,
) -> Response:
    record = queries.household_record(db, access)
    order = find_order(record, key)
    plan = plan_for(db, access.household_id, now).plan
    names = wording.names_of(record)
    shown = order_shown(record, order, now.date())
    history = history_shown(record, order, now.date())
    context = {
        "places": household_places(access, "Order"),
        "household_id": access.household_id,
        "told": told_of(done),
        "may_order": access.may(Permission.ORDER),
        "may_record": access.may(Permission.RECORD),
        "order": shown,
        "goods": goods_shown(record, order, now.date()),
        "history": history,
        "choices": step_choices(record, order),
        "last_number": last_step_number(order, record),
        "may_undo": sum(not one.taken_back for one in history) > 1,
        "calls": wording_steps.call_texts(plan, names),
        "supplier": wording.supplier_text(names),
        "form": form,
    }
    return render("order_one.html", context, login=login, status=status)
