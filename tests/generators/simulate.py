"""Invented household records: sessions drawn at random, a shelf that follows from them.

Everything is made up. Volumes are drawn from the planner's own kind of model, so these
records show how the program looks and behaves; they are no evidence about patients.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TypeVar

from planner.dates import WEEKDAY_NAMES, DateRange, in_any
from planner.delivery import SupplierCalendar
from planner.household import Catheter, Household, Pause, PlanSettings
from planner.items import SupplyItem
from planner.ledger import Count, LedgerEntry, Receipt
from planner.regimen import Pattern, regimen_on
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.supply import (
    AuthorizedQuantity,
    Contact,
    Order,
    OrderLine,
    OrderStatus,
    SupplierTerms,
)

AS_OF = date(2026, 3, 8)

Choice = TypeVar("Choice")


class Dice:
    """Random draws that every Python version repeats: only `random()` is taken from it."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def chance(self, probability: float) -> bool:
        """Whether something of this probability happens."""
        return self._random.random() < probability

    def between(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return low + int(self._random.random() * (high - low + 1))

    def pick(self, choices: Sequence[Choice]) -> Choice:
        """One of the choices."""
        return choices[self.between(0, len(choices) - 1)]

    def normal(self) -> float:
        """A standard normal number.

        References:
            Box GEP, Muller ME, Annals of Mathematical Statistics 1958;29:610-1 (from memory).
        """
        first, second = 1.0 - self._random.random(), self._random.random()
        return math.sqrt(-2.0 * math.log(first)) * math.cos(2.0 * math.pi * second)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fluid:
    """How fluid gathers at one catheter.

    Attributes:
        ml_per_day: on the first day of the record. [mL/day]
        weekly_change: of its logarithm. [per week]
        spread: standard deviation of log volume between sessions.
    """

    ml_per_day: float
    weekly_change: float = 0.0
    spread: float = 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How a household keeps its shelf.

    Attributes:
        opening_days, opening_bottle_days: stock on the first day, in days of its later use.
        reorder_days: it orders when less than this is left or on its way. [days]
        cover_days: what one order should last. [days]
        count_every_days: how often it counts. [days]
        orders_until: no order is placed after this day.
        spare_bottles: loose bottles it likes to have beyond its use. [units]
    """

    opening_days: int = 30
    reorder_days: int = 14
    cover_days: int = 28
    count_every_days: int = 14
    orders_until: date = AS_OF
    spare_bottles: int = 4


USUAL_HABITS = Habits()
USUAL_SETTINGS = PlanSettings()


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """One household to invent."""

    id: str
    name: str
    time_zone: str
    supplier: SupplierTerms
    items: tuple[SupplyItem, ...]
    catheters: tuple[Catheter, ...]
    fluids: tuple[Fluid, ...]
    starts_on: date
    habits: Habits = USUAL_HABITS
    pauses: tuple[Pause, ...] = ()
    authorized: tuple[AuthorizedQuantity, ...] = ()
    care_team: Contact | None = None
    settings: PlanSettings = USUAL_SETTINGS
    confirmed_by: str = ""


def invent(home: Home, seed: int) -> Household:
    """Draw a household's record up to `AS_OF`."""
    dice = Dice(seed)
    sessions = tuple(_numbered(_all_sessions(home, dice)))
    ledger, orders = _Keeper(home, sessions, dice).keep()
    return Household(
        id=home.id,
        name=home.name,
        time_zone=home.time_zone,
        items=home.items,
        catheters=home.catheters,
        supplier=home.supplier,
        sessions=sessions,
        ledger=ledger,
        orders=orders,
        pauses=home.pauses,
        authorized=home.authorized,
        care_team=home.care_team,
        settings=home.settings,
    )


# Sessions.


def _all_sessions(home: Home, dice: Dice) -> list[Session]:
    pairs = zip(home.catheters, home.fluids, strict=True)
    drawn = [one for catheter, fluid in pairs for one in _sessions(home, catheter, fluid, dice)]
    return sorted(drawn, key=lambda one: (one.started_at, one.catheter_id))


def _numbered(sessions: list[Session]) -> Iterator[Session]:
    for n, one in enumerate(sessions, 1):
        yield Session(
            id=f"s{n}",
            catheter_id=one.catheter_id,
            started_at=one.started_at,
            bottles=one.bottles,
            stop_reason=one.stop_reason,
        )


def _sessions(home: Home, catheter: Catheter, fluid: Fluid, dice: Dice) -> Iterator[Session]:
    left_ml, last = 0.0, home.starts_on - timedelta(days=1)
    for day in _session_days(home, catheter, dice):
        weeks = (day - home.starts_on).days / 7
        away_days = sum(
            in_any(last + timedelta(days=n), _away(home)) for n in range((day - last).days)
        )
        gap_days = max((day - last).days - away_days, 1)
        rate = fluid.ml_per_day * math.exp(fluid.weekly_change * weeks)
        held_ml = left_ml + rate * gap_days * math.exp(fluid.spread * dice.normal())
        regimen = regimen_on(catheter.regimens, day)
        limit_ml = (regimen.session_limit_ml if regimen else None) or 1000
        drained_ml = round(min(held_ml, limit_ml) / 10) * 10
        left_ml = max(held_ml - limit_ml, 0.0) * 0.5
        minutes = 5 * dice.between(0, 20)
        at = datetime.combine(day, time(8, 30)) + timedelta(minutes=minutes)
        stop = StopReason.LIMIT_REACHED if held_ml >= limit_ml else StopReason.RAN_DRY
        bottles = tuple(_bottles(home, catheter, drained_ml, dice))
        yield Session(
            id="new", catheter_id=catheter.id, started_at=at, bottles=bottles, stop_reason=stop
        )
        last = day


def _away(home: Home) -> tuple[DateRange, ...]:
    return tuple(pause.days for pause in home.pauses)


def _session_days(home: Home, catheter: Catheter, dice: Dice) -> Iterator[date]:
    day = home.starts_on
    next_on = day
    while day <= AS_OF:
        regimen = regimen_on(catheter.regimens, day)
        if regimen is not None and not in_any(day, _away(home)):
            if regimen.pattern is Pattern.RRULE:
                due = WEEKDAY_NAMES[day.weekday()] in (regimen.rrule or "").partition("BYDAY=")[2]
                if due and dice.chance(0.96):
                    yield day
            elif day >= next_on:
                yield day
                next_on = day + timedelta(days=_gap_days(regimen.every_n_days, dice))
        day += timedelta(days=1)


def _gap_days(every_n_days: int | None, dice: Dice) -> int:
    if every_n_days is None:
        return dice.between(5, 12)
    return every_n_days + (1 if every_n_days > 1 and dice.chance(0.05) else 0)


def _bottles(home: Home, catheter: Catheter, volume_ml: int, dice: Dice) -> Iterator[BottleUse]:
    capacity = {item.code: item.capacity_ml or 0 for item in home.items}
    if dice.chance(0.015):
        yield BottleUse(volume_ml=0, loss=LossReason.VACUUM_LOST)
    holds_ml = capacity[catheter.kit_code]
    further_ml = capacity[catheter.bottle_code or catheter.kit_code]
    first = True
    while first or volume_ml > 0:
        filled_ml = min(volume_ml, holds_ml if first else further_ml)
        yield BottleUse(volume_ml=filled_ml)
        volume_ml -= filled_ml
        first = False


# The shelf.


class _Keeper:
    """Lets a household order, receive, use and count, day by day."""

    def __init__(self, home: Home, sessions: Sequence[Session], dice: Dice) -> None:
        self._home = home
        self._dice = dice
        self._calendar = SupplierCalendar(home.supplier)
        self._sessions = sessions
        self._stock = {item.code: 0 for item in home.items}
        self._coming: list[tuple[date, Order]] = []
        self._ledger: list[LedgerEntry] = []
        self._orders: list[Order] = []
        self._daily = self._daily_use()

    def keep(self) -> tuple[tuple[LedgerEntry, ...], tuple[Order, ...]]:
        home, day = self._home, self._home.starts_on
        self._open(day)
        while day <= AS_OF:
            self._receive_due(day)
            for session in self._sessions:
                if session.drained_on == day:
                    self._use(session)
            if day.weekday() < 5 and day <= home.habits.orders_until:
                self._order_if_low(day)
            since_days = (AS_OF - day).days - 1
            if since_days >= 0 and since_days % home.habits.count_every_days == 0:
                self._count(day)
            day += timedelta(days=1)
        self._orders += [order for _, order in self._coming]
        kinds = [Receipt, Count]
        ledger = tuple(sorted(self._ledger, key=lambda entry: kinds.index(type(entry))))
        return ledger, tuple(sorted(self._orders, key=lambda order: order.placed_at))

    def _daily_use(self) -> dict[str, float]:
        """Use per day at home, as the household has come to know it."""
        home = self._home
        days = (AS_OF - home.starts_on).days + 1
        days -= sum(in_any(home.starts_on + timedelta(days=n), _away(home)) for n in range(days))
        used = {item.code: 0 for item in home.items}
        for session in self._sessions:
            catheter = next(c for c in home.catheters if c.id == session.catheter_id)
            used[catheter.kit_code] += 1
            used[catheter.bottle_code or catheter.kit_code] += len(session.bottles) - 1
        return {code: count / max(days, 1) for code, count in used.items()}

    def _open(self, day: date) -> None:
        for code, per_day in self._daily.items():
            if code not in self._drawn_on():
                continue
            units = round(per_day * self._home.habits.opening_days)
            units += self._home.habits.spare_bottles if code in self._bottle_codes() else 2
            self._put(day, code, units, None, time(8))

    def _drawn_on(self) -> set[str]:
        return {catheter.kit_code for catheter in self._home.catheters} | self._bottle_codes()

    def _bottle_codes(self) -> set[str]:
        codes = {catheter.bottle_code for catheter in self._home.catheters}
        return {code for code in codes if code is not None}

    def _put(self, day: date, code: str, units: int, order_id: str | None, at: time) -> None:
        expires_on = (day + timedelta(days=self._dice.between(500, 900))).replace(day=28)
        lot = f"{self._dice.pick('ABCDEFGH')}{self._dice.between(1000, 9999)}"
        self._stock[code] += units
        self._ledger.append(
            Receipt(
                id=f"r{sum(isinstance(e, Receipt) for e in self._ledger) + 1}",
                at=datetime.combine(day, at),
                item_code=code,
                units=units,
                lot=lot,
                expires_on=expires_on,
                order_id=order_id,
            )
        )

    def _use(self, session: Session) -> None:
        catheter = next(c for c in self._home.catheters if c.id == session.catheter_id)
        for n in range(len(session.bottles)):
            loose = catheter.bottle_code
            take = loose if n > 0 and loose and self._stock[loose] > 0 else catheter.kit_code
            self._stock[take] -= 1
            if self._stock[take] < 0:
                raise AssertionError(f"{self._home.id}: no {take} left on {session.drained_on}")

    def _order_if_low(self, day: date) -> None:
        habits = self._home.habits
        low = any(
            self._stock[code] + self._units_coming(code) < self._daily[code] * habits.reorder_days
            for code in self._drawn_on()
        )
        if not low or self._coming:
            return
        lines = []
        for item in self._home.items:
            if item.code not in self._drawn_on():
                continue
            target = self._daily[item.code] * (habits.reorder_days + habits.cover_days)
            target += habits.spare_bottles if item.code in self._bottle_codes() else 0
            boxes = math.ceil((target - self._stock[item.code]) / item.units_per_box)
            if boxes > 0:
                lines.append(OrderLine(item_code=item.code, boxes=boxes))
        placed_at = datetime.combine(day, time(11)) + timedelta(minutes=self._dice.between(0, 90))
        usual = self._calendar.usual_arrival(day, placed_at.time())
        late = self._dice.chance(0.15)
        arrival = self._calendar.add_business_days(usual, 1) if late else usual
        order = Order(
            id=f"o{len(self._orders) + len(self._coming) + 1}",
            placed_at=placed_at,
            lines=tuple(lines),
            promised_on=usual,
            confirmed_by=self._home.confirmed_by,
        )
        self._coming.append((arrival, order))

    def _units_coming(self, code: str) -> int:
        per_box = {item.code: item.units_per_box for item in self._home.items}
        return sum(
            line.boxes * per_box[code]
            for _, order in self._coming
            for line in order.lines
            if line.item_code == code
        )

    def _receive_due(self, day: date) -> None:
        for arrival, order in [one for one in self._coming if one[0] <= day]:
            self._coming.remove((arrival, order))
            received = Order(
                id=order.id,
                placed_at=order.placed_at,
                lines=order.lines,
                status=OrderStatus.RECEIVED,
                promised_on=order.promised_on,
                received_on=day,
                confirmed_by=order.confirmed_by,
            )
            self._orders.append(received)
            per_box = {item.code: item.units_per_box for item in self._home.items}
            for line in order.lines:
                units = line.boxes * per_box[line.item_code]
                self._put(day, line.item_code, units, order.id, time(7, 30))

    def _count(self, day: date) -> None:
        for code in sorted(self._drawn_on()):
            self._ledger.append(
                Count(
                    id=f"c{sum(isinstance(e, Count) for e in self._ledger) + 1}",
                    at=datetime.combine(day, time(20)),
                    item_code=code,
                    units=self._stock[code],
                )
            )
