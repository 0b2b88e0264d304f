"""Invented suppliers, goods and care teams. Phone numbers are ones kept free for fiction."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import time

from planner.items import ItemKind, SupplyItem
from planner.supply import Contact, SupplierTerms


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A supplier with its goods: kit and loose bottle, small and large."""

    terms: SupplierTerms
    small: tuple[SupplyItem, SupplyItem]
    large: tuple[SupplyItem, SupplyItem]
    care_team: Contact
    time_zone: str


def _goods(
    kit: str, bottle: str, capacity_ml: int, *, kits: int, bottles: int
) -> tuple[SupplyItem, SupplyItem]:
    return (
        SupplyItem(
            code=kit,
            name=f"{capacity_ml} mL kit",
            kind=ItemKind.KIT,
            capacity_ml=capacity_ml,
            units_per_box=kits,
        ),
        SupplyItem(
            code=bottle,
            name=f"{capacity_ml} mL bottle",
            kind=ItemKind.BOTTLE,
            capacity_ml=capacity_ml,
            units_per_box=bottles,
        ),
    )


TARNBROOK = Shop(
    terms=SupplierTerms(
        name="Tarnbrook Home Supplies",
        lead_business_days=3,
        cut_off=time(15),
        delivery_weekdays=(1, 4),
        holiday_country="GB",
        holiday_region="ENG",
        contact=Contact(name="Tarnbrook Home Supplies", phone="01632 960104"),
    ),
    small=_goods("TB-K05", "TB-L05", 500, kits=10, bottles=10),
    large=_goods("TB-K10", "TB-L10", 1000, kits=5, bottles=10),
    care_team=Contact(name="the Larkfield nurses", phone="01632 960220"),
    time_zone="Europe/London",
)

OLLERBY = Shop(
    terms=SupplierTerms(
        name="Ollerby Care Goods",
        lead_business_days=2,
        cut_off=time(12),
        holiday_country="GB",
        holiday_region="SCT",
        minimum_boxes=2,
        contact=Contact(name="Ollerby Care Goods", phone="01632 960177"),
    ),
    small=_goods("OC500.K", "OC500.B", 500, kits=5, bottles=5),
    large=_goods("OC1000.K", "OC1000.B", 1000, kits=5, bottles=5),
    care_team=Contact(name="the Strathmorn home team", phone="01632 960245"),
    time_zone="Europe/London",
)

QUILLMERE = Shop(
    terms=SupplierTerms(
        name="Quillmere Depot",
        lead_business_days=4,
        cut_off=time(14),
        holiday_country="US",
        contact=Contact(name="Quillmere Depot", phone="555-0142"),
    ),
    small=_goods("QM6-SET", "QM6-BTL", 600, kits=10, bottles=5),
    large=_goods("QM10-SET", "QM10-BTL", 1000, kits=10, bottles=5),
    care_team=Contact(name="the Sandrey visiting nurses", phone="555-0178"),
    time_zone="America/Chicago",
)

SHOPS = (TARNBROOK, OLLERBY, QUILLMERE)


def slower(terms: SupplierTerms, lead_business_days: int) -> SupplierTerms:
    """The same supplier with a longer lead time."""
    return replace(terms, lead_business_days=lead_business_days)
