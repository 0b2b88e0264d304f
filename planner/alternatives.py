"""Other amounts than the one proposed, and how long each would last."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from planner.household import Household
from planner.items import ItemKind
from planner.plan import make_plan
from planner.results import Plan, ProposedLine
from planner.supply import Order, OrderLine

LONGEST_HORIZON_DAYS = 180
FURTHER_DAYS = 60
"""Days looked ahead beyond the plan, so that a larger amount still shows its end. [days]"""


class AmountKind(StrEnum):
    """How an amount differs from the one proposed."""

    PROPOSED = "proposed"
    ONE_MORE = "one-more"
    ONE_LESS = "one-less"
    KITS_ONLY = "kits-only"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Whole boxes that may be ordered instead.

    Attributes:
        is_limited: a payer or prescriber limits one of the items that become more.
    """

    kind: AmountKind
    lines: tuple[ProposedLine, ...]
    is_limited: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasting:
    """How long an amount lasts when it is ordered on the day of the plan.

    Attributes:
        last_on: last day that is probably covered; None when it lies beyond `seen_until`.
        seen_until: last day that was looked at.
        short_chance: chance to run out before the day until which an order should last,
            what may happen before it arrives included. [fraction]
    """

    last_on: date | None
    seen_until: date
    short_chance: float


def amounts(household: Household, plan: Plan) -> tuple[Amount, ...]:
    """The proposed amount and its neighbours; empty when nothing is proposed.

    One box more or less is a box of the kit of which most are proposed. Kits alone serve in
    place of loose bottles where a kit's bottle holds as much; each stands in for one bottle.
    """
    if not plan.order.lines:
        return ()
    return tuple(_amounts(household, plan.order.lines))


def _amounts(household: Household, lines: tuple[ProposedLine, ...]) -> Iterator[Amount]:
    yield Amount(kind=AmountKind.PROPOSED, lines=lines)
    kits = [one for one in lines if household.item(one.item_code).kind is ItemKind.KIT]
    changed = max(kits or lines, key=lambda one: one.boxes).item_code
    limited = {limit.item_code for limit in household.authorized}
    yield Amount(
        kind=AmountKind.ONE_MORE,
        lines=_with_more(household, lines, changed, 1),
        is_limited=changed in limited,
    )
    less = _with_more(household, lines, changed, -1)
    if less:
        yield Amount(kind=AmountKind.ONE_LESS, lines=less)
    only = _kits_only(household, lines)
    if only is not None:
        yield Amount(
            kind=AmountKind.KITS_ONLY,
            lines=only,
            is_limited=any(one.item_code in limited for one in only),
        )


def _with_more(
    household: Household, lines: tuple[ProposedLine, ...], code: str, more: int
) -> tuple[ProposedLine, ...]:
    """The lines with so many boxes more of an item, which need not be among them."""
    boxes = {one.item_code: one.boxes for one in lines}
    boxes[code] = boxes.get(code, 0) + more
    return tuple(
        ProposedLine(item_code=key, boxes=count, units=count * household.item(key).units_per_box)
        for key, count in boxes.items()
        if count > 0
    )


def _kits_only(
    household: Household, lines: tuple[ProposedLine, ...]
) -> tuple[ProposedLine, ...] | None:
    """Kits in place of every loose bottle; None when there is none, or a kit does not do."""
    found = lines
    for line in lines:
        bottle = household.item(line.item_code)
        if bottle.kind is not ItemKind.BOTTLE:
            continue
        users = (one for one in household.catheters if one.bottle_code == bottle.code)
        kit_code = next((one.kit_code for one in users), None)
        if kit_code is None or household.item(kit_code).bottle_ml < bottle.bottle_ml:
            return None
        kit_boxes = -(-line.units // household.item(kit_code).units_per_box)
        found = _with_more(household, found, bottle.code, -line.boxes)
        found = _with_more(household, found, kit_code, kit_boxes)
    return None if found == lines else found


def how_long(
    household: Household, plan: Plan, lines: tuple[ProposedLine, ...], *, at: time | None = None
) -> Lasting:
    """How long an amount would last, were it ordered on the day of the plan.

    Args:
        household: the record that the plan is of.
        plan: the plan.
        lines: what is ordered.
        at: wall-clock time; None means before the supplier's cut-off.
    """
    order = Order(
        id=_fresh_id(household),
        placed_at=datetime.combine(plan.as_of, at or time.min),
        lines=tuple(OrderLine(item_code=one.item_code, boxes=one.boxes) for one in lines),
    )
    horizon_days = min(plan.horizon_days + FURTHER_DAYS, LONGEST_HORIZON_DAYS)
    settings = household.settings
    ordered = replace(
        household,
        orders=(*household.orders, order),
        settings=replace(settings, horizon_days=max(horizon_days, settings.horizon_days)),
    )
    run_out = make_plan(ordered, plan.as_of, at=at).run_out_with_coming
    until = plan.order.covers_until or plan.as_of
    ends_on = run_out.expected_on
    return Lasting(
        seen_until=run_out.day(len(run_out.chance_by_day) - 1),
        last_on=None if ends_on is None else ends_on - timedelta(days=1),
        short_chance=run_out.chance_by(until - timedelta(days=1)),
    )


def _fresh_id(household: Household) -> str:
    known = {one.id for one in household.orders}
    return next(key for n in range(len(known) + 1) if (key := f"supposed{n}") not in known)
