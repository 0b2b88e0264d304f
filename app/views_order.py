"""What the order page shows: items to choose, earlier orders, the numbers behind a proposal."""

from __future__ import annotations

from dataclasses import dataclass

from app import wording
from planner.household import Household
from planner.results import CatheterOutlook, Plan
from planner.supply import Order, OrderStatus

RECENT_ORDERS = 12
_STATES = {
    OrderStatus.PLACED: "on its way",
    OrderStatus.RECEIVED: "received",
    OrderStatus.CANCELLED: "cancelled",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLineShown:
    """One item that may be ordered."""

    n: int
    code: str
    name: str
    per_box: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderShown:
    """An earlier order."""

    key: str
    placed: str
    lines: str
    state: str
    by: str
    is_open: bool


def order_choices(record: Household) -> tuple[OrderLineShown, ...]:
    """Every item that may be ordered."""
    return tuple(
        OrderLineShown(
            n=n,
            code=item.code,
            name=item.name,
            per_box=wording.units_text(item.units_per_box, item.kind),
        )
        for n, item in enumerate(record.items, 1)
    )


def orders_shown(record: Household) -> tuple[OrderShown, ...]:
    """Orders so far, the latest first."""
    ordered = sorted(record.orders, key=lambda one: (one.placed_at, one.id), reverse=True)
    return tuple(_order_shown(record, one) for one in ordered[:RECENT_ORDERS])


def _order_shown(record: Household, order: Order) -> OrderShown:
    lines = [
        f"{wording.count_text(line.boxes, 'boxes')} of {record.item(line.item_code).name}"
        for line in order.lines
    ]
    return OrderShown(
        key=order.id,
        placed=wording.day_text(order.placed_at.date()),
        lines=wording.joined(lines),
        state=_STATES[order.status],
        by=order.confirmed_by,
        is_open=order.is_open,
    )


def facts_behind(plan: Plan, record: Household) -> list[tuple[str, str]]:
    """The numbers behind the order, each with its name."""
    names = wording.names_of(record)
    several = len(plan.outlooks) > 1
    facts = [
        (names.items[one.item_code], wording.units_text(one.usable, names.kinds[one.item_code]))
        for one in plan.on_hand
    ]
    facts += [
        (
            f"{names.items[one.item_code]}, on the way",
            wording.units_text(one.in_transit, names.kinds[one.item_code]),
        )
        for one in plan.on_hand
        if one.in_transit
    ]
    for outlook in plan.outlooks:
        label = record.catheter(outlook.catheter_id).label
        facts += _outlook_facts(outlook, f" ({label})" if several else "")
    chance = wording.chance_text(plan.order.risk_if_ordered_today)
    facts.append(("Chance to run out before goods ordered today come", chance))
    if plan.order.lines:
        chance = wording.chance_text(plan.order.chance_short)
        facts.append(("Chance that this order does not last as long as it should, at most", chance))
    return facts


def _outlook_facts(outlook: CatheterOutlook, label: str) -> list[tuple[str, str]]:
    low, high = outlook.rate_low_ml_per_day, outlook.rate_high_ml_per_day
    most = f"(8 in 10: {wording.volume_text(low)} to {wording.volume_text(high)})"
    facts = [
        (f"Fluid a day{label}", f"about {wording.volume_text(outlook.rate_ml_per_day)} {most}"),
        (f"Usual days between sessions{label}", f"{outlook.usual_gap_days:.1f}"),
        (f"Bottles in a usual session{label}", f"{outlook.bottles_per_session:.2f}"),
        (
            f"Chance of a further bottle{label}",
            wording.chance_text(outlook.further_bottle_chance),
        ),
        (f"Chance that a bottle is lost{label}", wording.chance_text(outlook.loss_chance)),
        (f"Sessions learned from{label}", str(outlook.sessions_learned_from)),
        (
            f"How much your own record counts{label}",
            f"{outlook.record_weight:.0%}; the rest is what is usual for others",
        ),
    ]
    if outlook.kept_chance is not None:
        kept = wording.chance_text(outlook.kept_chance)
        facts.insert(2, (f"Sessions held on their day{label}", kept))
    return facts
