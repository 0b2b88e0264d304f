"""Two ways to order: as the plan proposes, and by a rule of thumb."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from planner.dates import in_any
from planner.delivery import SupplierCalendar, is_late, order_usual_arrival
from planner.household import Household
from planner.plan import make_plan
from planner.results import ExpressOrder, Plan, ProposedLine
from planner.stock import shelf_on
from planner.supply import OrderLine
from tests.studies.closed_loop.living import Look

NEAR_DAYS = 10
SHORTEST_COVER, LONGEST_COVER = 7, 60
WEEK = timedelta(days=7)
TOMORROW = timedelta(days=1)


@dataclass(slots=True, kw_only=True)
class AsPlanned:
    """Looks daily once the order-by date is near, else weekly; orders what the plan proposes.

    The order is placed at the last look before the order-by date's cut-off passes. A look at
    which nothing new is on record, and that is not the last one, plans nothing. One carer lives
    in one household. Where the supplier offers express, somebody looks daily while goods are on
    their way, and what the plan asks for by express is ordered at once. Where it asks only in case
    goods cannot come by a day, those not late yet are believed to come on theirs.

    Attributes:
        rhythm: days that an order lasts in a household that uses one unit a day; who uses more
            orders more often, by the root of use, as in the economic order quantity. None for
            the household's own setting.
        unplanned: looks that planned nothing.

    References:
        Harris FW, How Many Parts to Make at Once, 1913 (the square root; from memory).
    """

    rhythm: float | None = None
    unplanned: int = 0
    _known: tuple[int, ...] = ()
    _deadline: datetime | None = None
    _units_per_day: float | None = None

    def look(self, record: Household, day: date, at: time) -> Look:
        """Make a plan and do what it says."""
        tomorrow = datetime.combine(day + TOMORROW, at)
        known = _entries(record)
        waits = record.supplier.express_business_days is not None and _is_waiting(record)
        nothing_new = known == self._known and not (waits and _is_late(record, day))
        if nothing_new and self._deadline is not None and tomorrow <= self._deadline:
            self.unplanned += 1
            return Look(lines=(), again_on=day + TOMORROW)
        self._known, self._deadline = known, None
        plan = self._plan(record, day, at)
        order, express = plan.order, plan.express
        if express is not None and express.lines and _cannot_wait(record, express, day):
            return Look(
                lines=_lines(express.lines),
                again_on=day + TOMORROW,
                too_late=order.too_late,
                by_express=True,
            )
        by = order.order_by_on
        if by is None or not order.lines:
            self._deadline = datetime.combine(day + WEEK, at) if waits else None
            return Look(lines=(), again_on=day + (TOMORROW if waits else WEEK))
        self._deadline = datetime.combine(by, record.supplier.cut_off)
        is_near = waits or by <= day + timedelta(days=NEAR_DAYS)
        again_on = day + (TOMORROW if is_near else WEEK)
        if datetime.combine(again_on, at) <= self._deadline:
            return Look(lines=(), again_on=again_on)
        return Look(lines=_lines(order.lines), again_on=day + TOMORROW, too_late=order.too_late)

    def _plan(self, record: Household, day: date, at: time) -> Plan:
        if self.rhythm is not None and self._units_per_day is None:
            self._learn(make_plan(record, day, at=at))
        if self.rhythm is not None:
            settings = replace(record.settings, cover_days=self.cover_days())
            record = replace(record, settings=settings)
        plan = make_plan(record, day, at=at)
        self._learn(plan)
        return plan

    def cover_days(self) -> int:
        """Days that an order should last at the use of the latest plan."""
        assert self.rhythm is not None
        assert self._units_per_day is not None
        days = round(self.rhythm / math.sqrt(self._units_per_day))
        return min(max(days, SHORTEST_COVER), LONGEST_COVER)

    def _learn(self, plan: Plan) -> None:
        use = plan.shelves[0].use.bottles_mean
        self._units_per_day = max(use[-1] / len(use), 0.05)


def _lines(proposed: Iterable[ProposedLine]) -> tuple[OrderLine, ...]:
    return tuple(OrderLine(item_code=one.item_code, boxes=one.boxes) for one in proposed)


def _cannot_wait(record: Household, express: ExpressOrder, day: date) -> bool:
    """Whether what is on its way is late, or due too late."""
    if express.unless_by_on is None:
        return True
    calendar = SupplierCalendar(record.supplier, record.time_zone)
    due_on = min(order_usual_arrival(calendar, one) for one in record.orders if one.is_open)
    return due_on < day or due_on > express.unless_by_on


def _is_waiting(record: Household) -> bool:
    """Whether goods are on their way."""
    return any(one.is_open for one in record.orders)


def _is_late(record: Household, day: date) -> bool:
    """Whether goods that are on their way should have come."""
    calendar = SupplierCalendar(record.supplier, record.time_zone)
    return any(is_late(calendar, one, day) for one in record.orders)


def _entries(record: Household) -> tuple[int, ...]:
    """How much is on record; it grows with every entry."""
    received = sum(one.received_on is not None for one in record.orders)
    ended = sum(one.days.ends_on is not None for one in record.pauses)
    counts = (record.sessions, record.ledger, record.orders, record.pauses)
    return (*map(len, counts), received, ended)


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
