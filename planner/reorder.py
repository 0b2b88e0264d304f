"""What to order, how much and by when. A person confirms it; nothing orders by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from planner.assumptions import LATENESS_CHANCES
from planner.boxes import chance_short, fewest_boxes_of, shelf_needs
from planner.caps import capped_lines
from planner.delivery import SupplierCalendar, most_likely
from planner.household import Household
from planner.ledger import Receipt
from planner.refill_rules import refill_window, rule_on
from planner.reorder_facts import ReorderFacts
from planner.results import OrderProposal, Reason, ReasonCode
from planner.runout import risk_before
from planner.thrift import worth_buying

MOST_DAYS_LATE = len(LATENESS_CHANCES) - 1
SPARE_DAYS = 30
"""Days that the next order may be due later than today and still be covered in full."""


def propose_order(facts: ReorderFacts) -> tuple[OrderProposal, tuple[Reason, ...]]:
    """Work out order-by date, boxes and what stands in their way."""
    today_risk = facts.risk_if_ordered(facts.as_of, facts.at)
    too_late = today_risk - facts.risk_already > facts.allowed_risk
    order_by = _order_by(facts, too_late=too_late)
    if order_by is None:
        return _nothing(today_risk), (Reason.because(ReasonCode.NOTHING_TO_ORDER),)
    until = facts.covers_until(order_by, facts.household.settings.cover_days)
    until, short_dated = _until_use_by(facts, order_by, until)
    needs = shelf_needs(facts, order_by)
    wanted = fewest_boxes_of(facts, needs, until)
    if not wanted:
        return _nothing(today_risk), (Reason.because(ReasonCode.NOTHING_TO_ORDER),)
    worth, until, left_for_later = worth_buying(facts, needs, wanted, order_by, until)
    lines, capped = capped_lines(
        household=facts.household,
        shelf=facts.shelf,
        coming=facts.coming,
        used_by_arrival=facts.used_by(most_likely(facts.arrivals_by(order_by))),
        order_on=order_by,
        lines=worth,
    )
    proposal = OrderProposal(
        order_by_on=order_by,
        too_late=too_late,
        risk_if_ordered_today=today_risk,
        lines=lines,
        usual_arrival_on=most_likely(facts.arrivals_by(order_by)),
        covers_until=until,
        chance_short=chance_short(facts, needs, lines, until),
    )
    reasons = [*_order_reasons(facts, proposal), *short_dated, *left_for_later, *capped]
    proposal, conflict = _with_refill_window(facts, proposal)
    return proposal, (*reasons, *conflict)


def _until_use_by(
    facts: ReorderFacts, order_by: date, until: date
) -> tuple[date, tuple[Reason, ...]]:
    """Order no more than can be used in date, going by the last delivery of each item."""
    codes = {code for shelf in facts.shelves for code in shelf.forecast.ordered_codes}
    dated = {
        entry.item_code: (entry.expires_on - entry.at.date()).days
        for entry in sorted(
            (one for one in facts.household.valid_entries if isinstance(one, Receipt)),
            key=lambda one: one.at,
        )
        if entry.order_id and entry.expires_on is not None and entry.item_code in codes
    }
    if not dated:
        return until, ()
    item = min(dated, key=lambda code: dated[code])
    arrival = most_likely(facts.arrivals_by(order_by))
    usable_until = arrival + timedelta(days=dated[item] + 1)
    if usable_until >= until:
        return until, ()
    reason = Reason.because(ReasonCode.GOODS_COME_SHORT_DATED, item=item, days=dated[item])
    return max(usable_until, arrival + timedelta(days=1)), (reason,)


def _nothing(today_risk: float) -> OrderProposal:
    return OrderProposal(
        order_by_on=None,
        too_late=False,
        risk_if_ordered_today=today_risk,
        lines=(),
        usual_arrival_on=None,
        covers_until=None,
        chance_short=0.0,
    )


def _order_by(facts: ReorderFacts, *, too_late: bool) -> date | None:
    """The last business day whose order still arrives in time; today when none does."""
    horizon_end = facts.as_of + timedelta(days=len(facts.risk_by_day) - 1)
    day = facts.calendar.open_on_or_after(facts.as_of)
    if too_late:
        return day
    best = day
    while True:
        arrivals = facts.arrivals_if_ordered(day)
        if arrivals[-1].on > horizon_end:
            return None
        risk = risk_before(facts.risk_by_day, arrivals, facts.as_of)
        if risk - facts.risk_already > facts.allowed_risk:
            return best
        best = day
        day = facts.calendar.add_business_days(day, 1)


def days_to_forecast(household: Household, calendar: SupplierCalendar, as_of: date) -> int:
    """Days that a plan has to look ahead: the wanted horizon, or one whole order cycle."""
    settings = household.settings
    first = calendar.open_on_or_after(as_of + timedelta(days=settings.cover_days))
    arrival = calendar.usual_arrival(first)
    cycle_days = (calendar.add_business_days(arrival, MOST_DAYS_LATE) - as_of).days
    return max(settings.horizon_days, cycle_days + SPARE_DAYS)


def _order_reasons(facts: ReorderFacts, proposal: OrderProposal) -> Iterator[Reason]:
    by = proposal.order_by_on
    if proposal.too_late:
        risk = proposal.risk_if_ordered_today
        yield Reason.because(ReasonCode.SHORT_BEFORE_DELIVERY, risk=risk, order_on=by)
    else:
        yield Reason.because(ReasonCode.ORDER_BY, order_by=by)
    boxes = sum(line.boxes for line in proposal.lines)
    minimum = facts.household.supplier.minimum_boxes
    if 0 < boxes < minimum:
        yield Reason.because(ReasonCode.BELOW_MINIMUM_ORDER, boxes=boxes, minimum_boxes=minimum)


def _with_refill_window(
    facts: ReorderFacts, proposal: OrderProposal
) -> tuple[OrderProposal, tuple[Reason, ...]]:
    """Add the payer's window, and say so when the safe days lie before it."""
    rule = rule_on(facts.household.settings.refill_rule, facts.as_of)
    order_by, arrival = proposal.order_by_on, proposal.usual_arrival_on
    if rule is None or facts.supply_ends_on is None or order_by is None or arrival is None:
        return proposal, ()
    window = refill_window(rule, facts.supply_ends_on)
    proposal = replace(
        proposal,
        earliest_contact_on=window.contact_on,
        earliest_delivery_on=window.delivery_on,
    )
    if order_by >= window.contact_on and arrival >= window.delivery_on:
        return proposal, ()
    conflict = Reason.because(
        ReasonCode.REFILL_WINDOW_CONFLICT,
        order_by=order_by,
        arrival=arrival,
        earliest_contact=window.contact_on,
        earliest_delivery=window.delivery_on,
    )
    return proposal, (conflict,)
