"""The coordinator's pages: households by urgency, and the combined order."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from app import clock, queries, wording, wording_steps
from app.access import AgencyAccess
from app.combined import due_orders, plans_of
from app.deps import AppSettings, CheckedForm, DbSession, Login, SignedIn, ViewedAgency
from app.fhir import MEDIA_TYPE
from app.forms import texts
from app.order_documents import combined_bundle, combined_csv
from app.planning import refresh_agency
from app.queries import DueFilter, DueHousehold
from app.views import agency_places, render, sign_of
from app.views_agency import combined_shown, due_lines
from planner.results import Urgency

router = APIRouter(include_in_schema=False)

FURTHEST_PAGE = 100_000
PAGE_SIZE = 25


@router.get("/agency")
def own_agency(db: DbSession, login: SignedIn) -> Response:
    """Lead to the account's agency; with several, to the choice."""
    agencies = queries.agency_links(db, login.account)
    path = f"/agency/{agencies[0].agency_id}" if len(agencies) == 1 else "/"
    return RedirectResponse(path, status_code=303)


@router.get("/agency/{agency}")
def list_households(
    db: DbSession, login: SignedIn, access: ViewedAgency, urgency: str = "", page: int = 1
) -> Response:
    """Households by urgency, page by page."""
    return _list(db, login, access, urgency=urgency, search="", page=page)


@router.post("/agency/{agency}")
def find_households(
    db: DbSession, login: SignedIn, access: ViewedAgency, form: CheckedForm
) -> Response:
    """The same for a searched name, which must not stand in an address."""
    values = texts(form)
    typed = values.get("page", "1")
    page = int(typed) if typed.isascii() and typed.isdecimal() else 1
    search, urgency = values.get("search", ""), values.get("urgency", "")
    return _list(db, login, access, urgency=urgency, search=search, page=page)


def _list(
    db: DbSession, login: Login, access: AgencyAccess, *, urgency: str, search: str, page: int
) -> Response:
    waiting = refresh_agency(db, access.agency_id)
    today = clock.today_in(access.time_zone)
    chosen = Urgency(urgency) if urgency in set(Urgency) else None
    wanted = DueFilter(
        urgency=chosen,
        search=search.strip()[:80],
        page=min(max(page, 1), FURTHEST_PAGE),
        page_size=PAGE_SIZE,
    )
    due = queries.due_page(db, access, wanted)
    context = {
        "places": agency_places(access.agency_id, "Households"),
        "agency": access.agency_name,
        "root": f"/agency/{access.agency_id}",
        "today": wording.day_text(today),
        "counts": [(sign_of(one), due.by_urgency.get(one, 0), one is chosen) for one in Urgency],
        "total": sum(due.by_urgency.values()),
        "waiting": waiting,
        "found": due.total,
        "urgency": chosen.value if chosen else "",
        "search": wanted.search,
        "page": wanted.page,
        "pages": max(-(-due.total // wanted.page_size), 1),
        "lines": due_lines(due.lines, _calls(db, access, due.lines), today),
    }
    return render("agency.html", context, login=login)


def _calls(
    db: DbSession, access: AgencyAccess, lines: tuple[DueHousehold, ...]
) -> dict[str, tuple[str, ...]]:
    """Whom to call for the households of a page that run short."""
    short = [one.household_id for one in lines if one.urgency is Urgency.SHORT]
    records = queries.records_of(db, access, short)
    plans = plans_of(db, access, short)
    return {
        key: wording_steps.call_texts(plans[key], wording.names_of(record))
        for key, record in records.items()
        if key in plans
    }


@router.get("/agency/{agency}/order")
def combined_order(db: DbSession, login: SignedIn, access: ViewedAgency) -> Response:
    """The combined order of the coming week."""
    today = clock.today_in(access.time_zone)
    waiting = refresh_agency(db, access.agency_id)
    due = due_orders(db, access, today)
    context = {
        "places": agency_places(access.agency_id, "Combined order"),
        "agency": access.agency_name,
        "agency_id": access.agency_id,
        "today": wording.day_text(today),
        "waiting": waiting,
        "orders": combined_shown(due, today),
    }
    return render("combined.html", context, login=login)


@router.get("/agency/{agency}/order.csv")
def combined_order_csv(db: DbSession, access: ViewedAgency) -> Response:
    """The same for a spreadsheet: one line per household and item."""
    today = clock.today_in(access.time_zone)
    refresh_agency(db, access.agency_id)
    name = f"combined-order-{today.isoformat()}.csv"
    return Response(
        combined_csv(due_orders(db, access, today)),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@router.get("/agency/{agency}/order.fhir.json")
def combined_order_fhir(db: DbSession, access: ViewedAgency, settings: AppSettings) -> Response:
    """The same as HL7 FHIR, for a supplier's system."""
    today = clock.today_in(access.time_zone)
    refresh_agency(db, access.agency_id)
    due = due_orders(db, access, today)
    name = f"combined-order-{today.isoformat()}.fhir.json"
    return Response(
        combined_bundle(due, base_url=settings.base_url, made_at=clock.utc_now()),
        media_type=MEDIA_TYPE,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
