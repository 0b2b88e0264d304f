"""A household lives through its world: it drains, records, looks, orders and receives.

The shelf here is the real one. The record is what the carer typed, which misses units that
went without a note until the next count. Nobody drains less because little is left: a session
that finds too few goods is a short day, and it is tried again the next day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from typing import Protocol

from planner.delivery import SupplierCalendar, order_usual_arrival
from planner.household import Household, Pause, PlanSettings
from planner.ledger import Count, LedgerEntry, Receipt, Waste
from planner.regimen import Pattern
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.stock import shelf_on
from planner.supply import Order, OrderLine, OrderStatus
from tests.studies.closed_loop.worlds import World

SESSION_AT = time(9)
ARRIVES_AT = time(13)
COUNT_AT = time(17)
COUNT_EVERY_DAYS = 14
WASTE_CHANCE = 0.002
VANISH_CHANCE = 0.004
SHORT_DATED_CHANCE = 0.03
MEASURED_FROM_DAY = 28
"""Units and orders are averaged from this day of the study on, past the opening stock."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a carer does on looking: lines to order now, and when to look again."""

    lines: tuple[OrderLine, ...]
    again_on: date
    too_late: bool = False
    by_express: bool = False


class Carer(Protocol):
    """A way of deciding what to order."""

    def look(self, record: Household, day: date, at: time) -> Look:
        """Decide on a day, from the record alone."""
        ...


@dataclass(slots=True)
class Lot:
    """Units of one delivery."""

    lot: str
    expires_on: date
    units: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """What was so about the first session that found too few goods."""

    day: int
    in_transit: bool
    overdue: bool
    record_too_high: int
    kits: int


@dataclass(slots=True)
class Tally:
    """What is counted over one life. Days are days of the study."""

    days: int = 0
    sessions: int = 0
    short_days: int = 0
    first_short: Short | None = None
    measured_days: int = 0
    unit_days: int = 0
    measured_orders: int = 0
    orders: int = 0
    late_orders: int = 0
    express_orders: int = 0
    boxes: int = 0
    used: int = 0
    expired: int = 0
    broken: int = 0
    left_over: int = 0
    looks: int = 0
    opening: int = 0
    received: int = 0
    stock_by_day: list[int] = field(default_factory=list)


def opening_goods(world: World) -> dict[str, int]:
    """Units of each item at home when the study begins."""
    kit, loose = world.catheter.kit_code, world.catheter.bottle_code
    kits = math.ceil(world.opening_days / (world.catheter.regimens[0].usual_gap_days or 7.0))
    if loose is None:
        return {kit: math.ceil(1.5 * kits)}
    return {kit: kits, loose: math.ceil(0.5 * kits)}


