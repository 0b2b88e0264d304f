"""One household: the patient's page, recording a session, the list of sessions, undo."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from app import queries, wording
from app.access import HouseholdAccess, Permission
from app.chart import draw
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
from app.services import BottleEntry, SessionEntry, record_session, undo
from app.views import Told, household_places, render, sign_of
from app.writing import Request
from planner.errors import Fault
from planner.household import Household
from planner.regimen import regimen_on
from planner.results import Plan
from planner.sessions import LossReason, Session, StopReason

router = APIRouter(include_in_schema=False)

BOTTLE_ROWS = 6
STOP_CHOICES = (
    (StopReason.RAN_DRY.value, "No more fluid came"),
    (StopReason.LIMIT_REACHED.value, "The limit in my plan was reached"),
    (StopReason.BOTTLE_FULL.value, "The bottle was full"),
    (StopReason.PAIN.value, "Pain, coughing or feeling unwell"),
    (StopReason.NO_FURTHER_BOTTLE.value, "There was no other bottle"),
    (StopReason.NOT_SAID.value, "I do not know"),
)
LOSS_CHOICES = (
    ("", "Good"),
    (LossReason.VACUUM_LOST.value, "Lost: no vacuum"),
    (LossReason.SEPARATED.value, "Lost: came apart"),
    (LossReason.DROPPED.value, "Lost: dropped"),
    (LossReason.OTHER.value, "Lost: something else"),
)
_DONE = {
    "session": "Your session is written down.",
    "undone": "That entry was taken back.",
    "count": "Your count is written down.",
    "waste": "The loss is written down.",
    "delivery": "The delivery is on your shelf now.",
    "ordered": "Your order is written down. Now place it with your supplier.",
    "cancelled": "The order is marked as cancelled. Tell your supplier, too.",
}
_KEY = re.compile(r"[A-Za-z0-9.:_-]{1,64}")
_SESSION_LABELS = {
    "day": "Day",
    "time": "Time",
    "started_at": "Day and time",
    "catheter": "Catheter",
    "stop_reason": "Why it ended",
    "bottles": "Bottles",
    "bottles[].volume_ml": "Volume in bottle {n}",
    "bottles[].loss": "State of bottle {n}",
    "bottles[].item": "Kind of bottle {n}",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLine:
    """One recorded session in a list."""

    key: str
    day: str
    time: str
    catheter: str
    volume: str
    bottles: str
    ended: str
    taken_back: bool
    by: str


def told_of(done: str, entry: str, more: tuple[str, ...] = ()) -> Told | None:
    """What the page before has done; codes only, nothing personal in the address."""
    text = _DONE.get(done)
    if text is None:
        return None
    key = entry if _KEY.fullmatch(entry) else ""
    return Told(text=text, more=more, undo_id=key)


def after(access: HouseholdAccess, page: str, done: str, entry: str = "") -> Response:
    """Lead to a page that says what was done."""
    tail = f"&entry={entry}" if entry else ""
    return RedirectResponse(f"/h/{access.household_id}{page}?done={done}{tail}", status_code=303)


@router.get("/h/{household}")
def overview(
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    now: Now,
    done: str = "",
    entry: str = "",
) -> Response:
    """The patient's page: how long supplies last, how sure that is, what comes next."""
    record = queries.household_record(db, access)
    plan = plan_for(db, access.household_id, now).plan
    names = wording.names_of(record)
    context = {
        "places": household_places(access, "Overview"),
        "household_id": access.household_id,
        "told": told_of(done, entry, _above_limit(record, entry) if done == "session" else ()),
        "may_record": access.may(Permission.RECORD),
        "sign": sign_of(plan.urgency),
        "headline": wording.headline(plan),
        "lasts": wording.lasts_text(plan),
        "sure": wording.sure_text(plan),
        "with_coming": wording.with_coming_text(plan),
        "delivery": wording.delivery_text(plan),
        "steps": wording.next_steps(plan, names),
        "calls": wording.call_texts(plan, names),
        "reasons": _further_reasons(plan, names),
        "curves": [draw(plan, shelf) for shelf in plan.shelves],
        "shelf_names": [_shelf_name(shelf.kit_code, names) for shelf in plan.shelves],
        "stock": [
            (names.items[one.item_code], wording.units_text(one.usable, names.kinds[one.item_code]))
            for one in plan.on_hand
        ],
        "last": _last_session(record),
    }
    return render("overview.html", context, login=login)


def _further_reasons(plan: Plan, names: wording.Names) -> tuple[str, ...]:
    """Remarks beyond those that the next steps say already."""
    said = ("order-by", "nothing-to-order")
    return tuple(
        wording.reason_text(reason, names, today=plan.as_of)
        for reason in plan.reasons
        if reason.code.value not in said
    )


def _shelf_name(kit_code: str, names: wording.Names) -> str:
    return names.items.get(kit_code, kit_code)


def _last_session(record: Household) -> str:
    sessions = record.valid_sessions
    if not sessions:
        return ""
    last = sessions[-1]
    return f"{wording.day_text(last.drained_on)}, {last.volume_ml:,} mL"


