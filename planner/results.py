"""What a plan says. Facts only: the wording belongs to whoever shows them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

Fact = str | int | float | date | None


class Urgency(StrEnum):
    """How soon somebody has to act for a household, most urgent first."""

    SHORT = "short"
    ORDER_NOW = "order-now"
    ORDER_SOON = "order-soon"
    STEADY = "steady"
    RESTING = "resting"


class ReasonCode(StrEnum):
    """Why a plan looks the way it does, or what somebody should know about it."""

    SHORT_BEFORE_DELIVERY = "short-before-delivery"
    RISK_BEFORE_OPEN_DELIVERY = "risk-before-open-delivery"
    ORDER_BY = "order-by"
    NOTHING_TO_ORDER = "nothing-to-order"
    DELIVERY_OVERDUE = "delivery-overdue"
    LEANS_ON_STARTING_EXPECTATION = "leans-on-starting-expectation"
    THREE_DRY_SESSIONS = "three-dry-sessions"
    ABOVE_AUTHORIZED = "above-authorized"
    ORDER_CAPPED = "order-capped"
    LAST_BOX_LEFT_FOR_LATER = "last-box-left-for-later"
    GOODS_COME_SHORT_DATED = "goods-come-short-dated"
    NO_ROOM_AT_HOME = "no-room-at-home"
    PRESCRIPTION_ENDS = "prescription-ends"
    BELOW_MINIMUM_ORDER = "below-minimum-order"
    EXPIRED_ON_SHELF = "expired-on-shelf"
    EXPIRES_BEFORE_USE = "expires-before-use"
    RECALLED_ON_SHELF = "recalled-on-shelf"
    WRONG_GOODS_HERE = "wrong-goods-here"
    COUNT_DIFFERED = "count-differed"
    SHELF_NEVER_COUNTED = "shelf-never-counted"
    RECORD_BELOW_ZERO = "record-below-zero"
    AWAY = "away"
    NOT_IN_USE = "not-in-use"
    REFILL_WINDOW_CONFLICT = "refill-window-conflict"
    RISK_IS_UPPER_BOUND = "risk-is-upper-bound"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason with the facts that its sentence needs."""

    code: ReasonCode
    facts: dict[str, Fact] = field(default_factory=dict)

    @classmethod
    def because(cls, code: ReasonCode, **facts: Fact) -> Reason:
        """A reason with its facts given by name."""
        return cls(code=code, facts=facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemOnHand:
    """One item on the shelf, told apart by whether it can be used.

    All numbers are single units. `usable` includes `expiring_before_use`, units that will
    probably pass their date first. `away` is usable but in the travel bag, not on the shelf.
    `in_transit` is ordered, not received, and never stock.
    """

    item_code: str
    usable: int
    expiring_before_use: int = 0
    expired: int = 0
    recalled: int = 0
    away: int = 0
    in_transit: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOut:
    """When the first session falls that cannot be done for want of usable goods.

    Attributes:
        as_of: day of the plan.
        chance_by_day: entry d is the probability that the run-out falls on or before
            `as_of` + d. [fraction]
        expected_on: first day with probability at least one half; None beyond the horizon.
        cautious_on: first day with probability at least 1 - protection; None likewise.
    """

    as_of: date
    chance_by_day: tuple[float, ...]
    expected_on: date | None
    cautious_on: date | None

    @property
    def expected_days(self) -> int | None:
        """Days of supply, counting today, that will probably be covered. [days]"""
        return None if self.expected_on is None else (self.expected_on - self.as_of).days

    @property
    def cautious_days(self) -> int | None:
        """Days of supply that are covered at the wanted protection. [days]"""
        return None if self.cautious_on is None else (self.cautious_on - self.as_of).days

    def chance_by(self, day: date) -> float:
        """Probability that the run-out falls on or before a day within the horizon."""
        offset = (day - self.as_of).days
        if offset < 0:
            return 0.0
        return self.chance_by_day[min(offset, len(self.chance_by_day) - 1)]

    def day(self, offset: int) -> date:
        """The calendar day of one entry of `chance_by_day`."""
        return self.as_of + timedelta(days=offset)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPlan:
    """Goods that serve the same catheters: one kit and its loose bottle.

    Attributes:
        kit_code: the kit that is ordered.
        usable_kits: of every size that fits. [units]
        run_out: with the goods at home only.
        kits_left: kits still there by day, none after the run-out.
        use: expected use of these goods, whether they are there or not.
        other_kit_codes: kits of other sizes that are used as well and never ordered.
    """

    kit_code: str
    bottle_code: str | None
    usable_kits: int
    usable_bottles: int
    run_out: RunOut
    kits_left: KitsLeft
    use: UseByDay
    other_kit_codes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class KitsLeft:
    """Kits left at the end of each day from the day of the plan, goods at home only.

    Attributes:
        mean: expected number. [kits]
        low, high: 10 and 90 percent quantiles. [kits]
    """

    mean: tuple[float, ...]
    low: tuple[int, ...]
    high: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class UseByDay:
    """Cumulative use from the day of the plan, by day.

    Attributes:
        sessions_mean: expected sessions on or before each day.
        bottles_mean: expected bottles opened, kits' bottles and losses included.
        bottles_low: 10 percent quantile of bottles opened.
        bottles_high: 90 percent quantile of bottles opened.
    """

    sessions_mean: tuple[float, ...]
    bottles_mean: tuple[float, ...]
    bottles_low: tuple[int, ...]
    bottles_high: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextDelivery:
    """The next goods to arrive: an open order, or one placed on the day of the plan.

    Attributes:
        order_id: the open order; None for "if ordered today".
        usual_on: most likely arrival.
        latest_on: arrival that is exceeded with probability 1 - protection.
        risk: probability of running out before these goods can be used. [fraction]
    """

    order_id: str | None
    usual_on: date
    latest_on: date
    risk: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedLine:
    """Whole boxes of one item to order."""

    item_code: str
    boxes: int
    units: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderProposal:
    """What to order and by when. A person confirms it; nothing is ever sent by itself.

    Attributes:
        order_by_on: last business day on which ordering keeps the wanted protection; the
            day of the plan when it is already too late; None when no order is needed
            within the horizon.
        too_late: ordering on the day of the plan no longer gives the wanted protection.
        risk_if_ordered_today: probability of running out before an order placed today can
            be used. [fraction]
        lines: whole boxes; empty when none are needed.
        usual_arrival_on: most likely arrival when placed on `order_by_on`.
        covers_until: day until which the order is meant to last, exclusive.
        chance_short: probability of running short before `covers_until` with this order.
        earliest_contact_on, earliest_delivery_on: the refill rule's window, if one applies.
    """

    order_by_on: date | None
    too_late: bool
    risk_if_ordered_today: float
    lines: tuple[ProposedLine, ...]
    usual_arrival_on: date | None
    covers_until: date | None
    chance_short: float
    earliest_contact_on: date | None = None
    earliest_delivery_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpressOrder:
    """An order by express that would help, placed on the day of the plan.

    Attributes:
        usual_on: most likely arrival.
        latest_on: arrival that is exceeded with probability 1 - protection.
        risk: probability of running out before these goods can be used. [fraction]
        lines: whole boxes to ask for; empty when none may be ordered.
        is_whole: they are the whole proposed order, so that no other is needed.
        unless_by_on: express is needed only if goods on their way cannot come by this day;
            None where it is needed in any case.
    """

    usual_on: date
    latest_on: date
    risk: float
    lines: tuple[ProposedLine, ...]
    is_whole: bool
    unless_by_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterOutlook:
    """The few facts about one catheter that drive the dates.

    Attributes:
        rate_ml_per_day: median accumulation now. [mL/day]
        rate_low_ml_per_day, rate_high_ml_per_day: 80 percent interval.
        weekly_change: median change of the rate per week. [fraction]
        further_bottle_chance: chance that a session on the usual gap opens more than one
            bottle.
        bottles_per_session: expected bottles opened on the usual gap, losses included.
        loss_chance: chance that an opened bottle is lost.
        kept_chance: chance that a prescribed session takes place on its day; None when
            as needed.
        sessions_learned_from: recorded sessions whose volume was used.
        record_weight: how much the record says against the starting expectation, 0 to 1.
    """

    catheter_id: str
    rate_ml_per_day: float
    rate_low_ml_per_day: float
    rate_high_ml_per_day: float
    weekly_change: float
    usual_gap_days: float
    further_bottle_chance: float
    bottles_per_session: float
    loss_chance: float
    kept_chance: float | None
    sessions_learned_from: int
    record_weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One household's plan as of a day; what every page, feed and command reads.

    Attributes:
        horizon_days: days looked ahead, at least as many as the settings ask for.
        run_out: with the usable goods at home only; an order is not stock until it is there.
        run_out_with_coming: with goods in transit as well, at their uncertain arrival; the
            same as `run_out` when nothing is on its way.
        express: what express would do where the wanted protection is missed; None where it
            is kept, and where express is not known to be offered or comes no sooner.
    """

    household_id: str
    as_of: date
    protection: float
    horizon_days: int
    urgency: Urgency
    on_hand: tuple[ItemOnHand, ...]
    run_out: RunOut
    run_out_with_coming: RunOut
    shelves: tuple[ShelfPlan, ...]
    next_delivery: NextDelivery
    order: OrderProposal
    outlooks: tuple[CatheterOutlook, ...]
    reasons: tuple[Reason, ...]
    express: ExpressOrder | None = None

    def reason(self, code: ReasonCode) -> Reason | None:
        """The reason with this code, if the plan gives it."""
        return next((reason for reason in self.reasons if reason.code is code), None)
