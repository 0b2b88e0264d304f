"""Orders as HL7 FHIR: a Bundle of SupplyRequest resources, one for each line.

It holds no name of a person and nothing about the illness: the household is an identifier, the
goods are the supplier's own codes.

References:
    HL7 FHIR Release 4 (4.0.1): SupplyRequest, RequestPriority, Bundle, Reference (logical
    references by identifier), Quantity. Units of boxes by an annotation of UCUM.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from planner.household import Household
from planner.order_steps import OrderStatus
from planner.supply import Order, OrderLine

MEDIA_TYPE = "application/fhir+json"

Json = dict[str, Any]

_STATUS = {
    OrderStatus.CONFIRMED: "draft",
    OrderStatus.PLACED: "active",
    OrderStatus.ACKNOWLEDGED: "active",
    OrderStatus.ON_ITS_WAY: "active",
    OrderStatus.RECEIVED_IN_PART: "active",
    OrderStatus.RECEIVED: "completed",
    OrderStatus.CANCELLED: "cancelled",
}
PROPOSED = "draft"


@dataclass(frozen=True, slots=True, kw_only=True)
class RequestedLine:
    """One line of an order on its way into a bundle.

    Attributes:
        key: the order's id, or another key that is unique in the household.
        n: number of the line in the order, from 1.
        status: one of FHIR's request statuses.
        authored_at: local wall-clock time of the request.
        wanted_on: day on which the goods should come, if known.
        is_urgent: it goes by express.
    """

    household: Household
    key: str
    n: int
    line: OrderLine
    status: str
    authored_at: datetime
    wanted_on: date | None
    is_urgent: bool = False


def order_bundle(household: Household, order: Order, *, base_url: str, made_at: datetime) -> str:
    """One order.

    Args:
        household: the household it is for.
        order: the order.
        base_url: address of this installation, under which its identifiers are unique.
        made_at: when the bundle is made, an aware instant.
    """
    lines = (
        RequestedLine(
            household=household,
            key=order.id,
            n=n,
            line=line,
            status=_STATUS[order.status],
            authored_at=order.placed_at,
            wanted_on=order.promised_on,
            is_urgent=order.is_express,
        )
        for n, line in enumerate(order.lines, 1)
    )
    return bundle(lines, base_url=base_url, made_at=made_at)


def bundle(lines: Iterable[RequestedLine], *, base_url: str, made_at: datetime) -> str:
    """Any lines as one bundle, as JSON text."""
    entries = []
    for line in lines:
        request = _supply_request(line, base_url)
        name = f"{base_url}/{line.household.id}/{line.key}/{line.n}"
        entries.append({"fullUrl": uuid5(NAMESPACE_URL, name).urn, "resource": request})
    whole: Json = {
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": made_at.isoformat(timespec="seconds"),
    }
    # FHIR knows no empty lists.
    if entries:
        whole["entry"] = entries
    return json.dumps(whole, ensure_ascii=False, indent=2)


def _supply_request(one: RequestedLine, base_url: str) -> Json:
    household, line = one.household, one.line
    item = household.item(line.item_code)
    home = {
        "type": "Patient",
        "identifier": {"system": f"{base_url}/households", "value": household.id},
    }
    number = f"{household.id}/{one.key}/{one.n}"
    authored_at = one.authored_at.replace(tzinfo=ZoneInfo(household.time_zone))
    request: Json = {
        "resourceType": "SupplyRequest",
        "identifier": [{"system": f"{base_url}/order-lines", "value": number}],
        "status": one.status,
        "itemCodeableConcept": {
            "coding": [
                {"system": f"{base_url}/items", "code": line.item_code, "display": item.name}
            ],
            "text": item.name,
        },
        "quantity": {
            "value": line.boxes,
            "unit": "box",
            "system": "http://unitsofmeasure.org",
            "code": "{box}",
        },
        "parameter": [
            {
                "code": {"text": "single units in a box"},
                "valueQuantity": {"value": item.units_per_box},
            }
        ],
        "authoredOn": authored_at.isoformat(timespec="seconds"),
        "requester": home,
        "supplier": [{"type": "Organization", "display": household.supplier.name}],
        "deliverTo": home,
    }
    if one.wanted_on is not None:
        request["occurrenceDateTime"] = one.wanted_on.isoformat()
    if one.is_urgent:
        request["priority"] = "urgent"
    return request
