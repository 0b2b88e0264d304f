"""Goods that leave the shelf or go elsewhere: losses, moves, recalls."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TypedDict

from fastapi import APIRouter
from starlette.responses import Response

from app import queries
from app.access import HouseholdAccess
from app.deps import CheckedForm, DbSession, Login, Now, RecordedHousehold, SignedIn
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.services import (
    MoveEntry,
    Saved,
    WasteEntry,
    move_goods,
    recall_lot,
    report_waste,
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
    request = Request(db=db, access=access, now=now, submission=texts(form).get("submission"))

    def write(reader: FormReader, record: Household) -> Saved:
        goods = _goods(reader, record, now)
        return report_waste(request, WasteEntry(**goods, reason=reader.text("reason")))

    return _written("waste", login, request, texts(form), write)


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
    request = Request(db=db, access=access, now=now, submission=texts(form).get("submission"))

    def write(reader: FormReader, record: Household) -> Saved:
        if not reader.text("where"):
            reader.fault("where", "choose what happens with the goods")
        goods = _goods(reader, record, now)
        return move_goods(request, MoveEntry(**goods, where=reader.text("where")))

    return _written("move", login, request, texts(form), write)


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
    request = Request(db=db, access=access, now=now, submission=texts(form).get("submission"))

    def write(reader: FormReader, _: Household) -> Saved:
        return recall_lot(request, item_code=reader.text("item"), lot=reader.text("lot"))

    return _written("recall", login, request, texts(form), write)


class _Goods(TypedDict):
    """What the forms about units of one item have in common."""

    at: datetime
    item_code: str
    units: int
    lot: str


def _goods(reader: FormReader, record: Household, now: datetime) -> _Goods:
    day, units = reader.day("day"), reader.whole("units", unit="units", default=1)
    reader.refuse()
    assert day is not None
    return {
        "at": entry_moment(day, now, standing_count(record, reader.text("before"))),
        "item_code": reader.text("item"),
        "units": units,
        "lot": reader.text("lot"),
    }


_DONE = {"waste": "waste", "move": "moved", "recall": "recall"}
"""What is said once a form is saved."""


def _written(
    form: str,
    login: Login,
    request: Request,
    values: dict[str, str],
    write: Callable[[FormReader, Household], Saved],
) -> Response:
    """Save a form about one item, or show it again with what is wrong."""
    access = request.access
    record = queries.household_record(request.db, access)
    try:
        saved = write(FormReader(values), record)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=LABELS, stands_for=STANDS_FOR)
        return _item_page(f"{form}.html", record, login, access, shown, status=error.status)
    return after(f"/h/{access.household_id}/shelf", _DONE[form], saved.key)


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
