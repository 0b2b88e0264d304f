"""Receiving a delivery."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter
from starlette.responses import Response

from app import queries, views_carton
from app.access import HouseholdAccess
from app.deps import CheckedForm, DbSession, Login, Now, RecordedHousehold, SignedIn
from app.errors import InvalidInput
from app.forms import Form, FormReader, renumbered, texts
from app.services import DeliveryEntry, DeliveryLine, WrongLine, receive_delivery
from app.views import after, household_places, render, told_of
from app.views_carton import Reading, ask_again, read_code
from app.views_order_life import units_to_come
from app.views_shelf import item_choices, open_orders
from app.views_shelf_forms import LABELS, QUESTIONS, STANDS_FOR, entry_moment, standing_count
from app.writing import Request
from planner.household import Household
from planner.ledger import Recall

router = APIRouter(include_in_schema=False)

DELIVERY_ROWS = 6
WRONG_ROWS = 2
_LINE_FIELDS = ("units", "lot", "expires_on")
_WRONG_FIELDS = ("what", "units", "lot")


@router.get("/h/{household}/shelf/receive")
def show_receive(
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    order: str = "",
    before: str = "",
    done: str = "",
) -> Response:
    """The form for a delivery; an open order fills it in, a count may lead to it."""
    record = queries.household_record(db, access)
    values = {"day": now.date().isoformat(), "order": order, "complete": "yes", "before": before}
    wanted = next((one for one in record.orders if one.id == order and one.is_open), None)
    if wanted is not None:
        for n, (code, units) in enumerate(units_to_come(record, wanted, now.date()).items(), 1):
            values |= {f"lines[{n}].item": code, f"lines[{n}].units": str(units)}
    return _receive_page(record, login, access, Form(values=values), done=done)


@router.post("/h/{household}/shelf/receive")
def do_receive(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Put a delivery on the shelf."""
    values = texts(form)
    record = queries.household_record(db, access)
    if values.get("action") in ("read", "again"):
        return _read_page(db, login, access, now, record, values)
    rows = _rows_filled(values, "lines", DELIVERY_ROWS, _LINE_FIELDS)
    wrong_rows = _rows_filled(values, "wrong", WRONG_ROWS, _WRONG_FIELDS)
    try:
        entry = _delivery_entry(record, values, rows, wrong_rows, now)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = receive_delivery(request, entry)
    except InvalidInput as error:
        faults = renumbered(error.faults, "lines", rows)
        shown = Form(
            values=values,
            problems=renumbered(faults, "wrong", wrong_rows),
            labels=LABELS,
            stands_for=STANDS_FOR,
        )
        return _receive_page(record, login, access, shown, status=error.status)
    done = "delivery-recalled" if _is_recalled(record, entry) else "delivery"
    return after(f"/h/{access.household_id}/shelf", done, saved.key)


def _read_page(
    db: DbSession,
    login: Login,
    access: HouseholdAccess,
    now: datetime,
    record: Household,
    values: dict[str, str],
) -> Response:
    """The form with the code of a box read into it; a form that only reads may be sent again."""
    request = Request(db=db, access=access, now=now)
    try:
        if values["action"] == "again":
            reading = ask_again(request, values)
        else:
            reading = read_code(request, record, values, DELIVERY_ROWS)
    except InvalidInput as error:
        shown = Form(
            values={**values, "code": values.get("code", "").replace("\x1d", "<GS>")},
            problems=error.faults,
            labels=views_carton.LABELS,
            stands_for=views_carton.STANDS_FOR,
        )
        asks = bool(values.get("code_item"))
        return _receive_page(record, login, access, shown, status=error.status, asks=asks)
    return _receive_page(
        record, login, access, Form(values=reading.values), reading=reading, asks=reading.asks
    )


def _is_recalled(record: Household, entry: DeliveryEntry) -> bool:
    recalls = (one for one in record.valid_entries if isinstance(one, Recall))
    recalled = {(one.item_code, one.lot) for one in recalls}
    return any((line.item_code, line.lot) in recalled for line in entry.lines)


def _rows_filled(
    values: dict[str, str], place: str, rows: int, fields: tuple[str, ...]
) -> list[int]:
    reader = FormReader(values)
    return [
        n for n in range(1, rows + 1) if any(reader.text(f"{place}[{n}].{name}") for name in fields)
    ]


def _delivery_entry(
    record: Household,
    values: dict[str, str],
    rows: list[int],
    wrong_rows: list[int],
    now: datetime,
) -> DeliveryEntry:
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
    wrong = [
        WrongLine(
            what=reader.text(f"wrong[{n}].what"),
            units=reader.whole(f"wrong[{n}].units", unit="units", default=1),
            lot=reader.text(f"wrong[{n}].lot"),
        )
        for n in wrong_rows
    ]
    if not lines and not wrong:
        reader.fault("lines[1].units", "write how many came")
    reader.refuse()
    assert day is not None
    return DeliveryEntry(
        received_at=entry_moment(day, now, standing_count(record, reader.text("before"))),
        lines=tuple(lines),
        wrong=tuple(wrong),
        order_id=reader.text("order") or None,
        is_complete=reader.text("complete") == "yes",
        came_twice=reader.text("twice") == "yes",
        came_in_excess=reader.text("excess") == "yes",
    )


def _receive_page(
    record: Household,
    login: Login,
    access: HouseholdAccess,
    form: Form,
    *,
    status: int = 200,
    done: str = "",
    reading: Reading | None = None,
    asks: bool = False,
) -> Response:
    before = form.value("before")
    awaited = open_orders(record)
    wrong_rows = range(1, WRONG_ROWS + 1)
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "told": told_of(done, before, page="shelf") if before else None,
        "form": form,
        "reading": reading,
        "asks": asks,
        "items": item_choices(record),
        "orders": [("", "No order"), *awaited] if awaited or form.faults_at("order") else [],
        "rows": range(1, DELIVERY_ROWS + 1),
        "more_open": any(form.value(f"lines[{n}].units") for n in range(3, DELIVERY_ROWS + 1)),
        "wrong_rows": wrong_rows,
        "wrong_open": bool(_rows_filled(dict(form.values), "wrong", WRONG_ROWS, _WRONG_FIELDS)),
        "questions": [
            (name, text)
            for name, text in QUESTIONS
            if form.faults_at(name) or form.value(name) == "yes"
        ],
    }
    return render("receive.html", context, login=login, status=status)
