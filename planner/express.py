"""An order by express where the shelf may run short first: when it comes, what to ask for.

Order-by dates and amounts go on protecting without it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from planner.assumptions import READY_DAYS_AFTER_ARRIVAL
from planner.boxes import fewest_boxes_of, needs_before_coming
from planner.caps import capped_lines
from planner.delivery import Arrival, likely_latest, mean_day, most_likely
from planner.reorder_facts import ReorderFacts
from planner.results import ExpressOrder, NextDelivery, OrderProposal, ProposedLine
from planner.runout import risk_before


def express_order(
    facts: ReorderFacts, order: OrderProposal, delivery: NextDelivery, cautious_on: date | None
) -> ExpressOrder | None:
    """What express would do, where the wanted protection is missed.

    An order that is too late the usual way goes by express as a whole. Where only goods on
    their way may come too late, as few boxes as last until these are surely there.

    Args:
        facts: what the plan is made from.
        order: the proposed order.
        delivery: the next goods.
        cautious_on: cautious run-out date of the goods at home.

    Returns:
        None where protection is kept, and where express is not known to be offered or comes no
        sooner.
    """
    calendar = facts.calendar.express
    at_risk = delivery.order_id is not None and delivery.risk > facts.allowed_risk
    if calendar is None or not (order.too_late or at_risk):
        return None
    arrivals = replace(facts, calendar=calendar).arrivals_if_ordered(facts.as_of, facts.at)
    usual_on, unless_by_on = most_likely(arrivals), None
    if order.too_late:
        if mean_day(arrivals) >= mean_day(facts.arrivals_if_ordered(facts.as_of, facts.at)):
            return None
        wanted = order.lines
    else:
        if not _is_sooner(facts, arrivals):
            return None
        wanted = _until_coming(facts)
        if not wanted:
            return None
        ready = timedelta(days=READY_DAYS_AFTER_ARRIVAL)
        unless_by_on = max(usual_on, cautious_on - ready) if cautious_on else usual_on
    lines, _ = capped_lines(
        household=facts.household,
        shelf=facts.shelf,
        coming=facts.coming,
        used_by_arrival=facts.used_by(usual_on),
        order_on=facts.as_of,
        lines=wanted,
    )
    return ExpressOrder(
        usual_on=usual_on,
        latest_on=likely_latest(arrivals, facts.household.settings.protection),
        risk=risk_before(facts.risk_by_day, arrivals, facts.as_of),
        lines=lines,
        is_whole=order.too_late and lines == order.lines,
        unless_by_on=unless_by_on,
    )


def _is_sooner(facts: ReorderFacts, arrivals: tuple[Arrival, ...]) -> bool:
    """Whether express comes sooner, on average, than all goods on their way.

    Goods that should have come long ago may have been lost, however soon they might come.
    """
    waited_for = [one for one in facts.coming if not one.is_overdue]
    return all(mean_day(arrivals) < mean_day(one.arrivals) for one in waited_for)


def _until_coming(facts: ReorderFacts) -> tuple[ProposedLine, ...]:
    """The fewest boxes with which the shelves last until the next goods are surely there."""
    latest = likely_latest(facts.coming[0].arrivals, facts.household.settings.protection)
    until = latest + timedelta(days=READY_DAYS_AFTER_ARRIVAL)
    return fewest_boxes_of(facts, needs_before_coming(facts), until)
