"""The shelf: what is there by lot, counting, deliveries, losses."""

from __future__ import annotations

from datetime import date, datetime, time

from fastapi import APIRouter
from starlette.responses import Response

from app import queries
from app.access import HouseholdAccess, Permission
from app.deps import (
    CheckedForm,
    DbSession,
    Login,
    Now,
    RecordedHousehold,
    SignedIn,
    ViewedHousehold,
)
from app.errors import InvalidInput
from app.forms import Form, FormReader, renumbered, texts
from app.planning import plan_for
from app.services import (
    DeliveryEntry,
    DeliveryLine,
    WasteEntry,
    count_item,
    receive_delivery,
    report_waste,
)
from app.views import after, household_places, render, told_of
from app.views_shelf import entry_lines, item_choices, item_lines, open_orders
from app.writing import Request

router = APIRouter(include_in_schema=False)

DELIVERY_ROWS = 6
_LABELS = {
    "day": "Day",
    "time": "Time",
    "at": "Day and time",
    "received_at": "Day",
    "item": "Item",
    "units": "Number of units",
    "reason": "Reason",
    "lot": "Lot",
    "lines": "Lines",
    "order": "Order",
    "lines[].item": "Item in line {n}",
    "lines[].units": "Units in line {n}",
    "lines[].lot": "Lot in line {n}",
    "lines[].expires_on": "Use-by date in line {n}",
}
_STANDS_FOR = {"at": "day", "received_at": "day"}


@router.get("/h/{household}/shelf")
def show_shelf(
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    now: Now,
    done: str = "",
    entry: str = "",
) -> Response:
    """What is there by item and lot, and the latest entries."""
    record = queries.household_record(db, access)
    plan = plan_for(db, access.household_id, now).plan
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "told": told_of(done, entry),
        "may_record": access.may(Permission.RECORD),
        "items": item_lines(record, plan, now.date()),
        "entries": entry_lines(record, queries.recorded_by(db, access)),
        "open_orders": open_orders(record),
    }
    return render("shelf.html", context, login=login)


@router.get("/h/{household}/shelf/count")
def show_count(
    db: DbSession, login: SignedIn, access: RecordedHousehold, item: str = ""
) -> Response:
    """The form to count one item."""
    return _item_page("count.html", db, login, access, Form(values={"item": item}))


@router.post("/h/{household}/shelf/count")
def do_count(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down a count."""
    values = texts(form)
    try:
        reader = FormReader(values)
        units = reader.whole("units", unit="units")
        reader.refuse()
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = count_item(request, item_code=reader.text("item"), units=units, at=now)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS)
        return _item_page("count.html", db, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "count", saved.key)


def _item_page(
    template: str,
    db: DbSession,
    login: Login,
    access: HouseholdAccess,
    form: Form,
    status: int = 200,
) -> Response:
    """A form about one item: the count, or goods thrown away."""
    record = queries.household_record(db, access)
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "items": item_choices(record),
    }
    return render(template, context, login=login, status=status)


@router.get("/h/{household}/shelf/waste")
def show_waste(db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now) -> Response:
    """The form for goods thrown away outside a session."""
    return _item_page(
        "waste.html", db, login, access, Form(values={"day": now.date().isoformat(), "units": "1"})
    )


@router.post("/h/{household}/shelf/waste")
def do_waste(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down goods thrown away."""
    values = texts(form)
    try:
        reader = FormReader(values)
        day, units = reader.day("day"), reader.whole("units", unit="units", default=1)
        reader.refuse()
        assert day is not None
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        entry = WasteEntry(
            at=_moment_on(day, now),
            item_code=reader.text("item"),
            units=units,
            reason=reader.text("reason"),
            lot=reader.text("lot"),
        )
        saved = report_waste(request, entry)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS, stands_for=_STANDS_FOR)
        return _item_page("waste.html", db, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "waste", saved.key)


def _moment_on(day: date, now: datetime) -> datetime:
    """Now for today, to the second, so that entries keep their order; noon for any other day."""
    return now if day == now.date() else datetime.combine(day, time(12, 0))


@router.get("/h/{household}/shelf/receive")
def show_receive(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, order: str = ""
) -> Response:
    """The form for a delivery; an open order fills it in."""
    record = queries.household_record(db, access)
    values = {"day": now.date().isoformat(), "order": order, "complete": "yes"}
    wanted = next((one for one in record.orders if one.id == order and one.is_open), None)
    if wanted is not None:
        for n, line in enumerate(wanted.lines, 1):
            units = line.boxes * record.item(line.item_code).units_per_box
            values |= {f"lines[{n}].item": line.item_code, f"lines[{n}].units": str(units)}
    return _receive_page(db, login, access, Form(values=values))


@router.post("/h/{household}/shelf/receive")
def do_receive(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Put a delivery on the shelf."""
    values = texts(form)
    rows = _rows_filled(values)
    try:
        entry = _delivery_entry(values, rows, now)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = receive_delivery(request, entry)
    except InvalidInput as error:
        shown = Form(
            values=values,
            problems=renumbered(error.faults, "lines", rows),
            labels=_LABELS,
            stands_for=_STANDS_FOR,
        )
        return _receive_page(db, login, access, shown, status=error.status)
    # A delivery of several lines is taken back line by line, in the list of entries.
    key = saved.key if len(entry.lines) == 1 else ""
    return after(f"/h/{access.household_id}/shelf", "delivery", key)


def _rows_filled(values: dict[str, str]) -> list[int]:
    reader = FormReader(values)
    fields = ("units", "lot", "expires_on")
    return [
        n
        for n in range(1, DELIVERY_ROWS + 1)
        if any(reader.text(f"lines[{n}].{name}") for name in fields)
    ]


def _delivery_entry(values: dict[str, str], rows: list[int], now: datetime) -> DeliveryEntry:
    reader = FormReader(values)
    day = reader.day("day")
    lines = [
        DeliveryLine(
            item_code=reader.text(f"lines[{n}].item"),
            units=reader.whole(f"lines[{n}].units", unit="units", default=1),
            lot=reader.text(f"lines[{n}].lot"),
            expires_on=reader.optional_day(f"lines[{n}].expires_on"),
        )
        for n in rows
    ]
    if not lines:
        reader.fault("lines[1].units", "write how many came")
    reader.refuse()
    assert day is not None
    return DeliveryEntry(
        received_at=_moment_on(day, now),
        lines=tuple(lines),
        order_id=reader.text("order") or None,
        is_complete=reader.text("complete") == "yes",
    )


def _receive_page(
    db: DbSession, login: Login, access: HouseholdAccess, form: Form, status: int = 200
) -> Response:
    record = queries.household_record(db, access)
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "items": item_choices(record),
        "orders": [("", "No order"), *open_orders(record)],
        "rows": range(1, DELIVERY_ROWS + 1),
        "more_open": any(form.value(f"lines[{n}].units") for n in range(3, DELIVERY_ROWS + 1)),
    }
    return render("receive.html", context, login=login, status=status)
