"""What to do now, in words: whom to call, what to ask for, what to order.

Nothing here may ever suggest draining more, less or on other days.
"""

from __future__ import annotations

from app.messages import message
from app.wording import (
    Names,
    care_team_text,
    chance_text,
    day_text,
    joined,
    likelihood_text,
    line_text,
    order_by_text,
    order_lines_text,
    supplier_text,
)
from planner.results import Plan, ReasonCode, Urgency


def call_texts(plan: Plan, names: Names, language: str | None = None) -> tuple[str, ...]:
    """Whom to call when the shelf runs short; empty when nobody needs a call now."""
    if plan.urgency is not Urgency.SHORT:
        asks = (ReasonCode.DELIVERY_OVERDUE, ReasonCode.RISK_BEFORE_OPEN_DELIVERY)
        must_ask = any(one.code in asks for one in plan.reasons)
        if must_ask or (plan.express is not None and plan.express.unless_by_on is not None):
            where_is_it = _call("call-where-is-it", names, language, plan)
            return (where_is_it, *express_texts(plan, names, language))
        if plan.express is None:
            return ()
        safe = _call("express-safe", names, language, plan)
        return (safe, *express_texts(plan, names, language))
    opens_on = plan.order.order_by_on
    waiting = plan.next_delivery.order_id is not None and not plan.order.too_late
    first = "call-where-is-it" if waiting else "call-express"
    if first == "call-express" and opens_on is not None and opens_on > plan.as_of:
        first = "call-express-on"
    return (
        _call(first, names, language, plan),
        *express_texts(plan, names, language),
        _call("call-care-team", names, language, plan),
        message("keep-to-plan", language=language),
    )


def express_texts(plan: Plan, names: Names, language: str | None = None) -> tuple[str, ...]:
    """What to ask for by express, when it should come and what risk is left."""
    express = plan.express
    if express is None:
        return ()
    by = express.unless_by_on
    parts = [line_text(line, names, language) for line in express.lines]
    if by is not None:
        code = "express-unless-lines" if parts else "express-unless"
    elif express.is_whole:
        code = "express-whole" if plan.urgency is Urgency.SHORT else ""
    else:
        code = "express-lines" if parts else ""
    facts = {
        "lines": joined(parts, language),
        "by": "" if by is None else day_text(by, today=plan.as_of, language=language),
        "usual": day_text(express.usual_on, today=plan.as_of, language=language),
        "chance": chance_text(express.risk, language),
        "likelihood": likelihood_text(express.risk, language),
    }
    said = [message(one, language=language) for one in (code, "express-comes") if one]
    return tuple(one.format_map(facts) for one in said)


def _call(code: str, names: Names, language: str | None, plan: Plan) -> str:
    return message(code, language=language).format(
        supplier=supplier_text(names, language),
        care_team=care_team_text(names, language),
        day=day_text(plan.order.order_by_on or plan.as_of, today=plan.as_of, language=language),
    )


def next_steps(plan: Plan, names: Names, language: str | None = None) -> tuple[str, ...]:
    """What to do now, in order, one sentence each; the last may be that nothing is."""
    steps = [*call_texts(plan, names, language)]
    if plan.order.lines:
        steps.append(order_by_text(plan, language))
        steps.append(order_lines_text(plan.order, names, language))
    elif not steps:
        steps.append(order_by_text(plan, language))
    return tuple(steps)


def who_orders_text(people: list[str], language: str | None = None) -> str:
    """Who places the order; empty when nobody of the household is known."""
    if not people:
        return ""
    return message("who-orders", language=language).format(people=joined(people, language))
