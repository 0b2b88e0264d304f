"""The settings of a household: what holds, what is coming, the history, and taking back."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app import queries
from app.access import Permission
from app.changes_rows import noted_changes
from app.convert import read_parts
from app.deps import CheckedForm, DbSession, Now, RecordedHousehold, SignedIn, ViewedHousehold
from app.errors import InvalidInput
from app.forms import texts
from app.planning import plan_for
from app.services_settings import take_back
from app.views import after, household_places, render
from app.views_settings import cards_of, history_lines, told_of_change
from app.writing import Request

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/settings")
def show_settings(
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    now: Now,
    done: str = "",
    entry: str = "",
) -> Response:
    """Everything that is set for a household."""
    today = now.date()
    record = queries.household_record(db, access)
    parts = read_parts(db, access.household_id, today)
    noted = noted_changes(db, access.household_id)
    found = next((one for one in noted if one.change.key == entry), None)
    plan = plan_for(db, access.household_id, now).plan
    root = f"/h/{access.household_id}/settings"
    context = {
        "places": household_places(access, "Settings"),
        "household_id": access.household_id,
        "told": told_of_change(done, found, plan, today),
        "may_record": access.may(Permission.RECORD),
        "cards": cards_of(record, parts, noted, root, today),
        "history": history_lines(noted, record, today),
    }
    return render("settings.html", context, login=login)


@router.post("/h/{household}/settings/undo")
def do_take_back(db: DbSession, access: RecordedHousehold, now: Now, form: CheckedForm) -> Response:
    """Take back a change of the settings."""
    values = texts(form)
    page = f"/h/{access.household_id}/settings"
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    try:
        take_back(request, values.get("entry", ""))
    except InvalidInput:
        return after(page, "stays")
    return after(page, "undone")
