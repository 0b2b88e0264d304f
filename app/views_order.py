"""What the order page shows: items to choose, earlier orders, the numbers behind a proposal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from app import wording
from app.models_orders import DeclinedOrderRow
from app.texts import tr
from planner.delivery import SupplierCalendar, is_late, order_usual_arrival
from planner.household import Household
from planner.ledger import Receipt
from planner.order_life import steps_of
from planner.order_steps import state_after
from planner.results import CatheterOutlook, Plan
from planner.supply import Order, OrderStatus

RECENT_ORDERS = 12
RECENT_ANSWERS = 6
_STATES = {
    OrderStatus.CONFIRMED: "confirmed, not placed yet",
    OrderStatus.PLACED: "placed",
    OrderStatus.ACKNOWLEDGED: "placed, the supplier has it",
    OrderStatus.ON_ITS_WAY: "on its way",
    OrderStatus.RECEIVED_IN_PART: "received in part",
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
    """An earlier order.

    Attributes:
        late: says since when it is late; empty when it is not.
    """

    key: str
    placed: str
    lines: str
    state: str
    late: str
    by: str
    is_open: bool
    is_waiting: bool
    is_express: bool


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


def orders_shown(record: Household, today: date) -> tuple[OrderShown, ...]:
    """Orders so far, the latest first."""
    ordered = sorted(record.orders, key=lambda one: (one.placed_at, one.id), reverse=True)
    return tuple(order_shown(record, one, today) for one in ordered[:RECENT_ORDERS])


def order_shown(record: Household, order: Order, today: date) -> OrderShown:
    """One order as a line."""
    return OrderShown(
        key=order.id,
        placed=wording.day_text(order.placed_at.date(), today=today),
        lines=lines_text(record, ((line.item_code, line.boxes) for line in order.lines)),
        state=state_text(record, order),
        late=late_text(record, order, today),
        by=order.confirmed_by,
        is_open=order.is_open,
        is_waiting=order.status is OrderStatus.CONFIRMED,
        is_express=order.is_express,
    )


def state_text(record: Household, order: Order) -> str:
    """How far an order has come."""
    receipts = [one for one in record.valid_entries if isinstance(one, Receipt)]
    own = [one for one in receipts if one.order_id == order.id]
    return tr(_STATES[state_after(steps_of(order, own)).status])


def late_text(record: Household, order: Order, today: date) -> str:
    """Says that an order is late and since when; empty when it is not."""
    calendar = SupplierCalendar(record.supplier, record.time_zone)
    if not is_late(calendar, order, today):
        return ""
    day = wording.day_text(order_usual_arrival(calendar, order), today=today)
    return tr("late, it should have come on {day}", day=day)


def lines_text(record: Household, lines: Iterable[tuple[str, int]]) -> str:
    """Item codes with boxes as words; an item that is gone keeps its code."""
    names = {item.code: item.name for item in record.items}
    return wording.joined(
        [wording.boxes_text(boxes, names.get(code, code)) for code, boxes in lines]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerShown:
    """A no to a proposal."""

    day: str
    by: str
    answer: str
    asked: str


def answers_shown(
    record: Household, rows: Iterable[DeclinedOrderRow], today: date
) -> tuple[AnswerShown, ...]:
    """The latest answers that nothing was needed."""
    return tuple(
        AnswerShown(
            day=wording.day_text(row.at.date(), today=today),
            by=row.declined_by,
            answer=tr(row.answer),
            asked=lines_text(record, _asked(row.asked)),
        )
        for row in rows
    )


def _asked(text: str) -> Iterator[tuple[str, int]]:
    for part in filter(None, text.split(", ")):
        code, _, boxes = part.rpartition(" ")
        yield code, int(boxes)


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
            tr("{item}, on the way", item=names.items[one.item_code]),
            wording.units_text(one.in_transit, names.kinds[one.item_code]),
        )
        for one in plan.on_hand
        if one.in_transit
    ]
    for outlook in plan.outlooks:
        label = record.catheter(outlook.catheter_id).label
        facts += _outlook_facts(outlook, f" ({label})" if several else "")
    chance = wording.chance_text(plan.order.risk_if_ordered_today)
    facts.append((tr("Chance to run out before goods ordered today come"), chance))
    if plan.order.lines:
        chance = wording.chance_text(plan.order.chance_short)
        name = tr("Chance that this order does not last as long as it should, at most")
        facts.append((name, chance))
    return facts


def _outlook_facts(outlook: CatheterOutlook, label: str) -> list[tuple[str, str]]:
    low, high = outlook.rate_low_ml_per_day, outlook.rate_high_ml_per_day
    rate = tr(
        "about {volume} (8 in 10: {low} to {high})",
        volume=wording.volume_text(outlook.rate_ml_per_day),
        low=wording.volume_text(low),
        high=wording.volume_text(high),
    )
    weight = tr(
        "{part} in 100; the rest is what is usual for others",
        part=f"{outlook.record_weight * 100:.0f}",
    )
    facts = [
        ("Fluid a day", rate),
        ("Usual days between sessions", wording.number_text(outlook.usual_gap_days, 1)),
        ("Bottles in a usual session", wording.number_text(outlook.bottles_per_session, 2)),
        ("Chance of a further bottle", wording.chance_text(outlook.further_bottle_chance)),
        ("Chance that a bottle is lost", wording.chance_text(outlook.loss_chance)),
        ("Sessions learned from", str(outlook.sessions_learned_from)),
        ("How much your own record counts", weight),
    ]
    if outlook.kept_chance is not None:
        kept = wording.chance_text(outlook.kept_chance)
        facts.insert(2, ("Sessions held on their day", kept))
    return [(f"{tr(name)}{label}", text) for name, text in facts]
