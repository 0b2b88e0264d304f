"""Two ways to order: as the plan proposes, and by a rule of thumb."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from planner.dates import in_any
from planner.household import Household
from planner.plan import make_plan
from planner.stock import shelf_on
from planner.supply import OrderLine
from tests.studies.closed_loop.living import Look

NEAR_DAYS = 10
WEEK = timedelta(days=7)
TOMORROW = timedelta(days=1)


class AsPlanned:
    """Looks daily once the order-by date is near, else weekly; orders what the plan proposes.

    The order is placed at the last look before the order-by date's cut-off passes.
    """

    def look(self, record: Household, day: date, at: time) -> Look:
        """Make a plan and do what it says."""
        order = make_plan(record, day, at=at).order
        by = order.order_by_on
        if by is None or not order.lines:
            return Look(lines=(), again_on=day + WEEK)
        again_on = day + (TOMORROW if by <= day + timedelta(days=NEAR_DAYS) else WEEK)
        deadline = datetime.combine(by, record.supplier.cut_off)
        if datetime.combine(again_on, at) <= deadline:
            return Look(lines=(), again_on=again_on)
        lines = tuple(OrderLine(item_code=one.item_code, boxes=one.boxes) for one in order.lines)
        return Look(lines=lines, again_on=day + TOMORROW, too_late=order.too_late)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleOfThumb:
    """Average use of the last days; reorder below so many days of cover, buy so many days.

    Looks every day. An item counts what is at home by the record and on its way. When one item
    is low all are brought up to `reorder_days` + `buy_days`, so that orders are not split.
    Days before the diary count at the prescribed frequency, one and a half bottles a session;
    days away are left out of the average.
    """

    reorder_days: float = 14.0
    buy_days: float = 30.0
    average_days: int = 14

    def look(self, record: Household, day: date, at: time) -> Look:
        """Work out cover from the record, and order when one item is low."""
        shelf = shelf_on(record, day)
        use = self._use_per_day(record, day)
        have = {
            item.code: shelf.usable_units(item.code) + _on_the_way(record, item.code)
            for item in record.items
        }
        kit = record.catheters[0].kit_code
        low = any(have[code] < use[code] * self.reorder_days for code in have) or have[kit] < 2
        if not low:
            return Look(lines=(), again_on=day + TOMORROW)
        lines = []
        for item in record.items:
            target = use[item.code] * (self.reorder_days + self.buy_days)
            target = max(target, 3.0 if item.code == kit else 0.0)
            boxes = math.ceil((target - have[item.code]) / item.units_per_box)
            if boxes > 0:
                lines.append(OrderLine(item_code=item.code, boxes=boxes))
        return Look(lines=tuple(lines), again_on=day + TOMORROW)

    def _use_per_day(self, record: Household, day: date) -> dict[str, float]:
        catheter = record.catheters[0]
        used = dict.fromkeys((item.code for item in record.items), 0.0)
        away = record.pauses_of(catheter.id)
        first = catheter.regimens[0].starts_on
        gap = catheter.regimens[0].usual_gap_days or 7.0
        further = catheter.bottle_code or catheter.kit_code
        taken, back = 0, 0
        while taken < self.average_days:
            back += 1
            one = day - timedelta(days=back)
            if one < first:
                used[catheter.kit_code] += 1.0 / gap
                used[further] += 0.5 / gap
            elif in_any(one, away):
                continue
            else:
                for session in record.sessions:
                    if session.drained_on == one:
                        for bottle in session.bottles:
                            used[bottle.item_code or catheter.kit_code] += 1.0
            taken += 1
        return {code: units / self.average_days for code, units in used.items()}


def _on_the_way(record: Household, code: str) -> int:
    per_box = record.item(code).units_per_box
    return sum(
        line.boxes * per_box
        for order in record.orders
        if order.is_open
        for line in order.lines
        if line.item_code == code
    )
