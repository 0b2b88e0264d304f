"""What a reorder is worked out from, and the dates that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time, timedelta

import numpy as np

from planner.delivery import Arrival, SupplierCalendar, likely_latest
from planner.household import Household
from planner.normal import Floats
from planner.runout import ComingOrder, ShelfRunOut, risk_before
from planner.stock import Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderFacts:
    """What the reorder of one household is worked out from.

    Attributes:
        coming: open orders with goods of the shelves.
        risk_by_day: chance of a run-out by day with goods in transit.
        risk_already: part of it that an order placed now can no longer change, because it
            falls before goods in transit that come sooner.
    """

    household: Household
    as_of: date
    at: time | None
    calendar: SupplierCalendar
    lateness: tuple[float, ...]
    shelf: Shelf
    shelves: tuple[ShelfRunOut, ...]
    coming: tuple[ComingOrder, ...]
    risk_by_day: Floats
    risk_already: float
    supply_ends_on: date | None

    @property
    def allowed_risk(self) -> float:
        """Chance of running short that the household's protection accepts."""
        return 1.0 - self.household.settings.protection

    @property
    def allowed_risk_per_shelf(self) -> float:
        """The same for each of its shelves, so that all together keep it."""
        return self.allowed_risk / len(self.shelves)

    def risk_if_ordered(self, day: date, at: time | None = None) -> float:
        """Chance of a run-out before an order placed on a day can be used."""
        return risk_before(self.risk_by_day, self.arrivals_if_ordered(day, at), self.as_of)

    def arrivals_if_ordered(self, day: date, at: time | None = None) -> tuple[Arrival, ...]:
        """When an order placed on a day may arrive."""
        return self.calendar.arrivals(self.calendar.usual_arrival(day, at), self.lateness)

    def arrivals_by(self, order_by: date) -> tuple[Arrival, ...]:
        """When an order placed by its last safe day may arrive."""
        return self.arrivals_if_ordered(order_by, self.at if order_by == self.as_of else None)

    def used_by(self, day: date) -> float:
        """Units of all shelves expected to be used before a day."""
        last = (day - self.as_of).days - 1
        if last < 0:
            return 0.0
        return sum(
            float(one.use.bottles[last] @ np.arange(one.use.bottles.shape[1]))
            for one in self.shelves
        )

    def covers_until(self, order_by: date, cover_days: int) -> date:
        """Day until which an order must last: when one so many days later has surely come.

        Never beyond the days that were forecast.
        """
        next_order = self.calendar.open_on_or_after(order_by + timedelta(days=cover_days))
        arrivals = self.arrivals_if_ordered(next_order)
        latest = likely_latest(arrivals, self.household.settings.protection)
        end = self.as_of + timedelta(days=len(self.risk_by_day))
        return min(latest + timedelta(days=1), end)

    def last_day_before(self, until: date) -> int:
        """The last day before a date, counted from the day of the plan."""
        return (until - self.as_of).days - 1
