"""The coordinator's pages: households by urgency, and the combined order."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import date

from fastapi import APIRouter
from starlette.responses import Response

from app import clock, queries, wording
from app.access import AgencyAccess
from app.deps import DbSession, SignedIn, ViewedAgency
from app.planning import agency_household_ids, plans_for, refresh_agency
from app.queries import DueFilter, DueHousehold
from app.views import Sign, agency_places, render, short_day, sign_of
from planner.household import Household
from planner.results import Urgency
from planner.rollup import CombinedOrder, combine

router = APIRouter(include_in_schema=False)

WITHIN_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class DueLine:
    """One household in the list."""

    href: str
    name: str
    sign: Sign
    order_by: str
    cautious: str
    expected: str


@router.get("/agency/{agency}")
def list_households(
    db: DbSession,
    login: SignedIn,
    access: ViewedAgency,
    urgency: str = "",
    search: str = "",
    page: int = 1,
) -> Response:
    """Households by urgency, with search and pages."""
    refresh_agency(db, access.agency_id)
    today = clock.today_in(access.time_zone)
    chosen = Urgency(urgency) if urgency in set(Urgency) else None
    wanted = DueFilter(urgency=chosen, search=search[:80], page=page)
    due = queries.due_page(db, access, wanted)
    context = {
        "places": agency_places(access.agency_id, "Households"),
        "agency": access.agency_name,
        "today": wording.day_text(today),
        "counts": [(sign_of(one), due.by_urgency.get(one, 0), one is chosen) for one in Urgency],
        "total": sum(due.by_urgency.values()),
        "found": due.total,
        "urgency": chosen.value if chosen else "",
        "search": wanted.search,
        "page": max(page, 1),
        "pages": max(-(-due.total // wanted.page_size), 1),
        "lines": [_due_line(one, today) for one in due.lines],
    }
    return render("agency.html", context, login=login)


def _due_line(one: DueHousehold, today: date) -> DueLine:
    return DueLine(
        href=f"/h/{one.household_id}",
        name=one.name,
        sign=sign_of(one.urgency),
        order_by=short_day(one.order_by_on, today),
        cautious=short_day(one.cautious_on, today),
        expected=short_day(one.expected_on, today),
    )


@router.get("/agency/{agency}/order")
def combined_order(db: DbSession, login: SignedIn, access: ViewedAgency) -> Response:
    """The combined order of the coming week."""
    orders, households = _combined(db, access)
    today = clock.today_in(access.time_zone)
    context = {
        "places": agency_places(access.agency_id, "Combined order"),
        "agency": access.agency_name,
        "agency_id": access.agency_id,
        "today": wording.day_text(today),
        "orders": [_shown(one, households, today) for one in orders],
    }
    return render("combined.html", context, login=login)


@router.get("/agency/{agency}/order.csv")
def combined_order_csv(db: DbSession, access: ViewedAgency) -> Response:
    """The same for a spreadsheet: one line per household and item."""
    orders, households = _combined(db, access)
    text = io.StringIO()
    writer = csv.writer(text)
    head = ("supplier", "order_by", "delivery", "household", "item", "item_name", "boxes", "units")
    writer.writerow(head)
    for order in orders:
        for part in order.households:
            for line in part.lines:
                name = households[part.household_id].item(line.item_code).name
                days = (part.order_by_on.isoformat(), order.delivery_on.isoformat())
                row = (order.supplier, *days, part.household_id, line.item_code, name)
                writer.writerow([_plain_cell(cell) for cell in row] + [line.boxes, line.units])
    headers = {"Content-Disposition": 'attachment; filename="combined-order.csv"'}
    return Response(text.getvalue(), media_type="text/csv; charset=utf-8", headers=headers)


def _plain_cell(text: str) -> str:
    """A spreadsheet must not take a text for a formula."""
    return "'" + text if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def _combined(
    db: DbSession, access: AgencyAccess
) -> tuple[tuple[CombinedOrder, ...], dict[str, Household]]:
    ids = agency_household_ids(db, access.agency_id)
    plans = [stored.plan for stored in plans_for(db, ids)]
    due = [plan for plan in plans if plan.order.lines]
    households = queries.records_of(db, access, [plan.household_id for plan in due])
    return combine(due, households, within_days=WITHIN_DAYS), households


@dataclass(frozen=True, slots=True, kw_only=True)
class CombinedShown:
    """One combined order as shown."""

    supplier: str
    call: str
    order_by: str
    delivery: str
    totals: tuple[tuple[str, str, str], ...]
    parts: tuple[tuple[str, str, str, str], ...]


def _shown(order: CombinedOrder, households: dict[str, Household], today: date) -> CombinedShown:
    first = households[order.households[0].household_id]
    return CombinedShown(
        supplier=order.supplier,
        call=wording.supplier_text(wording.names_of(first)),
        order_by=wording.day_text(order.order_by_on, today=today),
        delivery=wording.day_text(order.delivery_on, today=today),
        totals=tuple(
            (one.item_name, wording.count_text(one.boxes, "boxes"), f"{one.units:,}")
            for one in order.totals
        ),
        parts=tuple(
            (
                f"/h/{part.household_id}/order",
                households[part.household_id].name,
                wording.day_text(part.order_by_on, today=today),
                wording.joined(
                    [
                        f"{wording.count_text(line.boxes, 'boxes')} of "
                        f"{households[part.household_id].item(line.item_code).name}"
                        for line in part.lines
                    ]
                ),
            )
            for part in order.households
        ),
    )
