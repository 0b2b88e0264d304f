"""One valid household and its parts, changed by keyword. Everything in it is invented."""

# ruff: noqa: ANN401 - a builder takes any field by keyword; the value type checks it

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from planner.household import Catheter, ClinicalGroup, Household, PlanSettings, Site
from planner.items import ItemKind, SupplyItem
from planner.ledger import Count, LedgerEntry, Receipt
from planner.regimen import Pattern, Regimen, weekly_rule
from planner.sessions import BottleUse, Session, StopReason
from planner.supply import AuthorizedQuantity, Order, OrderLine, SupplierTerms

TODAY = date(2026, 3, 11)
"""A Wednesday."""

KIT = "KIT-500"
BOTTLE = "BOTTLE-500"
GLOVES = "GLOVES"
CATHETER = "right"


def day(offset: int, start: date = TODAY) -> date:
    """A day so many days from today."""
    return start + timedelta(days=offset)


def moment(offset: int, hour: int = 9, start: date = TODAY) -> datetime:
    """A wall-clock moment on a day so many days from today."""
    return datetime.combine(day(offset, start), time(hour))


def make_kit(**changes: Any) -> SupplyItem:
    whole: dict[str, Any] = {
        "code": KIT,
        "name": "Drainage kit, half litre",
        "kind": ItemKind.KIT,
        "capacity_ml": 500,
        "units_per_box": 10,
    }
    return SupplyItem(**whole | changes)


def make_bottle(**changes: Any) -> SupplyItem:
    whole: dict[str, Any] = {
        "code": BOTTLE,
        "name": "Vacuum bottle, half litre",
        "kind": ItemKind.BOTTLE,
        "capacity_ml": 500,
        "units_per_box": 5,
    }
    return SupplyItem(**whole | changes)


def make_gloves(**changes: Any) -> SupplyItem:
    whole: dict[str, Any] = {
        "code": GLOVES,
        "name": "Gloves, pair",
        "kind": ItemKind.OTHER,
        "units_per_box": 50,
    }
    return SupplyItem(**whole | changes)


def every(n_days: int, **changes: Any) -> Regimen:
    """Drain every so many days after the last session."""
    whole: dict[str, Any] = {
        "starts_on": date(2026, 1, 1),
        "pattern": Pattern.EVERY_N_DAYS,
        "every_n_days": n_days,
    }
    return Regimen(**whole | changes)


def by_rule(rule: str, **changes: Any) -> Regimen:
    """Drain on the days of a recurrence rule."""
    whole: dict[str, Any] = {
        "starts_on": date(2026, 1, 1),
        "pattern": Pattern.RRULE,
        "rrule": rule,
    }
    return Regimen(**whole | changes)


def on_weekdays(*weekdays: str, **changes: Any) -> Regimen:
    """Drain on fixed weekdays, for example "MO", "WE", "FR"."""
    return by_rule(weekly_rule(weekdays), **changes)


def as_needed(**changes: Any) -> Regimen:
    """Drain when symptoms ask for it."""
    whole: dict[str, Any] = {"starts_on": date(2026, 1, 1), "pattern": Pattern.AS_NEEDED}
    return Regimen(**whole | changes)


def make_catheter(**changes: Any) -> Catheter:
    whole: dict[str, Any] = {
        "id": CATHETER,
        "label": "right",
        "site": Site.CHEST,
        "regimens": (every(2),),
        "kit_code": KIT,
        "bottle_code": None,
        "clinical_group": ClinicalGroup.HEART_KIDNEY_PLEURAL,
    }
    return Catheter(**whole | changes)


def make_supplier(**changes: Any) -> SupplierTerms:
    whole: dict[str, Any] = {"name": "Harbour Supplies", "lead_business_days": 3}
    return SupplierTerms(**whole | changes)


def make_session(
    at: datetime,
    *volumes_ml: int,
    stop: StopReason = StopReason.RAN_DRY,
    **changes: Any,
) -> Session:
    """A session by its bottles' volumes; its id comes from its moment."""
    whole: dict[str, Any] = {
        "id": f"s{at:%Y%m%d%H%M}",
        "catheter_id": CATHETER,
        "started_at": at,
        "bottles": tuple(BottleUse(volume_ml=ml) for ml in volumes_ml or (300,)),
        "stop_reason": stop,
    }
    return Session(**whole | changes)


