"""When ordered goods arrive: business days, cut-off, delivery weekdays, lateness."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import holidays

from planner import assumptions
from planner.assumptions import LATENESS_CHANCES
from planner.regimen import parse_rrule
from planner.supply import Order, OrderStatus, StandingDelivery, SupplierTerms

UTC = "UTC"
_SATURDAY = 5
_SEARCH_DAYS = 400


@dataclass(frozen=True, slots=True)
class Arrival:
    """One possible arrival day and its probability."""

    on: date
    chance: float


@dataclass(frozen=True, slots=True)
class SupplierCalendar:
    """The days on which a supplier works and delivers.

    Attributes:
        home_zone: the household's time zone; moments of orders are its wall clock. It matters
            only where the supplier's clock is another.
    """

    terms: SupplierTerms
    home_zone: str = UTC
    _next_open: dict[date, date] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """Business days already looked for, by the day looked from."""

    _next_delivery: dict[date, date] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """The same of delivery days."""

    @property
    def express(self) -> SupplierCalendar | None:
        """The same supplier's days for goods by express; None where it is not known to offer it.

        Express comes on any business day, and as late as the usual van. Assumption, no source.
        """
        terms = self.terms
        if terms.express_business_days is None:
            return None
        quick = replace(
            terms,
            lead_business_days=terms.express_business_days,
            delivery_weekdays=None,
            standing=None,
        )
        return SupplierCalendar(quick, self.home_zone)

    def for_order(self, order: Order) -> SupplierCalendar:
        """The days that an order comes by: those of express, if it was placed as such."""
        return (self.express if order.is_express else None) or self

    def is_open(self, day: date) -> bool:
        """Whether orders are handled on a day: no weekend, holiday or closure."""
        return day.weekday() < _SATURDAY and not self._is_closed(day)

    def delivers_on(self, day: date) -> bool:
        """Whether goods can arrive on a day; named days may lie on a weekend."""
        standing = self.terms.standing
        if standing is not None and _is_agreed_for(standing, day):
            return self._is_standing_day(standing, day)
        weekdays = self.terms.delivery_weekdays
        if weekdays is None:
            return self.is_open(day)
        return day.weekday() in weekdays and not self._is_closed(day)

    def _is_standing_day(self, standing: StandingDelivery, day: date) -> bool:
        """A day of the rule, or the business day that a closed day of the rule moved to."""
        if day in _standing_days(standing, day.year):
            return not self._is_closed(day)
        if not self.is_open(day):
            return False
        before = day - timedelta(days=1)
        while not self.is_open(before) and (day - before).days < _SEARCH_DAYS:
            if self._is_closed(before) and before in _standing_days(standing, before.year):
                return True
            before -= timedelta(days=1)
        return False

    def _is_closed(self, day: date) -> bool:
        if any(c.starts_on <= day <= c.ends_on for c in self.terms.closures):
            return True
        country = self.terms.holiday_country
        if country is None:
            return False
        return day in _public_holidays(country, self.terms.holiday_region, day.year)

    def open_on_or_after(self, day: date) -> date:
        """The first business day not before `day`."""
        found = self._next_open.get(day)
        if found is None:
            found = self._next_open[day] = _first(day, self.is_open)
        return found

    def open_on_or_before(self, day: date) -> date:
        """The last business day not after `day`."""
        return _first(day, self.is_open, step_days=-1)

    def add_business_days(self, day: date, count: int) -> date:
        """The business day `count` business days after `day`, itself one or not."""
        for _ in range(count):
            day = self.open_on_or_after(day + timedelta(days=1))
        return day

    def usual_arrival(self, placed_on: date, at: time | None = None) -> date:
        """Arrival without any lateness.

        Args:
            placed_on: day of the order.
            at: wall-clock time of the order; None means before the cut-off.
        """
        counted_from = self.open_on_or_after(placed_on)
        if at is not None and counted_from == placed_on and self._is_missed(placed_on, at):
            counted_from = self.add_business_days(placed_on, 1)
        ready = self.add_business_days(counted_from, self.terms.lead_business_days)
        return self.delivery_on_or_after(ready)

    def _is_missed(self, day: date, at: time) -> bool:
        terms = self.terms
        return datetime.combine(day, at) > cut_off_at_home(
            day, terms.cut_off, terms.time_zone, self.home_zone
        )

    def delivery_on_or_after(self, day: date) -> date:
        """The first delivery day not before `day`."""
        found = self._next_delivery.get(day)
        if found is None:
            found = self._next_delivery[day] = _first(day, self.delivers_on)
        return found

    def arrivals(self, usual_on: date, lateness: Sequence[float]) -> tuple[Arrival, ...]:
        """Spread a usual arrival over business days late.

        Late goods wait for the next of the supplier's weekdays. A standing delivery that is
        late is the van being late, so it comes on a business day soon after its own.

        Args:
            usual_on: arrival without lateness; kept as it is, since a supplier may promise
                any day.
            lateness: probability of each number of business days late, summing to 1.

        Returns:
            Possible days in order; their chances sum to 1.
        """
        chances: dict[date, float] = {}
        business_day = usual_on
        for late, chance in enumerate(lateness):
            if late:
                business_day = self.add_business_days(business_day, 1)
            moved = business_day
            if self.terms.standing is None:
                moved = self.delivery_on_or_after(moved)
            day = moved if late else usual_on
            chances[day] = chances.get(day, 0.0) + chance
        return tuple(Arrival(day, chance) for day, chance in sorted(chances.items()))


def cut_off_at_home(
    day: date, cut_off: time, supplier_zone: str | None, home_zone: str
) -> datetime:
    """The household's wall clock when the supplier's cut-off of a day comes.

    Args:
        day: the day of the supplier that is meant.
        cut_off: by the supplier's clock.
        supplier_zone: zone of that clock; None for the household's own.
        home_zone: the household's zone.
    """
    there = datetime.combine(day, cut_off)
    if supplier_zone in (None, home_zone):
        return there
    moment = there.replace(tzinfo=ZoneInfo(supplier_zone))
    return moment.astimezone(ZoneInfo(home_zone)).replace(tzinfo=None)


def learn_lateness(calendar: SupplierCalendar, orders: Sequence[Order]) -> tuple[float, ...]:
    """How many business days late goods come: a prior updated by received orders.

    A Dirichlet distribution over 0 to 5 business days late; later arrivals count as 5.

    Returns:
        Probability of each number of business days late, summing to 1.

    References:
        Conjugate Dirichlet-multinomial update, e.g. Gelman et al., Bayesian Data Analysis,
        3rd ed., 2013, section 3.4 (from memory). The prior itself is an assumption.
    """
    weights = [assumptions.LATENESS_WEIGHT * chance for chance in LATENESS_CHANCES]
    for order in orders:
        if order.status is OrderStatus.RECEIVED and order.received_on is not None:
            late = _business_days_late(calendar, order, order.received_on)
            weights[min(late, len(weights) - 1)] += 1.0
    total = sum(weights)
    return tuple(weight / total for weight in weights)


def order_usual_arrival(calendar: SupplierCalendar, order: Order) -> date:
    """The day an order should arrive: as promised, else by the supplier's terms."""
    if order.promised_on is not None:
        return order.promised_on
    own = calendar.for_order(order)
    return own.usual_arrival(order.placed_at.date(), order.placed_at.time())


