"""Orders as FHIR, read by a client library that was generated from the standard.

References:
    HL7 FHIR Release 4 (4.0.1), SupplyRequest and Bundle; read by fhirclient 4, whose classes
    were generated from the definitions of 4.0.1 and refuse what these do not allow. It does not
    look into code lists; those of 4.0.1 are repeated here from memory.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest
from fhirclient.models.bundle import Bundle
from fhirclient.models.fhirabstractbase import FHIRValidationError

from app.fhir import order_bundle
from planner.order_steps import OrderStatus
from planner.supply import Order, OrderLine
from tests.app.data_builders import BOTTLE, KIT, make_household

REQUEST_STATUSES = {
    "draft",
    "active",
    "suspended",
    "cancelled",
    "completed",
    "entered-in-error",
    "unknown",
}
MADE_AT = datetime(2026, 7, 2, 8, 0, tzinfo=UTC)
HOME = make_household(name="Aunt Josefa's home")


def made(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    whole: dict[str, Any] = {
        "id": "v0000007",
        "placed_at": datetime(2026, 7, 1, 9, 30),
        "lines": (
            OrderLine(item_code=KIT, boxes=2),
            OrderLine(item_code=BOTTLE, boxes=1),
        ),
        "promised_on": date(2026, 7, 6),
        "confirmed_by": "Cara Doe",
    }
    text = order_bundle(
        HOME, Order(**whole | changes), base_url="https://stock.example", made_at=MADE_AT
    )
    found: dict[str, Any] = json.loads(text)
    return found


@pytest.mark.parametrize("status", OrderStatus)
def test_the_reference_library_reads_every_state_of_an_order(status: OrderStatus) -> None:
    received_on = date(2026, 7, 6) if status is OrderStatus.RECEIVED else None
    bundle = Bundle(made(status=status, received_on=received_on), strict=True)
    requests = [one.resource for one in bundle.entry]
    assert [one.resource_type for one in requests] == ["SupplyRequest", "SupplyRequest"]
    assert [one.quantity.value for one in requests] == [2, 1]
    assert [one.itemCodeableConcept.coding[0].code for one in requests] == [KIT, BOTTLE]
    assert requests[0].supplier[0].display == "Tidewater Supplies"
    assert {one.status for one in requests} <= REQUEST_STATUSES
    assert len({one.fullUrl for one in bundle.entry}) == 2


def test_a_moment_carries_the_offset_of_the_household_s_own_clock() -> None:
    """Lisbon keeps summer time, UTC+1, in July."""
    request = Bundle(made(), strict=True).entry[0].resource
    assert request.authoredOn.as_json() == "2026-07-01T09:30:00+01:00"
    assert request.occurrenceDateTime.as_json() == "2026-07-06"
    winter = made(placed_at=datetime(2026, 1, 7, 9, 30), promised_on=None)
    assert winter["entry"][0]["resource"]["authoredOn"] == "2026-01-07T09:30:00+00:00"
    assert "occurrenceDateTime" not in winter["entry"][0]["resource"]


def test_an_order_by_express_is_urgent() -> None:
    """HL7 FHIR R4 (4.0.1), value set request-priority: routine, urgent, asap, stat."""
    urgent = Bundle(made(is_express=True), strict=True)
    assert [one.resource.priority for one in urgent.entry] == ["urgent", "urgent"]
    assert "priority" not in made()["entry"][0]["resource"]


def test_no_name_of_a_person_and_nothing_of_the_illness_is_in_it() -> None:
    text = json.dumps(made())
    for word in ("Cara", "Josefa", "right", "chest", "drain", "catheter", "pleural"):
        assert word not in text, word
    home = made()["entry"][0]["resource"]["deliverTo"]
    assert home["identifier"]["value"] == "home"


def test_the_same_line_keeps_its_address() -> None:
    first, again = made(), made(status=OrderStatus.ON_ITS_WAY)
    assert [one["fullUrl"] for one in first["entry"]] == [one["fullUrl"] for one in again["entry"]]


BREAKS: dict[str, Callable[[dict[str, Any]], object]] = {
    "no quantity": lambda one: one.pop("quantity"),
    "no item": lambda one: one.pop("itemCodeableConcept"),
    "an element of another release": lambda one: one.update(deliverFor=one["deliverTo"]),
    "a day that is none": lambda one: one.update(authoredOn="next week"),
    "a number as text": lambda one: one["quantity"].update(value="two"),
    "one supplier, not a list": lambda one: one.update(supplier=one["supplier"][0]),
}


@pytest.mark.parametrize("name", BREAKS)
def test_the_reference_library_would_find_a_fault(name: str) -> None:
    broken = made()
    BREAKS[name](broken["entry"][0]["resource"])
    with pytest.raises(FHIRValidationError):
        Bundle(broken, strict=True)
