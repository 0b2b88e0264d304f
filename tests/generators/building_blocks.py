"""Short ways to write down an invented household."""

from __future__ import annotations

from datetime import date, datetime

from planner.household import Catheter, Site
from planner.items import SupplyItem
from planner.ledger import Receipt
from planner.regimen import Pattern, Regimen, weekly_rule
from tests.generators.simulate import Home
from tests.generators.trade import Shop

NEVER = date(2025, 1, 1)
"""A day before every record."""


def every(days: int, *, starts_on: date, limit_ml: int = 1000, by: str = "") -> Regimen:
    """A session every so many days."""
    return Regimen(
        starts_on=starts_on,
        pattern=Pattern.EVERY_N_DAYS,
        every_n_days=days,
        session_limit_ml=limit_ml,
        ordered_by=by,
    )


def on_weekdays(*days: str, starts_on: date, limit_ml: int = 1000, by: str = "") -> Regimen:
    """A session on fixed weekdays."""
    return Regimen(
        starts_on=starts_on,
        pattern=Pattern.RRULE,
        rrule=weekly_rule(days),
        session_limit_ml=limit_ml,
        ordered_by=by,
    )


def as_needed(*, starts_on: date, limit_ml: int = 1000, by: str = "") -> Regimen:
    """Sessions by symptoms."""
    return Regimen(
        starts_on=starts_on, pattern=Pattern.AS_NEEDED, session_limit_ml=limit_ml, ordered_by=by
    )


def chest(kit: SupplyItem, bottle: SupplyItem | None, **more: object) -> Catheter:
    """A catheter in the chest, the only one unless told otherwise."""
    return _catheter(Site.CHEST, "chest", kit, bottle, more)


def belly(kit: SupplyItem, bottle: SupplyItem | None, **more: object) -> Catheter:
    """The same in the belly."""
    return _catheter(Site.ABDOMEN, "belly", kit, bottle, more)


def _catheter(
    site: Site, name: str, kit: SupplyItem, bottle: SupplyItem | None, more: dict[str, object]
) -> Catheter:
    usual: dict[str, object] = {
        "id": name,
        "label": name,
        "site": site,
        "kit_code": kit.code,
        "bottle_code": bottle.code if bottle else None,
    }
    return Catheter(**{**usual, **more})  # type: ignore[arg-type]


def home(
    shop: Shop, household_id: str, name: str, catheters: tuple[Catheter, ...], **more: object
) -> Home:
    """A home that one shop supplies with the goods its catheters use."""
    codes = {code for one in catheters for code in (*one.kits_that_fit, one.bottle_code)}
    items = tuple(item for item in (*shop.small, *shop.large) if item.code in codes)
    usual: dict[str, object] = {
        "id": household_id,
        "name": name,
        "time_zone": shop.time_zone,
        "supplier": shop.terms,
        "items": items,
        "catheters": catheters,
        "care_team": shop.care_team,
        "confirmed_by": name,
    }
    return Home(**{**usual, **more})  # type: ignore[arg-type]


def receipt(
    receipt_id: str, day: date, code: str, units: int, lot: str, expires_on: date
) -> Receipt:
    """Goods put on the shelf at the start of a day."""
    at = datetime(day.year, day.month, day.day)
    return Receipt(
        id=receipt_id, at=at, item_code=code, units=units, lot=lot, expires_on=expires_on
    )