def _above_limit(record: Household, key: str) -> tuple[str, ...]:
    """A caution, never a refusal, when a session went above the limit in the plan."""
    session = next((one for one in record.sessions if one.id == key), None)
    if session is None:
        return ()
    regimen = regimen_on(record.catheter(session.catheter_id).regimens, session.drained_on)
    limit = regimen.session_limit_ml if regimen else None
    if limit is None or session.volume_ml <= limit:
        return ()
    team = wording.care_team_text(wording.names_of(record))
    return (
        f"It was {session.volume_ml:,} mL. The limit in your plan is {limit:,} mL. Tell {team}.",
    )


@router.get("/h/{household}/sessions/new")
def show_record(db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now) -> Response:
    """The form to record a session."""
    values = {
        "day": now.date().isoformat(),
        "time": f"{now:%H:%M}",
        "stop_reason": StopReason.RAN_DRY.value,
    }
    return _record_page(db, login, access, Form(values=values))


@router.post("/h/{household}/sessions/new")
def do_record(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Record a session."""
    values = texts(form)
    try:
        entry = _session_entry(values)
        request = Request(db=db, access=access, now=now, submission=values.get("submission"))
        saved = record_session(request, entry)
    except InvalidInput as error:
        stands_for = {"started_at": "day"}
        shown = Form(
            values=values, problems=error.faults, labels=_SESSION_LABELS, stands_for=stands_for
        )
        return _record_page(db, login, access, shown, status=error.status)
    return after(access, "", "session", saved.key)


def _session_entry(values: dict[str, str]) -> SessionEntry:
    reader = FormReader(values)
    started_at = reader.moment("day", "time")
    bottles: list[BottleEntry] = []
    for n in range(1, BOTTLE_ROWS + 1):
        volume, loss = f"bottles[{n}].volume_ml", reader.text(f"bottles[{n}].loss")
        if not reader.text(volume) and not loss:
            continue
        volume_ml = reader.whole(volume, unit="mL") if reader.text(volume) else 0
        bottles.append(BottleEntry(volume_ml=volume_ml, loss=loss or None))
    if not bottles:
        fix = "write how much came out; write 0 when nothing came"
        reader.faults.append(Fault(field="volume_ml", value="empty", fix=fix, place="bottles[1]"))
    reader.refuse()
    assert started_at is not None
    return SessionEntry(
        started_at=started_at,
        catheter_id=reader.text("catheter"),
        bottles=tuple(bottles),
        stop_reason=reader.text("stop_reason") or StopReason.NOT_SAID.value,
    )


def _record_page(
    db: DbSession, login: Login, access: HouseholdAccess, form: Form, status: int = 200
) -> Response:
    record = queries.household_record(db, access)
    catheters = [(one.id, one.label) for one in record.catheters]
    limits = [
        f"{one.label}: {regimen.session_limit_ml:,} mL"
        if len(catheters) > 1
        else f"{regimen.session_limit_ml:,} mL"
        for one in record.catheters
        for regimen in one.regimens[-1:]
        if regimen.session_limit_ml
    ]
    context = {
        "places": household_places(access, "Record"),
        "household_id": access.household_id,
        "form": form,
        "catheters": catheters,
        "rows": range(1, BOTTLE_ROWS + 1),
        "more_open": any(form.value(f"bottles[{n}].volume_ml") for n in range(3, BOTTLE_ROWS + 1)),
        "stop_choices": STOP_CHOICES,
        "loss_choices": LOSS_CHOICES,
        "limits": limits,
    }
    return render("record.html", context, login=login, status=status)


@router.get("/h/{household}/sessions")
def list_sessions(
    db: DbSession, login: SignedIn, access: ViewedHousehold, page: int = 1
) -> Response:
    """Recorded sessions, the latest first."""
    record = queries.household_record(db, access)
    authors = queries.recorded_by(db, access)
    valid = {one.id for one in record.valid_sessions}
    ordered = sorted(record.sessions, key=lambda one: (one.started_at, one.id), reverse=True)
    size = 30
    page = max(page, 1)
    shown = ordered[(page - 1) * size : page * size]
    context = {
        "places": household_places(access, "Sessions"),
        "household_id": access.household_id,
        "may_record": access.may(Permission.RECORD),
        "lines": [_session_line(record, one, valid, authors) for one in shown],
        "page": page,
        "pages": max(-(-len(ordered) // size), 1),
        "total": len(ordered),
        "several": len(record.catheters) > 1,
    }
    return render("sessions.html", context, login=login)


def _session_line(
    record: Household, session: Session, valid: set[str], authors: dict[str, str]
) -> SessionLine:
    lost = session.bottles_lost
    bottles = wording.count_text(len(session.bottles), "bottle").replace("loose ", "")
    return SessionLine(
        key=session.id,
        day=wording.day_text(session.drained_on),
        time=f"{session.started_at:%H:%M}",
        catheter=record.catheter(session.catheter_id).label,
        volume=f"{session.volume_ml:,} mL",
        bottles=bottles + (f", {lost} lost" if lost else ""),
        ended=dict(STOP_CHOICES)[session.stop_reason.value],
        taken_back=session.id not in valid,
        by=authors.get(session.id, ""),
    )


@router.post("/h/{household}/undo")
def do_undo(db: DbSession, access: RecordedHousehold, now: Now, form: CheckedForm) -> Response:
    """Take back a session or an entry of the shelf."""
    values = texts(form)
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    undo(request, values.get("entry", ""))
    page = "/shelf" if values.get("page") == "shelf" else ""
    return after(access, page, "undone")
