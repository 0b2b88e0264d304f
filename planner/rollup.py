"""Many households for one coordinator: who is at risk, and the combined order.

Goods are sterile and prescribed, so they are never moved between homes: the combined order
is the sum of the households' own whole boxes, and no safety stock is pooled.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from planner.household import Household
from planner.results import Plan, ProposedLine, Urgency

URGENCY_ORDER: tuple[Urgency, ...] = tuple(Urgency)


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseholdOrder:
    """One household's part of a combined order."""

    household_id: str
    order_by_on: date
    lines: tuple[ProposedLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemTotal:
    """Whole boxes of one item over the households."""

    item_code: str
    item_name: str
    boxes: int
    units: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CombinedOrder:
    """What one supplier should bring on one day.

    Attributes:
        delivery_on: usual arrival of the orders put together.
        order_by_on: the earliest order-by date among them.
    """

    supplier: str
    delivery_on: date
    order_by_on: date
    households: tuple[HouseholdOrder, ...]
    totals: tuple[ItemTotal, ...]


def by_urgency(plans: Iterable[Plan]) -> tuple[Plan, ...]:
    """Plans with the most urgent household first.

    Within one urgency the sooner order-by date, then the sooner cautious run-out comes first.
    """

    def rank(plan: Plan) -> tuple[int, date, date, str]:
        return (
            URGENCY_ORDER.index(plan.urgency),
            plan.order.order_by_on or date.max,
            plan.run_out_with_coming.cautious_on or date.max,
            plan.household_id,
        )

    return tuple(sorted(plans, key=rank))


def combine(
    plans: Sequence[Plan], households: Mapping[str, Household], *, within_days: int = 7
) -> tuple[CombinedOrder, ...]:
    """Put together the orders that are due soon, by supplier and delivery day.

    Args:
        plans: plans of the same day.
        households: the households by id.
        within_days: orders to be placed up to so many days after the plan's day. [days]

    Returns:
        Combined orders, the soonest to place first; empty when nothing is due.
    """
    parts: dict[tuple[str, date], list[HouseholdOrder]] = {}
    for plan in plans:
        order = plan.order
        if not order.lines or order.order_by_on is None or order.usual_arrival_on is None:
            continue
        if plan.urgency is Urgency.RESTING:
            continue
        if order.order_by_on > plan.as_of + timedelta(days=within_days):
            continue
        key = (households[plan.household_id].supplier.name, order.usual_arrival_on)
        part = HouseholdOrder(
            household_id=plan.household_id, order_by_on=order.order_by_on, lines=order.lines
        )
        parts.setdefault(key, []).append(part)
    combined = [
        CombinedOrder(
            supplier=supplier,
            delivery_on=delivery_on,
            order_by_on=min(member.order_by_on for member in members),
            households=tuple(sorted(members, key=lambda one: (one.order_by_on, one.household_id))),
            totals=_totals(members, households),
        )
        for (supplier, delivery_on), members in parts.items()
    ]
    return tuple(sorted(combined, key=lambda one: (one.order_by_on, one.supplier, one.delivery_on)))


def _totals(
    members: Sequence[HouseholdOrder], households: Mapping[str, Household]
) -> tuple[ItemTotal, ...]:
    boxes: dict[tuple[str, str], int] = {}
    units: dict[tuple[str, str], int] = {}
    for member in members:
        for line in member.lines:
            name = households[member.household_id].item(line.item_code).name
            key = (line.item_code, name)
            boxes[key] = boxes.get(key, 0) + line.boxes
            units[key] = units.get(key, 0) + line.units
    return tuple(
        ItemTotal(item_code=code, item_name=name, boxes=boxes[code, name], units=units[code, name])
        for code, name in sorted(boxes)
    )
