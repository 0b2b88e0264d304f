"""One order, and an agency's orders of the week, as files for others to read."""

from __future__ import annotations

from datetime import datetime, time

from app.combined import DueOrders
from app.fhir import PROPOSED, RequestedLine, bundle
from app.spreadsheets import csv_text
from planner.household import Household
from planner.supply import Order, OrderLine

ORDER_HEAD = (
    "order",
    "household",
    "supplier",
    "confirmed_on",
    "state",
    "delivery_named",
    "express",
    "item",
    "item_name",
    "boxes",
    "units_per_box",
    "units",
)
COMBINED_HEAD = (
    "supplier",
    "order_by",
    "delivery",
    "household",
    "household_name",
    "item",
    "item_name",
    "boxes",
    "units",
)


def order_csv(household: Household, order: Order) -> str:
    """One order for a spreadsheet, a line for each item; the household is its id only."""
    named_on = order.promised_on
    first_on = (order.steps[0].at if order.steps else order.placed_at).date()
    rows = []
    for line in order.lines:
        item = household.item(line.item_code)
        rows.append(
            (
                order.id,
                household.id,
                household.supplier.name,
                first_on.isoformat(),
                order.status.value,
                named_on.isoformat() if named_on is not None else "",
                "yes" if order.is_express else "no",
                item.code,
                item.name,
                line.boxes,
                item.units_per_box,
                line.boxes * item.units_per_box,
            )
        )
    return csv_text(ORDER_HEAD, rows)


def combined_csv(due: DueOrders) -> str:
    """The combined orders for a spreadsheet, a line per household and item."""
    rows = [
        (
            order.supplier,
            part.order_by_on.isoformat(),
            order.delivery_on.isoformat(),
            household.id,
            household.name,
            line.item_code,
            household.item(line.item_code).name,
            line.boxes,
            line.units,
        )
        for order in due.orders
        for part in order.households
        for household in (due.households[part.household_id],)
        for line in part.lines
    ]
    return csv_text(COMBINED_HEAD, rows)


def combined_bundle(due: DueOrders, *, base_url: str, made_at: datetime) -> str:
    """The combined orders as FHIR. They are proposals, so every request is a draft."""
    lines = [
        RequestedLine(
            household=due.households[part.household_id],
            key=f"proposed-{part.order_by_on.isoformat()}",
            n=n,
            line=OrderLine(item_code=line.item_code, boxes=line.boxes),
            status=PROPOSED,
            authored_at=datetime.combine(part.order_by_on, time(0)),
            wanted_on=order.delivery_on,
        )
        for order in due.orders
        for part in order.households
        for n, line in enumerate(part.lines, 1)
    ]
    return bundle(lines, base_url=base_url, made_at=made_at)
