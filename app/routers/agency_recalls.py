"""A lot that was called back, for all households of an agency at once."""

# The path's `{agency}` is read by the access dependency.

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter
from starlette.responses import Response

from app import clock, wording
from app.access import AgencyAccess
from app.deps import CheckedForm, DbSession, Login, SignedIn, ViewedAgency
from app.errors import InvalidInput, NotFound
from app.forms import Form, texts
from app.services_recalls import (
    FoundItem,
    find_lot,
    marked_recalls,
    recall_for_all,
    take_recall_back,
)
from app.views import after, agency_places, render, told_of
from app.views_agency import FoundShown, found_shown, recalls_shown

router = APIRouter(include_in_schema=False)

LABELS = {"lot": "Lot", "items": "The items"}


@router.get("/agency/{agency}/recalls")
def show_recalls(db: DbSession, login: SignedIn, access: ViewedAgency, done: str = "") -> Response:
    """The form for a lot, and what was marked before."""
    return _page(db, login, access, Form(), done=done)


@router.post("/agency/{agency}/recalls")
def do_recall(db: DbSession, login: SignedIn, access: ViewedAgency, form: CheckedForm) -> Response:
    """Look who has had the lot; once that was seen and confirmed, mark it for all of them."""
    values = texts(form)
    lot = values.get("lot", "")
    chosen = [value for value in form.getlist("items") if isinstance(value, str)]
    found: tuple[FoundItem, ...] = ()
    try:
        found = find_lot(db, access, lot)
        if values.get("action") != "mark":
            return _page(db, login, access, Form(values=values), found=found)
        recall_for_all(
            db,
            login.account,
            access,
            lot=lot,
            item_codes=chosen,
            batch=values.get("submission", ""),
        )
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=LABELS)
        return _page(db, login, access, shown, found=found, status=error.status)
    return after(f"/agency/{access.agency_id}/recalls", "recalled-for-all")


@router.post("/agency/{agency}/recalls/undo")
def undo_recall(
    db: DbSession, login: SignedIn, access: ViewedAgency, form: CheckedForm
) -> Response:
    """Take a recall back in all households."""
    page = f"/agency/{access.agency_id}/recalls"
    try:
        take_recall_back(db, login.account, access, texts(form).get("batch", ""))
    except NotFound:
        return after(page, "already")
    return after(page, "recall-undone")


def _page(
    db: DbSession,
    login: Login,
    access: AgencyAccess,
    form: Form,
    *,
    found: Sequence[FoundItem] = (),
    status: int = 200,
    done: str = "",
) -> Response:
    shown: tuple[FoundShown, ...] = found_shown(found)
    context = {
        "places": agency_places(access.agency_id, "Recalls"),
        "agency": access.agency_name,
        "root": f"/agency/{access.agency_id}/recalls",
        "today": wording.day_text(clock.today_in(access.time_zone)),
        "told": told_of(done),
        "form": form,
        "lot": form.value("lot").strip(),
        "found": shown,
        "recalls": recalls_shown(marked_recalls(db, access), access.time_zone),
    }
    return render("recalls.html", context, login=login, status=status)
