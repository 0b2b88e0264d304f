"""One valid household that the application's tests change by keyword."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from planner.household import Catheter, Household, PlanSettings, Site
from planner.items import ItemKind, SupplyItem
from planner.ledger import Count, Receipt
from planner.regimen import Pattern, Regimen
from planner.sessions import BottleUse, Session
from planner.supply import Contact, Order, OrderLine, SupplierTerms

TODAY = date(2026, 3, 11)
NOW = datetime(2026, 3, 11, 14, 0)
UTC_NOW = datetime(2026, 3, 11, 14, 0, tzinfo=UTC)
"""The household lives in Lisbon, which keeps UTC in winter."""

KIT = "K-HALF"
BOTTLE = "B-HALF"
GLOVES = "GLOVES"


def make_items() -> tuple[SupplyItem, ...]:
    return (
        SupplyItem(
            code=KIT, name="Kit, half litre", kind=ItemKind.KIT, capacity_ml=500, units_per_box=10
        ),
        SupplyItem(
            code=BOTTLE,
            name="Bottle, half litre",
            kind=ItemKind.BOTTLE,
            capacity_ml=500,
            units_per_box=5,
        ),
        SupplyItem(code=GLOVES, name="Gloves", kind=ItemKind.OTHER, units_per_box=50),
    )


def make_sessions(count: int = 12) -> tuple[Session, ...]:
    last = NOW.replace(hour=9) - timedelta(days=2)
    return tuple(
        Session(
            id=f"s{n}",
            catheter_id="right",
            started_at=last - timedelta(days=2 * (count - n)),
            bottles=(BottleUse(volume_ml=320 + 10 * (n % 4)),),
        )
        for n in range(1, count + 1)
    )


def make_household(**changes: Any) -> Household:  # noqa: ANN401  (any field)
    """A household in Lisbon that drains every other day, has 12 kits and one open order."""
    whole: dict[str, Any] = {
        "id": "home",
        "name": "Household of the tests",
        "time_zone": "Europe/Lisbon",
        "items": make_items(),
        "catheters": (
            Catheter(
                id="right",
                label="right",
                site=Site.CHEST,
                regimens=(
                    Regimen(
                        starts_on=date(2026, 1, 5), pattern=Pattern.EVERY_N_DAYS, every_n_days=2
                    ),
                ),
                kit_code=KIT,
                bottle_code=BOTTLE,
            ),
        ),
        "supplier": SupplierTerms(
            name="Tidewater Supplies",
            lead_business_days=3,
            contact=Contact(name="Tidewater desk", phone="555 0100"),
        ),
        "sessions": make_sessions(),
        "ledger": (
            Receipt(
                id="r1",
                at=datetime(2026, 2, 1),
                item_code=KIT,
                units=30,
                lot="L1",
                expires_on=date(2027, 1, 31),
            ),
            Count(id="c1", at=datetime(2026, 3, 8, 20, 0), item_code=KIT, units=12),
        ),
        "orders": (
            Order(
                id="o1",
                placed_at=datetime(2026, 3, 9, 10, 0),
                lines=(OrderLine(item_code=KIT, boxes=1),),
            ),
        ),
    }
    whole["settings"] = PlanSettings(horizon_days=45)  # short, so that plans are quick
    return Household(**(whole | changes))
