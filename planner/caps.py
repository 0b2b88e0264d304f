"""What holds an order down: the payer, the prescription, the room at home. Each is named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from planner.household import Household
from planner.ledger import Receipt
from planner.results import ProposedLine, Reason, ReasonCode
from planner.runout import ComingOrder
from planner.stock import Shelf
from planner.supply import OrderStatus


def capped_lines(
    *,
    household: Household,
    shelf: Shelf,
    coming: Sequence[ComingOrder],
    used_by_arrival: float,
    order_on: date,
    lines: tuple[ProposedLine, ...],
) -> tuple[tuple[ProposedLine, ...], tuple[Reason, ...]]:
    """Keep lines within room and authorized quantities; name whatever binds.

    Args:
        household: whose order it is.
        shelf: what is at home.
        coming: what is on its way.
        used_by_arrival: units expected to be used before the order comes.
        order_on: day on which the order is placed.
        lines: what is wanted.
    """
    lines, no_room = _within_room(household, shelf, coming, used_by_arrival, lines)
    lines, not_authorized = _authorized(household, order_on, lines)
    ends_on = household.settings.prescription_ends_on
    too_old = (
        (Reason.because(ReasonCode.PRESCRIPTION_ENDS, ends_on=ends_on, order_by=order_on),)
        if ends_on is not None and order_on > ends_on and lines
        else ()
    )
    return lines, (*no_room, *not_authorized, *too_old)


def _within_room(
    household: Household,
    shelf: Shelf,
    coming: Sequence[ComingOrder],
    used_by_arrival: float,
    lines: tuple[ProposedLine, ...],
) -> tuple[tuple[ProposedLine, ...], tuple[Reason, ...]]:
    """Leave out boxes that there would be no room for on the usual day of arrival."""
    most = household.settings.most_units_at_home
    if most is None:
        return lines, ()
    codes = {code for one in household.catheters for code in one.kits_that_fit}
    codes |= {one.bottle_code for one in household.catheters if one.bottle_code is not None}
    here = sum(shelf.usable_units(code) for code in codes)
    here += sum(order.units.get(code, 0) for order in coming for code in codes)
    room = most - max(here - used_by_arrival, 0.0)
    boxes = {line.item_code: line.boxes for line in lines}
    per_box = {code: household.item(code).units_per_box for code in boxes}
    while any(boxes.values()) and sum(boxes[code] * per_box[code] for code in boxes) > room:
        fullest = max(boxes, key=lambda code: boxes[code] * per_box[code])
        boxes[fullest] -= 1
    kept = tuple(proposed_line(household, code, count) for code, count in boxes.items() if count)
    reasons = tuple(
        Reason.because(
            ReasonCode.NO_ROOM_AT_HOME,
            item=line.item_code,
            wanted_boxes=line.boxes,
            allowed_boxes=boxes[line.item_code],
            most_units=most,
        )
        for line in lines
        if boxes[line.item_code] < line.boxes
    )
    return kept, reasons


def proposed_line(household: Household, code: str, boxes: int) -> ProposedLine:
    """Whole boxes of an item as a line of an order."""
    per_box = household.item(code).units_per_box
    return ProposedLine(item_code=code, boxes=boxes, units=boxes * per_box)


def _authorized(
    household: Household, order_on: date, lines: tuple[ProposedLine, ...]
) -> tuple[tuple[ProposedLine, ...], tuple[Reason, ...]]:
    """Keep lines within authorized quantities; name the one that binds."""
    kept, reasons = [], []
    for line in lines:
        allowed = _authorized_boxes_left(household, line.item_code, order_on)
        if allowed is None or line.boxes <= allowed:
            kept.append(line)
            continue
        if allowed > 0:
            kept.append(proposed_line(household, line.item_code, allowed))
        reasons.append(
            Reason.because(
                ReasonCode.ORDER_CAPPED,
                item=line.item_code,
                wanted_boxes=line.boxes,
                allowed_boxes=allowed,
            )
        )
    return tuple(kept), tuple(reasons)


def _authorized_boxes_left(household: Household, code: str, order_on: date) -> int | None:
    """Boxes that may still be ordered in the current window; None without a limit."""
    limits = [
        limit
        for limit in household.authorized
        if limit.item_code == code and limit.starts_on <= order_on
    ]
    if not limits:
        return None
    limit = max(limits, key=lambda one: one.starts_on)
    window_from = order_on - timedelta(days=limit.per_days - 1)
    taken = sum(
        units
        for day, item, units in _taken(household)
        if item == code and window_from <= day <= order_on
    )
    per_box = household.item(code).units_per_box
    return max(limit.units - taken, 0) // per_box


def _taken(household: Household) -> Iterator[tuple[date, str, int]]:
    """Units ordered, and received without an order, by day. A yes alone orders nothing yet."""
    for order in household.orders:
        if order.status not in {OrderStatus.CANCELLED, OrderStatus.CONFIRMED}:
            for line in order.lines:
                per_box = household.item(line.item_code).units_per_box
                yield order.placed_at.date(), line.item_code, line.boxes * per_box
    for entry in household.valid_entries:
        if isinstance(entry, Receipt) and not entry.order_id:
            yield entry.at.date(), entry.item_code, entry.units
