"""Pages that are made for paper: charts to bring along or fill in, and a sheet for counting."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from fastapi import APIRouter
from starlette.responses import Response

from app import queries, wording
from app.access import HouseholdAccess
from app.deps import CheckedForm, DbSession, Now, SignedIn, ViewedHousehold
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.views import household_places, render
from app.views_paper import (
    BLANK_ROWS,
    LABELS,
    chart_shown,
    count_items,
    read_span,
    shown_unit,
    usual_span,
)
from planner.dates import DateRange

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/paper")
def show_papers(login: SignedIn, access: ViewedHousehold) -> Response:
    """What can be printed."""
    return render("papers.html", _place(access), login=login)


@router.get("/h/{household}/paper/chart")
def show_chart(db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now) -> Response:
    """The chart of the last weeks."""
    record = queries.household_record(db, access)
    span = usual_span(now.date())
    context = {"form": Form(values=_span_values(span)), "chart": chart_shown(record, span)}
    return render("paper_chart.html", _place(access) | context, login=login)


@router.post("/h/{household}/paper/chart")
def show_chart_of_span(
    db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now, form: CheckedForm
) -> Response:
    """The chart of a chosen span; it is asked for by post, so that no address names days."""
    values = texts(form)
    record = queries.household_record(db, access)
    status, problems = 200, InvalidInput(())
    span = usual_span(now.date())
    try:
        span = read_span(FormReader(values), now.date())
    except InvalidInput as error:
        status, problems = error.status, error
    shown = Form(values=values, problems=problems.faults, labels=LABELS)
    context = {"form": shown, "chart": chart_shown(record, span)}
    return render("paper_chart.html", _place(access) | context, login=login, status=status)


@router.get("/h/{household}/paper/blank")
def show_blank_chart(db: DbSession, login: SignedIn, access: ViewedHousehold) -> Response:
    """An empty chart to fill in by hand."""
    record = queries.household_record(db, access)
    context = {
        "rows": range(BLANK_ROWS),
        "several": len(record.catheters) > 1,
        "unit": shown_unit(),
    }
    return render("paper_blank.html", _place(access) | context, login=login)


@router.get("/h/{household}/paper/count")
def show_count_sheet(db: DbSession, login: SignedIn, access: ViewedHousehold, now: Now) -> Response:
    """A sheet for counting the shelf."""
    record = queries.household_record(db, access)
    context = {
        "items": count_items(record, now.date()),
        "printed_on": wording.day_text(now.date(), with_year=True),
    }
    return render("paper_count.html", _place(access) | context, login=login)


def _place(access: HouseholdAccess) -> dict[str, object]:
    return {
        "places": household_places(access, "Paper"),
        "household_id": access.household_id,
    }


def _span_values(span: DateRange) -> Mapping[str, str]:
    last = (span.ends_on or span.starts_on) - timedelta(days=1)
    return {"first": span.starts_on.isoformat(), "last": last.isoformat()}
