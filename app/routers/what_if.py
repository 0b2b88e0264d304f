"""What if: a change is supposed, both plans are shown, and nothing is saved until asked."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from urllib.parse import quote

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
from app.errors import InvalidInput, NotFound
from app.forms import Form, texts
from app.supposing import suppose
from app.views import after, household_places, render
from app.views_settings import after_change
from app.views_what_if import (
    HOME_AGAIN,
    KINDS,
    LABELS,
    QUESTIONS,
    answer_shown,
    first_values,
    form_context,
    packing_shown,
)
from app.what_if_forms import Asked, read_question
from app.what_if_saving import MADE_SO, make_so
from app.writing import Request
from planner.household import Household
from planner.what_if import DeliveryLate, Supposition

router = APIRouter(include_in_schema=False)

_NOT_KEPT = ("form_token", "submission")


@router.get("/h/{household}/what-if")
def show_questions(login: SignedIn, access: ViewedHousehold) -> Response:
    """What can be asked."""
    context = {**_place(access), "questions": QUESTIONS}
    return render("what_if.html", context, login=login)


@router.get("/h/{household}/what-if/{question}")
def show_question(
    question: str, db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now
) -> Response:
    """The form of one question."""
    record = queries.household_record(db, access)
    if question not in KINDS:
        raise NotFound
    form = Form(values=first_values(question, record, now.date()))
    return _question_page(question, login, access, form, record, now)


@router.post("/h/{household}/what-if/{question}")
def answer_question(
    question: str,
    db: DbSession,
    login: SignedIn,
    access: ViewedHousehold,
    now: Now,
    form: CheckedForm,
) -> Response:
    """Both plans side by side, with the form below. Nothing is saved."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        asked = _asked(question, values, record, now)
        found = suppose(db, access, record, asked.change, now)
    except InvalidInput as error:
        return _refused(question, login, access, values, error, record, now)
    packing = None
    if asked.packing is not None:
        packing = packing_shown(asked.packing, record, now.date(), asked.spare_days)
    context = {
        **_place(access),
        **form_context(question, Form(values=values), record, now.date()),
        "answer": answer_shown(found, record),
        "packing": packing,
        "kept": _kept(values),
        "made_so": MADE_SO.get(question) if access.may(Permission.RECORD) else None,
        "order_page": _order_page(access, asked.change),
    }
    return render("what_if_answer.html", context, login=login)


@router.post("/h/{household}/what-if/travel/list")
def packing_list(
    db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now, form: CheckedForm
) -> Response:
    """The packing list alone, to print."""
    values = texts(form)
    record = queries.household_record(db, access)
    try:
        asked = _asked("travel", values, record, now)
    except InvalidInput as error:
        return _refused("travel", login, access, values, error, record, now)
    assert asked.packing is not None
    shown = packing_shown(asked.packing, record, now.date(), asked.spare_days)
    return render("packing_list.html", {**_place(access), "packing": shown}, login=login)


@router.post("/h/{household}/what-if/{question}/save")
def save_answer(
    question: str,
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    form: CheckedForm,
) -> Response:
    """Write down what was supposed, because it is so."""
    values = texts(form)
    record = queries.household_record(db, access)
    if question not in MADE_SO:
        raise NotFound
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    try:
        asked = _asked(question, values, record, now)
        suppose(db, access, record, asked.change, now)
        saved = make_so(request, asked.change)
    except InvalidInput as error:
        return _refused(question, login, access, values, error, record, now)
    if MADE_SO[question].is_setting:
        return after_change(access, saved)
    return after(f"/h/{access.household_id}", "waste", saved.key)


def _asked(kind: str, values: Mapping[str, str], record: Household, now: datetime) -> Asked:
    asked = read_question(kind, values, record, now.date())
    if asked is None:
        raise NotFound
    return asked


def _place(access: HouseholdAccess) -> dict[str, object]:
    return {
        "places": household_places(access, "What if"),
        "household_id": access.household_id,
    }


def _order_page(access: HouseholdAccess, change: Supposition) -> str:
    """Where a new day for a late order is written down; empty for other questions."""
    if not isinstance(change, DeliveryLate) or not access.may(Permission.ORDER):
        return ""
    return f"/h/{access.household_id}/orders/{quote(change.order_id)}"


def _kept(values: Mapping[str, str]) -> list[tuple[str, str]]:
    """What was typed, for the forms beside the answer."""
    return [(name, value) for name, value in values.items() if name not in _NOT_KEPT]


def _refused(
    kind: str,
    login: Login,
    access: HouseholdAccess,
    values: Mapping[str, str],
    error: InvalidInput,
    record: Household,
    now: datetime,
) -> Response:
    labels = LABELS | (HOME_AGAIN if kind in ("stay", "travel") else {})
    shown = Form(
        values=values, problems=error.faults, labels=labels, stands_for={"rrule": "weekdays"}
    )
    return _question_page(kind, login, access, shown, record, now, status=error.status)


def _question_page(
    kind: str,
    login: Login,
    access: HouseholdAccess,
    form: Form,
    record: Household,
    now: datetime,
    status: int = 200,
) -> Response:
    context = {**_place(access), **form_context(kind, form, record, now.date())}
    return render("what_if_question.html", context, login=login, status=status)
