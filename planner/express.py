"""An order by express where the shelf may run short first: when it comes, what to ask for.

Order-by dates and amounts go on protecting without it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np

from planner.assumptions import READY_DAYS_AFTER_ARRIVAL
from planner.boxes import fewest_boxes_of, needs_before_coming
from planner.caps import capped_lines
from planner.delivery import Arrival, is_late, likely_latest, mean_day, most_likely
from planner.normal import Floats
from planner.reorder_facts import ReorderFacts
from planner.results import ExpressOrder, OrderProposal, ProposedLine, RunOut
from planner.runout import ComingOrder, risk_before
from planner.signs import SHORT_CHANCE


def express_order(
    facts: ReorderFacts, order: OrderProposal, at_home: RunOut
) -> ExpressOrder | None:
    """What express would do, where the wanted protection is missed.

    An order that is too late the usual way goes by express as a whole. Where only goods on
    their way may come too late, as few boxes as last until these are surely there. Of goods that
    are late already nobody knows how late, so the wait for them begins anew each day.

    Args:
        facts: what the plan is made from.
        order: the proposed order.
        at_home: run-out of the goods at home.

    Returns:
        None where protection is kept, and where express is not known to be offered or comes no
        sooner.
    """
    calendar = facts.calendar.express
    if calendar is None:
        return None
    arrivals = replace(facts, calendar=calendar).arrivals_if_ordered(facts.as_of, facts.at)
    if order.too_late:
        if mean_day(arrivals) >= mean_day(facts.arrivals_if_ordered(facts.as_of, facts.at)):
            return None
        found = _ordered(facts, order.lines, arrivals, facts.risk_by_day)
        return replace(found, is_whole=found.lines == order.lines)
    doubted = replace(facts, coming=tuple(_doubted(facts, one) for one in facts.coming))
    by_day = np.array(at_home.chance_by_day)
    if not _is_needed(facts, doubted, by_day) or not _is_sooner(doubted, arrivals):
        return None
    wanted = _until_coming(doubted)
    if not wanted:
        return None
    found = _ordered(facts, wanted, arrivals, by_day)
    cautious_on = at_home.cautious_on or found.usual_on
    in_time_on = cautious_on - timedelta(days=READY_DAYS_AFTER_ARRIVAL)
    return replace(found, unless_by_on=max(found.usual_on, in_time_on))


def _ordered(
    facts: ReorderFacts,
    wanted: tuple[ProposedLine, ...],
    arrivals: tuple[Arrival, ...],
    by_day: Floats,
) -> ExpressOrder:
    usual_on = most_likely(arrivals)
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
        risk=risk_before(by_day, arrivals, facts.as_of),
        lines=lines,
        is_whole=False,
    )


def _doubted(facts: ReorderFacts, one: ComingOrder) -> ComingOrder:
    """Goods on their way; of late ones as if they were due on the next delivery day."""
    calendar = facts.calendar.for_order(one.order)
    if not is_late(facts.calendar, one.order, facts.as_of):
        return one
    due_on = calendar.delivery_on_or_after(facts.as_of)
    return replace(one, arrivals=calendar.arrivals(due_on, facts.lateness))


def _is_needed(facts: ReorderFacts, doubted: ReorderFacts, by_day: Floats) -> bool:
    """Whether the goods at home may be short of the next ones, and it is time to act.

    It is where that is likely enough to be called short, where the goods are long overdue, and
    where an order by express could not wait for the next business day.
    """
    if not facts.coming:
        return False
    first = facts.coming[0]
    accepted = facts.allowed_risk if first.is_overdue else max(facts.allowed_risk, SHORT_CHANCE)
    if risk_before(by_day, first.arrivals, facts.as_of) > accepted:
        return True
    return _risk_of_waiting(doubted, by_day) > facts.allowed_risk


def _risk_of_waiting(facts: ReorderFacts, by_day: Floats) -> float:
    """Chance to run out before the next goods and express of the next business day are there.

    Both are taken to be late independently. Assumption, no source.
    """
    express = facts.calendar.express
    assert express is not None
    tomorrow = facts.calendar.open_on_or_after(facts.as_of + timedelta(days=1))
    usual_on = express.usual_arrival(tomorrow, facts.at)
    return sum(
        later.chance
        * risk_before(
            by_day,
            [Arrival(min(one.on, later.on), one.chance) for one in facts.coming[0].arrivals],
            facts.as_of,
        )
        for later in express.arrivals(usual_on, facts.lateness)
    )


def _is_sooner(facts: ReorderFacts, arrivals: tuple[Arrival, ...]) -> bool:
    """Whether express comes sooner, on average, than all goods that are not late yet."""
    waited_for = [
        one for one in facts.coming if not is_late(facts.calendar, one.order, facts.as_of)
    ]
    return all(mean_day(arrivals) < mean_day(one.arrivals) for one in waited_for)


def _until_coming(facts: ReorderFacts) -> tuple[ProposedLine, ...]:
    """The fewest boxes with which the shelves last until the next goods are surely there."""
    latest = likely_latest(facts.coming[0].arrivals, facts.household.settings.protection)
    until = latest + timedelta(days=READY_DAYS_AFTER_ARRIVAL)
    return fewest_boxes_of(facts, needs_before_coming(facts), until)
