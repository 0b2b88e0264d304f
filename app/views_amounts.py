"""Other amounts than the proposed one, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time

from app import wording
from app.texts import tr
from app.views_order import lines_text
from planner.alternatives import Amount, AmountKind, Lasting, amounts, how_long
from planner.household import Household
from planner.results import Plan, ProposedLine

_NAMES = {
    AmountKind.PROPOSED: "As proposed",
    AmountKind.ONE_MORE: "One box more",
    AmountKind.ONE_LESS: "One box less",
    AmountKind.KITS_ONLY: "Kits only, no loose bottles",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AmountShown:
    """One amount; `difference` says how many days more or less it probably lasts."""

    code: str
    name: str
    what: str
    lasts: str
    difference: str
    chance: str
    is_limited: bool


def amounts_shown(record: Household, plan: Plan, at: time) -> tuple[AmountShown, ...]:
    """Every amount with how long it would last, were it ordered now."""
    found = amounts(record, plan)
    lasting = {one.kind: how_long(record, plan, one.lines, at=at) for one in found}
    return tuple(_shown(record, plan, one, lasting) for one in found)


def _shown(
    record: Household, plan: Plan, amount: Amount, lasting: dict[AmountKind, Lasting]
) -> AmountShown:
    own, usual = lasting[amount.kind], lasting[AmountKind.PROPOSED]
    return AmountShown(
        code=amount.kind.value,
        name=tr(_NAMES[amount.kind]),
        what=lines_text(record, ((one.item_code, one.boxes) for one in amount.lines)),
        lasts=_lasts(plan, own),
        difference="" if amount.kind is AmountKind.PROPOSED else _difference(own, usual),
        chance=wording.chance_text(own.short_chance),
        is_limited=amount.is_limited,
    )


def _lasts(plan: Plan, lasting: Lasting) -> str:
    if lasting.last_on is None:
        return tr("past {day}", day=wording.day_text(lasting.seen_until, today=plan.as_of))
    if lasting.last_on < plan.as_of:
        return tr("not through today")
    return tr("through {day}", day=wording.day_text(lasting.last_on, today=plan.as_of))


def _difference(own: Lasting, usual: Lasting) -> str:
    if usual.last_on is None:
        return ""
    if own.last_on is None:
        days = wording.days_text((own.seen_until - usual.last_on).days)
        return tr("at least {days} more", days=days)
    more = (own.last_on - usual.last_on).days
    if more == 0:
        return tr("as long")
    return tr("{days} more" if more > 0 else "{days} less", days=wording.days_text(abs(more)))


def lines_of(record: Household, plan: Plan, code: str) -> tuple[ProposedLine, ...] | None:
    """The lines of one amount by its code; None when there is no such amount."""
    return next((one.lines for one in amounts(record, plan) if one.kind.value == code), None)