def sessions_every(
    n_days: int,
    count: int,
    *volumes_ml: int,
    last: int = -1,
    stop: StopReason = StopReason.RAN_DRY,
    start: date = TODAY,
) -> tuple[Session, ...]:
    """So many sessions at a fixed gap, the last one `last` days from today.

    The volumes are taken in turn, one bottle each.
    """
    taken = volumes_ml or (300,)
    return tuple(
        make_session(
            moment(last - n_days * (count - 1 - n), start=start), taken[n % len(taken)], stop=stop
        )
        for n in range(count)
    )


def receipt(units: int, item: str = KIT, **changes: Any) -> Receipt:
    """Goods put on the shelf, before anything else unless told otherwise."""
    whole: dict[str, Any] = {
        "id": f"r-{item}-{changes.get('lot', '')}-{changes.get('expires_on', '')}",
        "at": datetime(2026, 1, 1),
        "item_code": item,
        "units": units,
    }
    return Receipt(**whole | changes)


def counted(units: int, item: str = KIT, *, offset: int = -1, **changes: Any) -> Count:
    """A count of everything there of one item, late on a day."""
    whole: dict[str, Any] = {
        "id": f"c-{item}-{offset}",
        "at": moment(offset, hour=23),
        "item_code": item,
        "units": units,
    }
    return Count(**whole | changes)


def stocked(
    kits: int,
    bottles: int = 0,
    *,
    kits_expire_on: date | None = None,
    bottles_expire_on: date | None = None,
    on: date = TODAY,
) -> tuple[LedgerEntry, ...]:
    """A ledger that leaves exactly so much on the shelf: a count of none, then receipts."""
    at = datetime.combine(on, time(23, 30))
    empty = [
        counted(0, item, id=f"none-{item}", at=at - timedelta(minutes=1)) for item in (KIT, BOTTLE)
    ]
    goods: list[LedgerEntry] = []
    if kits:
        goods.append(receipt(kits, id="kits", at=at, expires_on=kits_expire_on))
    if bottles:
        goods.append(receipt(bottles, BOTTLE, id="bottles", at=at, expires_on=bottles_expire_on))
    return (*empty, *goods)


def make_order(
    boxes: int | Sequence[tuple[str, int]] = 2,
    *,
    placed: int = -1,
    **changes: Any,
) -> Order:
    """An open order placed so many days from today, of kits unless lines are given."""
    lines = [(KIT, boxes)] if isinstance(boxes, int) else list(boxes)
    whole: dict[str, Any] = {
        "id": "o1",
        "placed_at": moment(placed, hour=10),
        "lines": tuple(OrderLine(item_code=item, boxes=count) for item, count in lines),
    }
    return Order(**whole | changes)


def authorized(units: int, per_days: int, item: str = KIT, **changes: Any) -> AuthorizedQuantity:
    whole: dict[str, Any] = {
        "item_code": item,
        "units": units,
        "per_days": per_days,
        "starts_on": date(2026, 1, 1),
    }
    return AuthorizedQuantity(**whole | changes)


def make_household(**changes: Any) -> Household:
    """Drains every other day, last yesterday, about 300 mL, with twelve kits at home.

    `catheter` changes the one catheter by a dictionary, `settings` may be one as well.
    """
    catheter: dict[str, Any] = changes.pop("catheter", {})
    settings = changes.pop("settings", {})
    if not isinstance(settings, PlanSettings):
        settings = PlanSettings(**settings)
    whole: dict[str, Any] = {
        "id": "home",
        "name": "Household of the tests",
        "time_zone": "Europe/Lisbon",
        "items": (make_kit(), make_bottle(), make_gloves()),
        "catheters": (make_catheter(**catheter),),
        "supplier": make_supplier(),
        "sessions": sessions_every(2, 12, 300, 330, 280, 310),
        "ledger": stocked(12),
        "settings": settings,
    }
    return Household(**whole | changes)


def shuffled_by(order: Sequence[int], entries: Iterable[LedgerEntry]) -> tuple[LedgerEntry, ...]:
    """The same entries typed in another order."""
    known = list(entries)
    return tuple(known[place] for place in order)
