"""What was prescribed for a catheter, and times away from home."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter
from starlette.responses import Response

from app import queries
from app import wording_settings as words
from app.access import HouseholdAccess
from app.changes import Subject
from app.convert import read_parts
from app.deps import CheckedForm, DbSession, Login, Now, RecordedHousehold, SignedIn
from app.errors import InvalidInput, NotFound
from app.forms import Form, FormReader, texts
from app.services_settings import remove, set_pause, set_regimen
from app.settings_forms import (
    PATTERN_CHOICES,
    PAUSE_CHOICES,
    PAUSE_LABELS,
    REGIMEN_LABELS,
    flat,
    pause_values,
    read_pause,
    read_regimen,
    regimen_values,
)
from app.views import household_places, render
from app.views_settings import after_change
from app.writing import Request
from planner.household import Catheter

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/settings/regimen")
def show_regimen(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, catheter: str = ""
) -> Response:
    """The form for what was prescribed; it holds the latest regimen."""
    wanted = _catheter(db, access, catheter)
    latest = max(wanted.regimens, key=lambda one: one.starts_on)
    values = regimen_values(latest) | {
        "catheter": wanted.id,
        "starts_on": now.date().isoformat(),
    }
    return _regimen_page(login, access, wanted, Form(values=values, labels=REGIMEN_LABELS))


@router.post("/h/{household}/settings/regimen")
def do_regimen(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down what was prescribed."""
    values = texts(form)
    wanted = _catheter(db, access, values.get("catheter", ""))
    try:
        reader = FormReader(values)
        regimen = read_regimen(reader, reader.day("starts_on"), named=True)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = set_regimen(request, wanted.id, regimen)
    except InvalidInput as error:
        shown = Form(values=values, problems=flat(error.faults), labels=REGIMEN_LABELS)
        return _regimen_page(login, access, wanted, shown, status=error.status)
    return after_change(access, saved)


def _catheter(db: DbSession, access: HouseholdAccess, key: str) -> Catheter:
    catheters = queries.household_record(db, access).catheters
    found = next((one for one in catheters if key in (one.id, "")), None)
    if found is None:
        raise NotFound
    return found


def _regimen_page(
    login: Login, access: HouseholdAccess, wanted: Catheter, form: Form, status: int = 200
) -> Response:
    context = {
        "places": household_places(access, "Settings"),
        "household_id": access.household_id,
        "form": form,
        "catheter": wanted,
        "patterns": PATTERN_CHOICES,
        "weekdays": [(n, words.weekday_text(n)) for n in range(7)],
    }
    return render("settings_regimen.html", context, login=login, status=status)


@router.get("/h/{household}/settings/away")
def show_away(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, pause: str = ""
) -> Response:
    """The form for days away; with a key, for days that are written down already."""
    values = {"starts_on": now.date().isoformat(), "reason": "hospital", "pause": pause}
    if pause:
        known = read_parts(db, access.household_id, now.date()).pauses.get(pause)
        if known is None:
            raise NotFound
        values |= pause_values(known)
    return _away_page(db, login, access, now, Form(values=values, labels=PAUSE_LABELS))


@router.post("/h/{household}/settings/away")
def do_away(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down days away, correct them, end them, or take them out."""
    values = texts(form)
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    key = values.get("pause", "")
    try:
        if values.get("do") == "remove":
            return after_change(access, remove(request, Subject.PAUSE, key))
        if values.get("do") == "home":
            values["ends_on"] = now.date().isoformat()
        saved = set_pause(request, read_pause(values), key)
    except InvalidInput as error:
        shown = Form(values=values, problems=flat(error.faults), labels=PAUSE_LABELS)
        return _away_page(db, login, access, now, shown, status=error.status)
    return after_change(access, saved)


def _away_page(
    db: DbSession,
    login: Login,
    access: HouseholdAccess,
    now: datetime,
    form: Form,
    status: int = 200,
) -> Response:
    catheters = queries.household_record(db, access).catheters
    key = form.value("pause")
    started = form.value("starts_on") < now.date().isoformat()
    context = {
        "places": household_places(access, "Settings"),
        "household_id": access.household_id,
        "form": form,
        "is_new": not key,
        "may_end": bool(key) and started and not form.value("ends_on"),
        "reasons": PAUSE_CHOICES,
        "catheters": [("", "All"), *((one.id, one.label) for one in catheters)],
    }
    return render("settings_away.html", context, login=login, status=status)
