"""The shelf: what is there by lot, counting, deliveries, losses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time

from fastapi import APIRouter
from starlette.responses import Response

from app import queries, wording
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
from app.forms import Form, FormReader, texts
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
from app.writing import Request
from planner.household import Household
from planner.ledger import Count, LedgerEntry, Recall, Receipt, Reversal, Waste
from planner.stock import ShelfLot, shelf_on

router = APIRouter(include_in_schema=False)

DELIVERY_ROWS = 4
RECENT_ENTRIES = 20
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


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLine:
    """One lot as shown."""

    lot: str
    use_by: str
    units: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLine:
    """One item as shown: what may be used, and everything told apart from it."""

    code: str
    name: str
    usable: str
    notes: tuple[str, ...]
    lots: tuple[LotLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryLine:
    """One entry of the shelf's record as shown."""

    key: str
    day: str
    what: str
    by: str
    taken_back: bool


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
    names = wording.names_of(record)
    shelf = shelf_on(record, now.date())
    items = []
    for one in plan.on_hand:
        kind = names.kinds[one.item_code]
        notes = (
            (one.expiring_before_use, "will probably pass their use-by date first"),
            (one.expired, "past the use-by date – do not use"),
            (one.recalled, "recalled – do not use"),
            (one.in_transit, "on the way, not counted yet"),
        )
        items.append(
            ItemLine(
                code=one.item_code,
                name=names.items[one.item_code],
                usable=wording.units_text(one.usable, kind),
                notes=tuple(f"{wording.units_text(n, kind)} {text}" for n, text in notes if n),
                lots=tuple(
                    _lot_line(lot, shelf_day=now, units=wording.units_text(lot.units, kind))
                    for lot in shelf.lots
                    if lot.item_code == one.item_code
                ),
            )
        )
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "told": told_of(done, entry),
        "may_record": access.may(Permission.RECORD),
        "items": items,
        "entries": _entry_lines(record, queries.recorded_by(db, access), names),
        "open_orders": [
            (one.id, _order_name(record, one.id)) for one in record.orders if one.is_open
        ],
    }
    return render("shelf.html", context, login=login)


def _lot_line(lot: ShelfLot, *, shelf_day: datetime, units: str) -> LotLine:
    day = shelf_day.date()
    state = "usable"
    if lot.recalled:
        state = "recalled – do not use"
    elif lot.is_expired(day):
        state = "past its date – do not use"
    use_by = "not noted" if lot.expires_on is None else wording.day_text(lot.expires_on, today=day)
    return LotLine(lot=lot.lot or "not noted", use_by=use_by, units=units, state=state)


def _entry_lines(
    record: Household, authors: dict[str, str], names: wording.Names
) -> list[EntryLine]:
    gone = {one.reverses_id for one in record.ledger if isinstance(one, Reversal)}
    shown = [one for one in record.ledger if not isinstance(one, Reversal)]
    shown.sort(key=lambda one: (one.at, one.id), reverse=True)
    return [
        EntryLine(
            key=one.id,
            day=wording.day_text(one.at.date()),
            what=_what(one, names),
            by=authors.get(one.id, ""),
            taken_back=one.id in gone,
        )
        for one in shown[:RECENT_ENTRIES]
    ]


def _what(entry: LedgerEntry, names: wording.Names) -> str:
    match entry:
        case Receipt():
            lot = f", lot {entry.lot}" if entry.lot else ""
            return f"Received {_units(entry.item_code, entry.units, names)}{lot}"
        case Count():
            return f"Counted {_units(entry.item_code, entry.units, names)}"
        case Waste():
            return f"Thrown away {_units(entry.item_code, entry.units, names)}: {entry.reason}"
        case Recall():
            return f"Recalled: {names.items.get(entry.item_code, '')}, lot {entry.lot}"
        case _:
            return ""


def _units(code: str, units: int, names: wording.Names) -> str:
    return f"{wording.units_text(units, names.kinds[code])} ({names.items[code]})"


def _order_name(record: Household, key: str) -> str:
    order = next(one for one in record.orders if one.id == key)
    boxes = wording.count_text(sum(line.boxes for line in order.lines), "boxes")
    return f"{boxes} ordered on {wording.day_text(order.placed_at.date())}"


def _items(record: Household) -> list[tuple[str, str]]:
    return [(one.code, one.name) for one in record.items]


@router.get("/h/{household}/shelf/count")
def show_count(
    db: DbSession, login: SignedIn, access: RecordedHousehold, item: str = ""
) -> Response:
    """The form to count one item."""
    return _count_page(db, login, access, Form(values={"item": item}))


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
        moment = now.replace(second=0, microsecond=0)
        saved = count_item(request, item_code=reader.text("item"), units=units, at=moment)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS)
        return _count_page(db, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "count", saved.key)


def _count_page(
    db: DbSession, login: Login, access: HouseholdAccess, form: Form, status: int = 200
) -> Response:
    record = queries.household_record(db, access)
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "items": _items(record),
    }
    return render("count.html", context, login=login, status=status)


@router.get("/h/{household}/shelf/waste")
def show_waste(db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now) -> Response:
    """The form for goods thrown away outside a session."""
    return _waste_page(
        db, login, access, Form(values={"day": now.date().isoformat(), "units": "1"})
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
        return _waste_page(db, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "waste", saved.key)


def _moment_on(day: object, now: datetime) -> datetime:
    """Now for today, noon for any other day."""
    moment = now.replace(second=0, microsecond=0)
    return moment if day == now.date() else datetime.combine(day, time(12, 0))  # type: ignore[arg-type]


def _waste_page(
    db: DbSession, login: Login, access: HouseholdAccess, form: Form, status: int = 200
) -> Response:
    record = queries.household_record(db, access)
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "items": _items(record),
    }
    return render("waste.html", context, login=login, status=status)


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
    try:
        entry = _delivery_entry(values, now)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        receive_delivery(request, entry)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS, stands_for=_STANDS_FOR)
        return _receive_page(db, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "delivery")


def _delivery_entry(values: dict[str, str], now: datetime) -> DeliveryEntry:
    reader = FormReader(values)
    day = reader.day("day")
    lines: list[DeliveryLine] = []
    for n in range(1, DELIVERY_ROWS + 1):
        place = f"lines[{n}]"
        if not reader.text(f"{place}.units"):
            continue
        use_by = f"{place}.expires_on"
        lines.append(
            DeliveryLine(
                item_code=reader.text(f"{place}.item"),
                units=reader.whole(f"{place}.units", unit="units", default=1),
                lot=reader.text(f"{place}.lot"),
                expires_on=reader.day(use_by) if reader.text(use_by) else None,
            )
        )
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
    orders = [(one.id, _order_name(record, one.id)) for one in record.orders if one.is_open]
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "items": _items(record),
        "orders": [("", "No order"), *orders],
        "rows": range(1, DELIVERY_ROWS + 1),
        "more_open": any(form.value(f"lines[{n}].units") for n in range(3, DELIVERY_ROWS + 1)),
    }
    return render("receive.html", context, login=login, status=status)