def is_late(calendar: SupplierCalendar, order: Order, on: date) -> bool:
    """Whether an open order should have come before this day."""
    return order.is_open and order_usual_arrival(calendar, order) < on


def still_to_come(
    calendar: SupplierCalendar,
    arrivals: tuple[Arrival, ...],
    after: date,
    lateness: Sequence[float],
) -> tuple[Arrival, ...]:
    """Arrivals of goods that had not come by the end of `after`.

    Goods that are late already may be later than any that came so far. So they are never
    taken to be surer of a day than if the wait began anew on the next delivery day.
    """
    left = tuple(arrival for arrival in arrivals if arrival.on > after)
    total = sum(arrival.chance for arrival in left)
    rest = tuple(Arrival(arrival.on, arrival.chance / total) for arrival in left)
    if len(left) == len(arrivals):
        return rest
    anew = calendar.arrivals(calendar.delivery_on_or_after(after + timedelta(days=1)), lateness)
    return _later_of(rest, anew) if rest else anew


def _later_of(one: tuple[Arrival, ...], other: tuple[Arrival, ...]) -> tuple[Arrival, ...]:
    """Arrivals that are by no day more likely to have come than either of two."""
    found, before = [], 0.0
    for day in sorted({arrival.on for arrival in (*one, *other)}):
        by_day = min(sum(a.chance for a in part if a.on <= day) for part in (one, other))
        if by_day > before:
            found.append(Arrival(day, by_day - before))
            before = by_day
    return tuple(found)


def likely_latest(arrivals: tuple[Arrival, ...], protection: float) -> date:
    """The first day by which the goods have come with at least this probability."""
    reached = 0.0
    for arrival in arrivals:
        reached += arrival.chance
        if reached >= protection - 1e-12:
            return arrival.on
    return arrivals[-1].on


def mean_day(arrivals: tuple[Arrival, ...]) -> float:
    """The day of arrival on average, as a proleptic ordinal."""
    return sum(arrival.chance * arrival.on.toordinal() for arrival in arrivals)


def most_likely(arrivals: tuple[Arrival, ...]) -> date:
    """The most likely arrival; the earlier one of equals."""
    return max(arrivals, key=lambda arrival: (arrival.chance, -arrival.on.toordinal())).on


def _business_days_late(calendar: SupplierCalendar, order: Order, received_on: date) -> int:
    day = order_usual_arrival(calendar, order)
    late = 0
    while day < received_on:
        day = calendar.add_business_days(day, 1)
        late += 1
    return late


def _first(day: date, accept: Callable[[date], bool], step_days: int = 1) -> date:
    step = timedelta(days=step_days)
    for _ in range(_SEARCH_DAYS):
        if accept(day):
            return day
        day += step
    return day


def _is_agreed_for(standing: StandingDelivery, day: date) -> bool:
    """Whether the standing deliveries have begun and not ended."""
    last = _last_standing_day(standing)
    return standing.starts_on <= day and (last is None or day <= last)


@lru_cache(maxsize=256)
def _last_standing_day(standing: StandingDelivery) -> date | None:
    """The last day of a rule that ends; None for one that does not."""
    if not {"UNTIL", "COUNT"} & {part.partition("=")[0] for part in _parts(standing)}:
        return None
    return max(moment.date() for moment in parse_rrule(standing.rrule, standing.starts_on))


def _parts(standing: StandingDelivery) -> list[str]:
    return standing.rrule.strip().upper().removeprefix("RRULE:").split(";")


@lru_cache(maxsize=1024)
def _standing_days(standing: StandingDelivery, year: int) -> frozenset[date]:
    rule = parse_rrule(standing.rrule, standing.starts_on)
    days = rule.between(datetime(year, 1, 1), datetime(year, 12, 31), inc=True)
    return frozenset(moment.date() for moment in days)


@lru_cache(maxsize=256)
def _public_holidays(country: str, region: str | None, year: int) -> frozenset[date]:
    return frozenset(holidays.country_holidays(country, subdiv=region, years=year))