class Life:
    """One household in one world with one carer."""

    def __init__(self, world: World, carer: Carer, settings: PlanSettings) -> None:
        self.world, self.carer, self.settings = world, carer, settings
        self.calendar = SupplierCalendar(world.supplier)
        self.tally = Tally()
        self.shelf: dict[str, list[Lot]] = {item.code: [] for item in world.items}
        self.sessions: list[Session] = []
        self.ledger: list[LedgerEntry] = []
        self.orders: list[Order] = []
        self.pauses: list[Pause] = []
        self.coming: list[tuple[date, Order]] = []
        self.held_ml = float(world.inflow_ml[0])
        self.days_since = 1
        self.owed = False
        self.look_on = world.study_on
        self.entries = 0

    def run(self) -> Tally:
        """Live through the whole world."""
        day = self.world.starts_on
        while day < self.world.ends_on:
            if day == self.world.study_on:
                self._stock_up(day)
            self._note_stays(day)
            if day >= self.world.study_on:
                self._day(day)
            else:
                self._session(day, in_study=False)
            self._gather(day)
            day += timedelta(days=1)
        self.tally.left_over = sum(map(self._units, self.shelf))
        return self.tally

    def record(self) -> Household:
        """What the carer has typed so far."""
        world = self.world
        return Household(
            id=f"w{world.seed}",
            name="Household of the study",
            time_zone=world.time_zone,
            items=world.items,
            catheters=(world.catheter,),
            supplier=world.supplier,
            sessions=tuple(self.sessions),
            ledger=tuple(self.ledger),
            orders=tuple(self.orders),
            pauses=tuple(self.pauses),
            settings=self.settings,
        )

    def _day(self, day: date) -> None:
        early = self.world.looks_at < SESSION_AT
        number = (day - self.world.study_on).days
        self._throw_away(day)
        if early:
            self._look(day)
        self._session(day, in_study=True)
        self._receive(day)
        self._mishaps(day)
        if number and number % COUNT_EVERY_DAYS == 0:
            self._count(day)
        if not early:
            self._look(day)
        units = sum(map(self._units, self.shelf))
        self.tally.days += 1
        self.tally.stock_by_day.append(units)
        if number >= MEASURED_FROM_DAY:
            self.tally.measured_days += 1
            self.tally.unit_days += units

    # The shelf.

    def _units(self, code: str) -> int:
        return sum(lot.units for lot in self.shelf[code])

    def _id(self, kind: str) -> str:
        self.entries += 1
        return f"{kind}{self.entries}"

    def _stock_up(self, day: date) -> None:
        at = datetime.combine(day, time(7))
        for item, units in opening_goods(self.world).items():
            self.ledger.append(Count(id=self._id("c"), at=at, item_code=item, units=0))
            self._put(item, units, at + timedelta(minutes=1), day + timedelta(days=500), None)
            self.tally.opening += units

    def _put(
        self, code: str, units: int, at: datetime, expires_on: date, order: str | None
    ) -> None:
        lot = self._id("l")
        self.shelf[code].append(Lot(lot, expires_on, units))
        self.shelf[code].sort(key=lambda one: one.expires_on)
        self.ledger.append(
            Receipt(
                id=self._id("r"),
                at=at,
                item_code=code,
                units=units,
                lot=lot,
                expires_on=expires_on,
                order_id=order,
            )
        )

    def _take(self, code: str) -> None:
        """Use one unit, first expired first."""
        lot = next(one for one in self.shelf[code] if one.units)
        lot.units -= 1

    def _throw_away(self, day: date) -> None:
        for code, lots in self.shelf.items():
            for lot in lots:
                if lot.expires_on < day and lot.units:
                    self._note_waste(code, lot.units, day, "expired", lot.lot)
                    self.tally.expired += lot.units
                    lot.units = 0

    def _mishaps(self, day: date) -> None:
        n = self.world.place(day)
        kit = self.world.catheter.kit_code
        if self.world.waste[n] < WASTE_CHANCE and self._units(kit):
            self._take(kit)
            self._note_waste(kit, 1, day, "dropped", "")
            self.tally.broken += 1
        if self.world.vanish[n] < VANISH_CHANCE and self._units(kit):
            self._take(kit)
            self.tally.broken += 1

    def _note_waste(self, code: str, units: int, day: date, reason: str, lot: str) -> None:
        at = datetime.combine(day, time(7, 30) if reason == "expired" else time(16))
        self.ledger.append(
            Waste(id=self._id("w"), at=at, item_code=code, units=units, reason=reason, lot=lot)
        )

    def _count(self, day: date) -> None:
        at = datetime.combine(day, COUNT_AT)
        for code in self.shelf:
            self.ledger.append(
                Count(id=self._id("c"), at=at, item_code=code, units=self._units(code))
            )

    # Orders.

    def _look(self, day: date) -> None:
        if day < self.look_on:
            return
        self.tally.looks += 1
        at = self.world.looks_at
        found = self.carer.look(self.record(), day, at)
        self.look_on = found.again_on
        if found.lines:
            order = Order(
                id=self._id("o"),
                placed_at=datetime.combine(day, at),
                lines=found.lines,
                is_express=found.by_express,
            )
            calendar = self.calendar.for_order(order)
            usual = calendar.usual_arrival(day, at)
            moved = calendar.add_business_days(usual, self.world.days_late(day))
            arrives_on = calendar.delivery_on_or_after(moved)
            self.orders.append(order)
            self.coming.append((arrives_on, order))
            self.tally.orders += 1
            self.tally.late_orders += found.too_late
            self.tally.express_orders += found.by_express
            self.tally.boxes += sum(line.boxes for line in found.lines)
            if (day - self.world.study_on).days >= MEASURED_FROM_DAY:
                self.tally.measured_orders += 1

    def _receive(self, day: date) -> None:
        for arrives_on, order in [one for one in self.coming if one[0] <= day]:
            self.coming.remove((arrives_on, order))
            short_dated = self.world.dated[self.world.place(day)] < SHORT_DATED_CHANCE
            expires_on = day + timedelta(days=60 if short_dated else 500)
            at = datetime.combine(day, ARRIVES_AT)
            for line in order.lines:
                item = next(one for one in self.world.items if one.code == line.item_code)
                units = line.boxes * item.units_per_box
                self._put(item.code, units, at, expires_on, order.id)
                self.tally.received += units
            done = replace(order, status=OrderStatus.RECEIVED, received_on=day)
            self.orders[self.orders.index(order)] = done
            self.look_on = min(self.look_on, day + timedelta(days=1))

    # The catheter.

    def _note_stays(self, day: date) -> None:
        for stay in self.world.stays:
            if stay.days.starts_on == day:
                known = stay.days.ends_on if stay.end_is_known else None
                self.pauses.append(Pause(starts_on=day, ends_on=known))
            if stay.days.ends_on == day:
                self.pauses[-1] = Pause(starts_on=stay.days.starts_on, ends_on=day)
                self.held_ml, self.days_since, self.owed = 0.0, 1, False

    def _gather(self, day: date) -> None:
        n = self.world.place(day)
        most_ml = 5.0 * (self.world.catheter.regimens[0].session_limit_ml or 1000)
        self.held_ml = min(self.held_ml + float(self.world.inflow_ml[n]), most_ml)
        self.days_since += 1

    def _wants_session(self, day: date) -> bool:
        world, regimen = self.world, self.world.catheter.regimens[0]
        if any(day in stay.days for stay in world.stays):
            return False
        n = world.place(day)
        if self.owed:
            return True
        if regimen.pattern is Pattern.AS_NEEDED:
            return self.held_ml >= world.threshold_ml and bool(world.kept[n] < 0.6)
        if regimen.pattern is Pattern.RRULE:
            due = day.weekday() in _weekdays(regimen.rrule or "")
        else:
            due = self.days_since >= (regimen.every_n_days or 1)
        return bool(world.kept[n] < world.kept_chance if due else world.extra[n] < 0.01)

    def _session(self, day: date, *, in_study: bool) -> None:
        if not self._wants_session(day):
            return
        n, world = self.world.place(day), self.world
        limit_ml = world.catheter.regimens[0].session_limit_ml or 1000
        flows_ml = 0.0 if world.clear[n] < 0.02 else self.held_ml * (0.8 + 0.2 * world.flow[n])
        stop = StopReason.RAN_DRY
        if world.stop[n] < 0.02:
            flows_ml, stop = 0.5 * flows_ml, StopReason.PAIN
        if flows_ml >= limit_ml:
            flows_ml, stop = float(limit_ml), StopReason.LIMIT_REACHED
        bottles, served = self._open_bottles(n, round(flows_ml / 10) * 10, unlimited=not in_study)
        self.tally.sessions += in_study
        if not served:
            self._note_short(day)
            stop = StopReason.NO_FURTHER_BOTTLE
        if not bottles:
            return
        if world.said[n] < 0.3 and stop is StopReason.RAN_DRY:
            stop = StopReason.NOT_SAID
        session = Session(
            id=self._id("s"),
            catheter_id=world.catheter.id,
            started_at=datetime.combine(day, SESSION_AT),
            bottles=tuple(bottles),
            stop_reason=stop,
        )
        self.sessions.append(session)
        self.held_ml = max(self.held_ml - session.volume_ml, 0.0)
        self.days_since = 0
        self.owed = False

    def _open_bottles(
        self, n: int, volume_ml: int, *, unlimited: bool
    ) -> tuple[list[BottleUse], bool]:
        """Bottles opened, and whether they were enough."""
        kit, loose = self.world.catheter.kit_code, self.world.catheter.bottle_code
        sizes = {item.code: item.bottle_ml for item in self.world.items}
        used: list[BottleUse] = []
        left_ml, done = volume_ml, False
        while not done:
            code = kit
            if used and loose and (unlimited or self._units(loose)):
                code = loose
            if not unlimited:
                if not self._units(code):
                    return used, False
                self._take(code)
                self.tally.used += 1
            draws = self.world.losses[n]
            if len(used) < len(draws) and draws[len(used)] < self.world.loss_chance:
                used.append(BottleUse(volume_ml=0, item_code=code, loss=LossReason.VACUUM_LOST))
                continue
            filled_ml = min(left_ml, sizes[code])
            used.append(BottleUse(volume_ml=filled_ml, item_code=code))
            left_ml -= filled_ml
            done = left_ml <= 0
        return used, True

    def _note_short(self, day: date) -> None:
        self.tally.short_days += 1
        self.owed = True
        if self.tally.first_short is None:
            kit = self.world.catheter.kit_code
            usual = [order_usual_arrival(self.calendar, order) for _, order in self.coming]
            self.tally.first_short = Short(
                day=(day - self.world.study_on).days,
                in_transit=bool(self.coming),
                overdue=any(one < day for one in usual),
                record_too_high=shelf_on(self.record(), day).usable_units(kit) - self._units(kit),
                kits=self._units(kit),
            )


def _weekdays(rule: str) -> set[int]:
    names = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
    return {names.index(name) for name in rule.partition("BYDAY=")[2].split(",")}
