"""Refill rules of payers as dated data, not as code.

A rule says how long before the expected end of supply a supplier may contact the patient
and deliver. It never moves a warning: where rule and safety disagree, the plan shows both.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True, kw_only=True)
class RefillRule:
    """One version of a rule.

    Attributes:
        name: what a household's settings call it.
        holds_from: first day of service to which this version applies.
        contact_days_before_end: no contact earlier than this. [calendar days]
        delivery_days_before_end: no delivery earlier than this. [calendar days]
        source: where it is published.
    """

    name: str
    holds_from: date
    contact_days_before_end: int
    delivery_days_before_end: int
    source: str


REFILL_RULES = (
    RefillRule(
        name="us-medicare",
        holds_from=date(2024, 1, 1),
        contact_days_before_end=30,
        delivery_days_before_end=10,
        source="CMS final rule CMS-1780-F, in force from 1 January 2024; CMS refill requirements",
    ),
)
"""Known rules. Versions before 2024 counted from shipping and are left out: a plan looks ahead."""


def rule_on(name: str | None, day: date) -> RefillRule | None:
    """The version of a rule that holds on a day; None when there is none."""
    versions = [rule for rule in REFILL_RULES if rule.name == name and rule.holds_from <= day]
    return max(versions, key=lambda rule: rule.holds_from, default=None)


def known_rules() -> tuple[str, ...]:
    """Names that settings may use."""
    return tuple(sorted({rule.name for rule in REFILL_RULES}))


@dataclass(frozen=True, slots=True)
class RefillWindow:
    """Earliest days that a rule allows."""

    contact_on: date
    delivery_on: date


def refill_window(rule: RefillRule, supply_ends_on: date) -> RefillWindow:
    """The rule's window for an expected last day of supply.

    Examples:
        >>> rule = REFILL_RULES[0]
        >>> refill_window(rule, date(2026, 3, 31))
        RefillWindow(contact_on=datetime.date(2026, 3, 1), delivery_on=datetime.date(2026, 3, 21))
    """
    return RefillWindow(
        contact_on=supply_ends_on - timedelta(days=rule.contact_days_before_end),
        delivery_on=supply_ends_on - timedelta(days=rule.delivery_days_before_end),
    )
