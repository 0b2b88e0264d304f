"""Recording a session, and the list of sessions."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from datetime import datetime

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
from app.services import BottleEntry, SessionEntry, record_session
from app.views import Told, after, household_places, render, told_of
from app.views_session import (
    BOTTLE_ROWS,
    LABELS,
    LOSS_CHOICES,
    STOP_CHOICES,
    catheters_in_use,
    kit_question,
    limit_texts,
    session_lines,
)
from app.writing import Request
from planner.sessions import StopReason

router = APIRouter(include_in_schema=False)

_PAGE_SIZE = 30


@router.get("/h/{household}/sessions/new")
def show_record(
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    done: str = "",
    before: str = "",
) -> Response:
    """The form to record a session.

    One that a count brought to light lies before it, so that its day and time are left open.
    """
    values = {} if before else {"day": now.date().isoformat(), "time": f"{now:%H:%M}"}
    asked = None if before else kit_question(queries.household_record(db, access), now)
    if asked is not None:
        values["bottles[1].item"] = asked.preset
    told = told_of(done, before, page="shelf") if before else None
    return _record_page(db, login, access, Form(values=values), now, told=told)


@router.post("/h/{household}/sessions/new")
def do_record(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Record a session."""
    values = texts(form)
    rows = _rows_filled(values)
    try:
        entry = _session_entry(values, rows)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = record_session(request, entry)
    except InvalidInput as error:
        shown = Form(
            values=values,
            problems=renumbered(error.faults, "bottles", rows),
            labels=LABELS,
            stands_for={"started_at": "day", "bottles": "bottles[1].volume_ml"},
        )
        return _record_page(db, login, access, shown, now, status=error.status)
    return after(f"/h/{access.household_id}", "session", saved.key)


def _rows_filled(values: dict[str, str]) -> list[int]:
    reader = FormReader(values)
    return [
        n
        for n in range(1, BOTTLE_ROWS + 1)
        if reader.text(f"bottles[{n}].volume_ml")
        or reader.text(f"bottles[{n}].loss")
        # The first has its kit chosen beforehand, which says nothing.
        or (n > 1 and reader.text(f"bottles[{n}].item"))
    ]


def _session_entry(values: dict[str, str], rows: list[int]) -> SessionEntry:
    reader = FormReader(values)
    started_at = reader.moment("day", "time")
    if not reader.text("catheter"):
        reader.fault("catheter", "choose which one this session was for")
    bottles = tuple(_bottle(reader, n) for n in rows)
    if not bottles:
        reader.fault("bottles[1].volume_ml", "write how much came out; write 0 for nothing")
    reader.refuse()
    assert started_at is not None
    return SessionEntry(
        started_at=started_at,
        catheter_id=reader.text("catheter"),
        bottles=bottles,
        stop_reason=reader.text("stop_reason") or StopReason.NOT_SAID.value,
    )


def _bottle(reader: FormReader, n: int) -> BottleEntry:
    volume, loss = f"bottles[{n}].volume_ml", reader.text(f"bottles[{n}].loss")
    # A lost bottle may have caught nothing; a good one has a volume.
    is_empty = bool(loss) and not reader.text(volume)
    volume_ml = 0 if is_empty else reader.whole(volume, unit="mL", example=450)
    item_code = reader.text(f"bottles[{n}].item") or None
    return BottleEntry(volume_ml=volume_ml, item_code=item_code, loss=loss or None)


def _record_page(
    db: DbSession,
    login: Login,
    access: HouseholdAccess,
    form: Form,
    now: datetime,
    status: int = 200,
    told: Told | None = None,
) -> Response:
    record = queries.household_record(db, access)
    context = {
        "places": household_places(access, "Record"),
        "household_id": access.household_id,
        "told": told,
        "form": form,
        "catheters": [(one.id, one.label) for one in catheters_in_use(record, now.date())],
        "kits": kit_question(record, now),
        "rows": range(1, BOTTLE_ROWS + 1),
        "stop_choices": STOP_CHOICES,
        "loss_choices": LOSS_CHOICES,
        "limits": limit_texts(record),
    }
    return render("record.html", context, login=login, status=status)


@router.get("/h/{household}/sessions")
def list_sessions(
    db: DbSession, login: SignedIn, access: ViewedHousehold, page: int = 1, done: str = ""
) -> Response:
    """Recorded sessions, the latest first."""
    record = queries.household_record(db, access)
    ordered = sorted(record.sessions, key=lambda one: (one.started_at, one.id), reverse=True)
    pages = max(-(-len(ordered) // _PAGE_SIZE), 1)
    page = min(max(page, 1), pages)
    shown = ordered[(page - 1) * _PAGE_SIZE : page * _PAGE_SIZE]
    context = {
        "places": household_places(access, "Sessions"),
        "household_id": access.household_id,
        "told": told_of(done),
        "may_record": access.may(Permission.RECORD),
        "lines": session_lines(record, shown, queries.recorded_by(db, access)),
        "page": page,
        "pages": pages,
        "total": len(ordered),
        "several": len(record.catheters) > 1,
    }
    return render("sessions.html", context, login=login)
