"""What somebody should know about a household, and how soon somebody has to act.

The one place that decides when a sign shows. No wording here.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from planner.dates import in_any
from planner.household import Catheter, Household
from planner.outlook import all_forecasts, describe, describe_use
from planner.reorder_facts import ReorderFacts
from planner.results import NextDelivery, OrderProposal, Plan, Reason, ReasonCode, Urgency
from planner.runout import ShelfRunOut
from planner.stock import Shelf

DRY_IN_A_ROW = 3
FEW_SESSIONS = 6
RECENT_COUNT_DAYS = 30
SHORT_CHANCE = 0.05
"""A shelf is called short only where running out first is likelier than this, or than accepted.

References:
    Mastrandrea MD et al., Guidance note for lead authors of the IPCC fifth assessment report on
    consistent treatment of uncertainties, 2010, table 1: up to 5 percent is "extremely unlikely"
    (from memory).
"""
SOON_DAYS = 7
_MISSED = (ReasonCode.SHORT_BEFORE_DELIVERY, ReasonCode.RISK_BEFORE_OPEN_DELIVERY)


def urgency(
    household: Household, order: OrderProposal, delivery: NextDelivery, facts: ReorderFacts
) -> Urgency:
    """How soon somebody has to act."""
    if not _in_use(household, facts.as_of):
        return Urgency.RESTING
    risk = max(
        order.risk_if_ordered_today if order.too_late else 0.0,
        delivery.risk if delivery.order_id else 0.0,
    )
    if risk > max(facts.allowed_risk, SHORT_CHANCE):
        return Urgency.SHORT
    if order.order_by_on is None or not order.lines:
        return Urgency.STEADY
    if order.order_by_on <= facts.calendar.open_on_or_after(facts.as_of):
        return Urgency.ORDER_NOW
    if order.order_by_on <= facts.as_of + timedelta(days=SOON_DAYS):
        return Urgency.ORDER_SOON
    return Urgency.STEADY


def misses_protection(plan: Plan) -> bool:
    """Whether supplies are likelier to run out before goods can come than the household accepts.

    It is so for every short shelf, and for others that only miss what was wished for.
    """
    return plan.urgency is Urgency.SHORT or any(one.code in _MISSED for one in plan.reasons)


def household_signs(
    household: Household, shelf: Shelf, shelves: tuple[ShelfRunOut, ...], as_of: date
) -> Iterator[Reason]:
    """Signs that do not depend on the order."""
    yield from _use_signs(household, as_of)
    yield from _forecast_signs(household, shelves)
    yield from _shelf_signs(household, shelf, shelves)


def _in_use(household: Household, day: date) -> bool:
    return any(_catheter_in_use(household, catheter, day) for catheter in household.catheters)


def _catheter_in_use(household: Household, catheter: Catheter, day: date) -> bool:
    removed = catheter.removed_on is not None and catheter.removed_on <= day
    return not removed and not in_any(day, household.pauses_of(catheter.id))


def _use_signs(household: Household, as_of: date) -> Iterator[Reason]:
    for catheter in household.catheters:
        if catheter.removed_on is not None and catheter.removed_on <= as_of:
            yield Reason.because(ReasonCode.NOT_IN_USE, catheter=catheter.label)
        elif not _catheter_in_use(household, catheter, as_of):
            ends = [one.ends_on for one in household.pauses_of(catheter.id) if as_of in one]
            yield Reason.because(ReasonCode.AWAY, catheter=catheter.label, home_on=ends[0])
        own = [s for s in household.valid_sessions if s.catheter_id == catheter.id]
        last = own[-DRY_IN_A_ROW:]
        if len(last) == DRY_IN_A_ROW and all(session.is_dry for session in last):
            yield Reason.because(ReasonCode.THREE_DRY_SESSIONS, catheter=catheter.label)


def _forecast_signs(household: Household, shelves: tuple[ShelfRunOut, ...]) -> Iterator[Reason]:
    for forecast in all_forecasts([one.forecast for one in shelves]):
        if forecast.knowledge.learned_from < FEW_SESSIONS:
            yield Reason.because(
                ReasonCode.LEANS_ON_STARTING_EXPECTATION,
                catheter=forecast.catheter.label,
                sessions=forecast.knowledge.learned_from,
                record_weight=describe(forecast).record_weight,
            )
    if any(one.is_bound for one in shelves):
        yield Reason.because(ReasonCode.RISK_IS_UPPER_BOUND)
    for limit in household.authorized:
        expected = _expected_units(limit.item_code, limit.per_days, shelves)
        if expected is not None and expected > limit.units:
            yield Reason.because(
                ReasonCode.ABOVE_AUTHORIZED,
                item=limit.item_code,
                expected_units=round(expected, 1),
                authorized_units=limit.units,
                per_days=limit.per_days,
            )


def _expected_units(code: str, per_days: int, shelves: tuple[ShelfRunOut, ...]) -> float | None:
    """Expected use of an item in the coming window: sessions for kits, the rest for bottles."""
    for one in shelves:
        use = describe_use(one.use)
        day = min(per_days, len(use.bottles_mean)) - 1
        scale = per_days / (day + 1)
        sessions, bottles = use.sessions_mean[day], use.bottles_mean[day]
        if code == one.forecast.kit_code:
            return scale * (sessions if one.forecast.bottle_code else bottles)
        if code == one.forecast.bottle_code:
            return scale * (bottles - sessions)
    return None


def _shelf_signs(
    household: Household, shelf: Shelf, shelves: tuple[ShelfRunOut, ...]
) -> Iterator[Reason]:
    for item in household.items:
        numbers = (
            (ReasonCode.EXPIRED_ON_SHELF, shelf.expired_units(item.code)),
            (ReasonCode.RECALLED_ON_SHELF, shelf.recalled_units(item.code)),
            (ReasonCode.RECORD_BELOW_ZERO, shelf.missing.get(item.code, 0)),
            (ReasonCode.EXPIRES_BEFORE_USE, expiring_unused(item.code, shelf, shelves)),
        )
        for code, units in numbers:
            if units:
                yield Reason.because(code, item=item.code, units=units)
    for wrong in shelf.wrong_goods:
        yield Reason.because(ReasonCode.WRONG_GOODS_HERE, what=wrong.what, units=wrong.units)
    for one in shelves:
        if one.forecast.kit_code not in shelf.counted_items:
            yield Reason.because(ReasonCode.SHELF_NEVER_COUNTED, item=one.forecast.kit_code)
    recent = shelf.on - timedelta(days=RECENT_COUNT_DAYS)
    for difference in shelf.differences:
        if difference.at.date() >= recent and difference.recorded:
            yield Reason.because(
                ReasonCode.COUNT_DIFFERED,
                item=difference.item_code,
                on=difference.at.date(),
                recorded=difference.recorded,
                counted=difference.counted,
            )


def expiring_unused(code: str, shelf: Shelf, shelves: tuple[ShelfRunOut, ...]) -> int:
    """Units of an item that will probably pass their date unused.

    Of kits of several sizes each has its part by the units that have a date in the horizon,
    which is exact where only one size has any.
    """
    units = 0.0
    for one in shelves:
        if code == one.forecast.bottle_code:
            units += one.at_home.bottles_expired
        elif one.at_home.kits_expired:
            units += one.at_home.kits_expired * _part_of_dated(code, shelf, one)
    return round(units)


def _part_of_dated(code: str, shelf: Shelf, one: ShelfRunOut) -> float:
    """Part of a shelf's kits with a date in the horizon that are of this item. [fraction]"""
    end = shelf.on + timedelta(days=len(one.use.bottles))
    dated = {
        kit: sum(
            lot.units
            for lot in shelf.usable_lots(kit)
            if lot.expires_on is not None and lot.expires_on < end
        )
        for kit in one.forecast.kits_ml
    }
    return dated.get(code, 0) / max(sum(dated.values()), 1)
