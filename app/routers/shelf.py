"""The shelf: what is there by lot, and counting it."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from datetime import datetime

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
from app.services import count_item
from app.views import after, household_places, render, told_of
from app.views_shelf import (
    entry_lines,
    item_choices,
    item_lines,
    open_orders,
    recall_lines,
    wrong_lines,
)
from app.views_shelf_forms import LABELS, NEXT_PAGES, ShownDifference, difference
from app.writing import Request
from planner.household import Household
from planner.ledger import DifferenceCause

router = APIRouter(include_in_schema=False)


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
    stored = plan_for(db, access.household_id, now)
    record, plan = stored.household, stored.plan
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "told": told_of(done, entry, page="shelf"),
        "may_record": access.may(Permission.RECORD),
        "supplier": wording.supplier_text(wording.names_of(record)),
        "recalls": recall_lines(record, now.date()),
        "wrong": wrong_lines(record, now.date()),
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
    record = queries.household_record(db, access)
    return _count_page(record, login, access, Form(values={"item": item}))


@router.post("/h/{household}/shelf/count")
def do_count(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down a count; one that differs is shown and asked about first."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        reader = FormReader(values)
        if reader.text("step"):
            return _count_page(record, login, access, Form(values=_stepped(reader, values)))
        units = reader.whole("units", unit="units")
        reader.refuse()
        found = _difference(record, reader.text("item"), units, now)
        if found is not None and found.seen != reader.text("seen"):
            return _count_page(record, login, access, Form(values=values), found)
        cause = "" if found is None else reader.text("cause") or DifferenceCause.NOT_KNOWN.value
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = count_item(request, item_code=reader.text("item"), units=units, at=now, cause=cause)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=LABELS)
        return _count_page(record, login, access, shown, status=error.status)
    return _after_count(access, cause, saved.key)


def _stepped(reader: FormReader, values: dict[str, str]) -> dict[str, str]:
    """The form with one unit more or less; nothing is saved. An empty number counts as none."""
    units = reader.whole("units", unit="units") if reader.text("units") else 0
    reader.refuse()
    step = 1 if reader.text("step") == "more" else -1
    return values | {"units": str(max(units + step, 0))}


def _difference(record: Household, code: str, units: int, now: datetime) -> ShownDifference | None:
    """Nothing to ask about an impossible count: that is refused."""
    is_possible = 0 <= units <= 10_000 and code in {one.code for one in record.items}
    return difference(record, code, units, now) if is_possible else None


def _after_count(access: HouseholdAccess, cause: str, key: str) -> Response:
    """The page on which what happened can be written down, or the shelf."""
    page = NEXT_PAGES.get(DifferenceCause(cause)) if cause else None
    root = f"/h/{access.household_id}"
    if page is None:
        return after(f"{root}/shelf", "count", key)
    return after(f"{root}/{page}", "count", key, before=key)


def _count_page(
    record: Household,
    login: Login,
    access: HouseholdAccess,
    form: Form,
    found: ShownDifference | None = None,
    status: int = 200,
) -> Response:
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "items": item_choices(record),
        "difference": found,
    }
    return render("count.html", context, login=login, status=status)
