"""Who supplies the household, on which terms, and what has been ordered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise, takewhile

from holidays import list_supported_countries

from planner.dates import require_time_zone
from planner.errors import InvalidValue, require_int, require_text
from planner.order_steps import IN_TRANSIT, OrderStatus, OrderStep, require_soon, state_after
from planner.regimen import parse_rrule

__all__ = [
    "AuthorizedQuantity",
    "Closure",
    "Contact",
    "Order",
    "OrderLine",
    "OrderStatus",
    "StandingDelivery",
    "SupplierTerms",
]

LONGEST_CLOSURE_DAYS = 92
LONGEST_STANDING_GAP_DAYS = 92
LONGEST_EXPRESS_BUSINESS_DAYS = 10
_LOOKED_AT_DAYS = 731


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """Whom to call."""

    name: str
    phone: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """Days on which a supplier neither handles orders nor delivers, both ends included."""

    starts_on: date
    ends_on: date
    reason: str = ""

    def __post_init__(self) -> None:
        if self.ends_on < self.starts_on:
            fix = f"it must not be before the first day, {self.starts_on}"
            raise InvalidValue("ends_on", self.ends_on, fix)
        if (self.ends_on - self.starts_on).days >= LONGEST_CLOSURE_DAYS:
            fix = f"a closure may last {LONGEST_CLOSURE_DAYS} days; name another supplier instead"
            raise InvalidValue("ends_on", self.ends_on, fix)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingDelivery:
    """Deliveries on days agreed once, such as every second Tuesday.

    What was ordered before a day's cut-off comes with that day's delivery: the cut-off lies
    the supplier's lead time before it. A day on which the supplier is closed moves to the
    next business day. Before `starts_on`, and after a rule that ends, goods come on any
    business day.

    Attributes:
        rrule: recurrence rule of RFC 5545 section 3.3.10, e.g. FREQ=WEEKLY;INTERVAL=2;BYDAY=TU.
        starts_on: day from which the rule is expanded; it decides which weeks of a rule
            with an INTERVAL are meant.
    """

    rrule: str
    starts_on: date

    def __post_init__(self) -> None:
        require_text("rrule", self.rrule, at_most=200)
        days = _first_standing_days(self.rrule, self.starts_on)
        if (days[0] - self.starts_on).days > LONGEST_STANDING_GAP_DAYS or any(
            (later - earlier).days > LONGEST_STANDING_GAP_DAYS for earlier, later in pairwise(days)
        ):
            fix = f"its deliveries lie more than {LONGEST_STANDING_GAP_DAYS} days apart; check it"
            raise InvalidValue("rrule", self.rrule, fix)


@lru_cache(maxsize=256)
def _first_standing_days(rule: str, starts_on: date) -> tuple[date, ...]:
    last = starts_on + timedelta(days=_LOOKED_AT_DAYS)
    moments = takewhile(lambda one: one.date() <= last, parse_rrule(rule, starts_on))
    return tuple(moment.date() for moment in moments)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierTerms:
    """How a supplier takes orders and delivers.

    Attributes:
        lead_business_days: business days from the order day to the delivery.
        cut_off: orders after this wall-clock time count as placed the next business day.
        time_zone: IANA name of the zone of that clock; None for the household's own.
        delivery_weekdays: weekdays on which the van comes, Monday = 0; None means any
            business day.
        standing: days agreed once on which goods come; it takes the place of
            `delivery_weekdays`.
        holiday_country: ISO 3166-1 alpha-2 code whose public holidays the supplier keeps.
        holiday_region: ISO 3166-2 subdivision, without the country's prefix.
        closures: further closed days.
        minimum_boxes: fewest boxes in one order.
        express_business_days: business days from the order day to the door by express, which
            comes on any business day; None when express is not offered or not known.
    """

    name: str
    lead_business_days: int
    cut_off: time = time(15, 0)
    time_zone: str | None = None
    delivery_weekdays: tuple[int, ...] | None = None
    standing: StandingDelivery | None = None
    holiday_country: str | None = None
    holiday_region: str | None = None
    closures: tuple[Closure, ...] = ()
    minimum_boxes: int = 0
    express_business_days: int | None = None
    contact: Contact | None = None

    def __post_init__(self) -> None:
        require_text("name", self.name)
        lead = self.lead_business_days
        require_int("lead_business_days", lead, at_least=0, at_most=60, unit="business days")
        require_int("minimum_boxes", self.minimum_boxes, at_least=0, at_most=100, unit="boxes")
        _require_quicker(self.express_business_days, lead)
        if self.time_zone is not None:
            require_time_zone("time_zone", self.time_zone)
        _require_known_holidays(self.holiday_country, self.holiday_region)
        if self.delivery_weekdays is not None and self.standing is not None:
            fix = "leave it out where standing deliveries say when the van comes"
            raise InvalidValue("delivery_weekdays", self.delivery_weekdays, fix)
        if self.delivery_weekdays is not None and not self.delivery_weekdays:
            fix = "name at least one weekday, or leave it out for any business day"
            raise InvalidValue("delivery_weekdays", None, fix)
        if not set(self.delivery_weekdays or ()) <= set(range(7)):
            fix = "number the weekdays from 0 for Monday to 6 for Sunday"
            raise InvalidValue("delivery_weekdays", self.delivery_weekdays, fix)


def _require_quicker(express: int | None, lead: int) -> None:
    if express is None:
        return
    most, unit = LONGEST_EXPRESS_BUSINESS_DAYS, "business days"
    require_int("express_business_days", express, at_least=0, at_most=most, unit=unit)
    if express > lead:
        fix = f"give no more than the {lead} of a usual order, or leave it empty for no express"
        raise InvalidValue("express_business_days", express, fix)


def _require_known_holidays(country: str | None, region: str | None) -> None:
    if country is None:
        if region is not None:
            fix = "name the holiday_country it belongs to, or leave it out"
            raise InvalidValue("holiday_region", region, fix)
        return
    known = list_supported_countries()
    if country not in known:
        fix = "give a two-letter country code such as GB, or leave it out"
        raise InvalidValue("holiday_country", country, fix)
    if region is not None and region not in known[country]:
        choices = ", ".join(known[country][:12]) or "none"
        fix = f"{country} has no such region here; leave it out or choose one ({choices}, ...)"
        raise InvalidValue("holiday_region", region, fix)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """So many whole boxes of one item."""

    item_code: str
    boxes: int

    def __post_init__(self) -> None:
        require_text("item", self.item_code, at_most=40)
        require_int("boxes", self.boxes, at_least=1, at_most=200, unit="boxes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """An order that a person has confirmed.

    Attributes:
        placed_at: local wall-clock time of placing it; of the confirmation before that.
        promised_on: delivery day the supplier named, if it did.
        received_on: day the goods came, for a received order.
        confirmed_by: who said yes to it.
        steps: its history; empty for an order that was loaded without one. What it adds up
            to is repeated in the attributes above.
        is_express: it was placed as express.
    """

    id: str
    placed_at: datetime
    lines: tuple[OrderLine, ...]
    status: OrderStatus = OrderStatus.PLACED
    promised_on: date | None = None
    received_on: date | None = None
    confirmed_by: str = ""
    steps: tuple[OrderStep, ...] = ()
    is_express: bool = False

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        if self.steps:
            self._agree_with_steps()
        elif self.promised_on is not None:
            require_soon("promised_on", self.promised_on, self.placed_at.date())
        if not self.lines:
            raise InvalidValue("lines", None, "list at least one item with its boxes")
        if self.status is OrderStatus.RECEIVED and self.received_on is None:
            raise InvalidValue("received_on", None, "say on which day the goods came")
        if self.received_on is not None and self.received_on < self.placed_at.date():
            fix = f"it lies before the order of {self.placed_at.date()}"
            raise InvalidValue("received_on", self.received_on, fix)

    def _agree_with_steps(self) -> None:
        state = state_after(self.steps)
        for field in ("status", "placed_at", "promised_on", "received_on"):
            said, found = getattr(self, field), getattr(state, field)
            if said != found:
                raise InvalidValue(field, said, f"its steps lead to {found}; correct one of them")

    @property
    def is_open(self) -> bool:
        """Whether goods of this order may still come: it was placed and is not complete."""
        return self.status in IN_TRANSIT


@dataclass(frozen=True, slots=True, kw_only=True)
class AuthorizedQuantity:
    """Most units of one item that the payer or prescriber allows in a period.

    Attributes:
        units: single units allowed in any window of `per_days`. [units]
        per_days: length of the window. [days]
        starts_on: first day on which this limit holds.
    """

    item_code: str
    units: int
    per_days: int
    starts_on: date

    def __post_init__(self) -> None:
        require_text("item", self.item_code, at_most=40)
        require_int("units", self.units, at_least=1, at_most=10_000, unit="units")
        require_int("per_days", self.per_days, at_least=1, at_most=366, unit="days")
