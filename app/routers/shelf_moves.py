"""Goods that leave the shelf or go elsewhere: losses, moves, recalls, wrong goods going back."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app import queries
from app.access import HouseholdAccess
from app.deps import CheckedForm, DbSession, Login, Now, RecordedHousehold, SignedIn
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.services import (
    MoveEntry,
    WasteEntry,
    move_goods,
    recall_lot,
    report_waste,
    send_wrong_back,
)
from app.views import after, household_places, render, told_of
from app.views_shelf import item_choices
from app.views_shelf_forms import (
    LABELS,
    MOVE_CHOICES,
    STANDS_FOR,
    apart,
    entry_moment,
    standing_count,
)
from app.writing import Request
from planner.household import Household

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/shelf/waste")
def show_waste(
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    before: str = "",
    done: str = "",
) -> Response:
    """The form for goods thrown away outside a session; a count may lead to it."""
    record = queries.household_record(db, access)
    values = {"day": now.date().isoformat(), "units": "1", **_from_count(record, before)}
    return _item_page("waste.html", record, login, access, Form(values=values), done=done)


@router.post("/h/{household}/shelf/waste")
def do_waste(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down goods thrown away."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        reader = FormReader(values)
        day, units = reader.day("day"), reader.whole("units", unit="units", default=1)
        reader.refuse()
        assert day is not None
        entry = WasteEntry(
            at=entry_moment(day, now, standing_count(record, reader.text("before"))),
            item_code=reader.text("item"),
            units=units,
            reason=reader.text("reason"),
            lot=reader.text("lot"),
        )
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = report_waste(request, entry)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=LABELS, stands_for=STANDS_FOR)
        return _item_page("waste.html", record, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "waste", saved.key)


@router.get("/h/{household}/shelf/move")
def show_move(
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    where: str = "",
    item: str = "",
    units: str = "",
    lot: str = "",
    before: str = "",
    done: str = "",
) -> Response:
    """The form for goods that go into the travel bag, come back, or leave for good."""
    record = queries.household_record(db, access)
    values = {"day": now.date().isoformat(), "where": where, "item": item, "units": units}
    values |= {"lot": lot, **_from_count(record, before)}
    return _item_page("move.html", record, login, access, Form(values=values), done=done)


@router.post("/h/{household}/shelf/move")
def do_move(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down goods that go elsewhere."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        reader = FormReader(values)
        day, units = reader.day("day"), reader.whole("units", unit="units", default=1)
        if not reader.text("where"):
            reader.fault("where", "choose what happens with the goods")
        reader.refuse()
        assert day is not None
        entry = MoveEntry(
            at=entry_moment(day, now, standing_count(record, reader.text("before"))),
            item_code=reader.text("item"),
            units=units,
            where=reader.text("where"),
            lot=reader.text("lot"),
        )
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = move_goods(request, entry)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=LABELS, stands_for=STANDS_FOR)
        return _item_page("move.html", record, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "moved", saved.key)


@router.get("/h/{household}/shelf/recall")
def show_recall(
    db: DbSession, login: SignedIn, access: RecordedHousehold, item: str = ""
) -> Response:
    """The form for a lot that was called back."""
    record = queries.household_record(db, access)
    return _item_page("recall.html", record, login, access, Form(values={"item": item}))


@router.post("/h/{household}/shelf/recall")
def do_recall(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Mark a lot as called back."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        reader = FormReader(values)
        saved = recall_lot(request, item_code=reader.text("item"), lot=reader.text("lot"))
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=LABELS)
        return _item_page("recall.html", record, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", "recall", saved.key)


@router.post("/h/{household}/shelf/wrong")
def do_send_wrong_back(
    db: DbSession, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down that goods which came by mistake have left."""
    values = texts(form)
    page = f"/h/{access.household_id}/shelf"
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    try:
        saved = send_wrong_back(request, values.get("entry", ""))
    except InvalidInput:
        return after(page, "wrong-gone")
    return after(page, "wrong-gone", saved.key)


def _from_count(record: Household, before: str) -> dict[str, str]:
    """What a count that differed fills in."""
    count = standing_count(record, before)
    if count is None:
        return {}
    units = apart(record, count)
    return {"before": before, "item": count.item_code, "units": str(units) if units else ""}


def _item_page(
    template: str,
    record: Household,
    login: Login,
    access: HouseholdAccess,
    form: Form,
    *,
    status: int = 200,
    done: str = "",
) -> Response:
    """A form about one item."""
    before = form.value("before")
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "told": told_of(done, before, page="shelf") if before else None,
        "form": form,
        "items": item_choices(record),
        "lots": sorted({getattr(one, "lot", "") for one in record.ledger} - {""}),
        "moves": MOVE_CHOICES,
    }
    return render(template, context, login=login, status=status)
