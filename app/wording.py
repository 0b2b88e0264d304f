"""Plan facts as plain sentences: the one place that words what a plan says.

Every function takes the language last; without one it is the reader's; the words themselves are in
`app.messages`. Sentences for patients stay at a reading grade of about six. None of them
suggests draining more, less or on other days: a short shelf means calling somebody.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from app import display
from app.display import DateStyle, VolumeUnit
from app.messages import message
from planner.household import Household
from planner.items import ItemKind
from planner.results import (
    Fact,
    OrderProposal,
    Plan,
    ProposedLine,
    Reason,
    ReasonCode,
    RunOut,
    Urgency,
)
from planner.signs import SHORT_CHANCE
from planner.supply import Contact

STANDING_CAUTION = message("caution")

_WORDED_LIKELIHOODS = ((0.99, "99"), (0.90, "90"), (0.66, "66"), (0.33, "33"), (0.10, "10"))
_ROUND_ODDS = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500, 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What a household calls its goods, and whom it calls.

    Attributes:
        items: name by item code.
        kinds: kind by item code.
        supplier, care_team: name and phone; None when not entered.
    """

    items: dict[str, str] = field(default_factory=dict)
    kinds: dict[str, ItemKind] = field(default_factory=dict)
    supplier: Contact | None = None
    care_team: Contact | None = None


def names_of(household: Household) -> Names:
    """The names that a household's sentences need."""
    terms = household.supplier
    return Names(
        items={item.code: item.name for item in household.items},
        kinds={item.code: item.kind for item in household.items},
        supplier=terms.contact or Contact(name=terms.name),
        care_team=household.care_team,
    )


def caution(language: str | None = None) -> str:
    """The line that stands on every page and under every plan."""
    return message("caution", language=language)


# Dates, counts, chances.


def day_text(
    day: date, *, today: date | None = None, with_year: bool = False, language: str | None = None
) -> str:
    """A day as people say it, "Tue 14 April"; the year when asked for or not `today`'s.

    Who looks at the page may have chosen another way to write days.
    """
    other_year = today is not None and today.year != day.year
    style = display.current().date_style
    code = "day-with-year" if with_year or other_year else "day"
    if style is not DateStyle.USUAL:
        code = f"{code}-{style.value}"
    return _day(code, day, language)


def short_day_text(day: date, language: str | None = None) -> str:
    """A day without weekday for narrow places, "3 Dec"."""
    month_first = display.current().date_style is DateStyle.MONTH_FIRST
    return _day("day-month-first" if month_first else "day-short", day, language)


def _day(code: str, day: date, language: str | None) -> str:
    return message(code, language=language).format(
        weekday=message("weekdays", language=language).split()[day.weekday()],
        weekday_long=message("weekday-names", language=language).split()[day.weekday()],
        day=day.day,
        month=message("months", language=language).split()[day.month - 1],
        month_short=message("months-short", language=language).split()[day.month - 1],
        year=day.year,
        iso=day.isoformat(),
    )


def volume_text(volume_ml: float, language: str | None = None) -> str:
    """A volume with its unit, in the unit that the person chose; it is stored in mL."""
    unit = display.current().volume_unit
    if unit is VolumeUnit.FLUID_OUNCE:
        shown = number_text(display.to_fluid_ounces(volume_ml), 1, language)
    else:
        shown = number_text(volume_ml, language=language)
    return message(f"volume-{unit.value}", language=language).format(volume=shown)


def count_text(count: int, noun: str, language: str | None = None) -> str:
    """A whole number with its noun: `days`, `weeks`, `sessions`, `boxes` or an item kind."""
    return message(noun, count=count, language=language).format(
        count=number_text(count, language=language)
    )


def number_text(number: float, decimals: int = 0, language: str | None = None) -> str:
    """A number with the marks for thousands and decimals that the language uses."""
    plain = f"{number:,.{decimals}f}"
    return plain.translate(str.maketrans(",.", message("number-marks", language=language)))


def boxes_text(boxes: int, item: str, language: str | None = None) -> str:
    """So many boxes of an item, "2 boxes of Chest kit"."""
    count = count_text(boxes, "boxes", language)
    return message("order-line", language=language).format(boxes=count, item=item)


def days_text(days: int, language: str | None = None) -> str:
    """So many days, "1 day" or "12 days"."""
    return count_text(days, "days", language)


def units_text(units: int, kind: ItemKind, language: str | None = None) -> str:
    """So many single units of a kind, "3 kits"."""
    return count_text(units, kind.value, language)


def chance_text(chance: float, language: str | None = None) -> str:
    """A probability as odds that people can picture, "about 1 in 20"."""
    if chance < 0.001:
        return message("chance-none", language=language)
    if chance > 0.99:
        return message("chance-nearly-all", language=language)
    if chance >= 0.95:
        return message("chance-most", language=language)
    if chance >= 0.55:
        return message("chance-of-ten", language=language).format(count=round(chance * 10 - 1e-9))
    odds = min(_ROUND_ODDS, key=lambda count: (abs(1.0 / count - chance), count))
    return message("chance-one-in", language=language).format(
        count=number_text(odds, language=language)
    )


def likelihood_text(chance: float, language: str | None = None) -> str:
    """A probability in words.

    References:
        Bounds as in Mastrandrea MD et al., Guidance note for lead authors of the IPCC fifth
        assessment report on consistent treatment of uncertainties, 2010, table 1 (from memory).
    """
    for bound, code in _WORDED_LIKELIHOODS:
        if chance >= bound:
            return message(f"likelihood-{code}", language=language)
    return message("likelihood-1" if chance >= 0.01 else "likelihood-0", language=language)


def protection_text(protection: float, language: str | None = None) -> str:
    """The wanted protection as people say it, "99 in 100"."""
    percent = f"{protection * 100:.6g}"
    return message("protection", language=language).format(percent=percent)


def urgency_text(urgency: Urgency, language: str | None = None) -> str:
    """What an urgency asks for, a heading without full stop."""
    return message(f"urgency-{urgency.value}", language=language)


def urgency_name(urgency: Urgency, language: str | None = None) -> str:
    """An urgency as a short label for lists."""
    return message(f"urgency-{urgency.value}-name", language=language)


def contact_text(contact: Contact | None, role: str, language: str | None = None) -> str:
    """Name and phone of a contact; "your supplier" and the like when nobody is entered."""
    if contact is None or not contact.name:
        return message(role, language=language)
    if not contact.phone:
        return contact.name
    pattern = message("contact-with-phone", language=language)
    return pattern.format(name=contact.name, phone=contact.phone)


def supplier_text(names: Names, language: str | None = None) -> str:
    """Whom to call about goods."""
    return contact_text(names.supplier, "your-supplier", language)


def care_team_text(names: Names, language: str | None = None) -> str:
    """Whom to call about care."""
    return contact_text(names.care_team, "your-care-team", language)


# The answer.


def headline(plan: Plan, language: str | None = None) -> str:
    """The answer in one line, "Supplies for 12 days", without full stop."""
    if plan.urgency is Urgency.RESTING and plan.run_out.expected_days is None:
        return message("headline-resting", language=language)
    days = plan.run_out.expected_days
    if days is None:
        pattern = message("headline-beyond", language=language)
        return pattern.format(days=days_text(plan.horizon_days, language))
    if _is_bare(plan):
        return message("headline-empty", language=language)
    if days == 0:
        return message("headline-none", language=language)
    return message("headline-days", language=language).format(days=days_text(days, language))


def _is_bare(plan: Plan) -> bool:
    """Whether there is no kit at home for the next session, which is still to come."""
    first = plan.run_out.expected_on
    return (
        first is not None
        and first > plan.as_of
        and any(one.usable_kits == 0 and one.run_out.expected_on == first for one in plan.shelves)
    )


def lasts_text(plan: Plan, language: str | None = None) -> str:
    """Through which day supplies will probably last, goods at home only."""
    return _through(plan.run_out, plan.run_out.expected_on, "lasts", plan, language)


def sure_text(plan: Plan, language: str | None = None) -> str:
    """Through which day supplies last with the wanted protection."""
    strength = "sure"
    if plan.protection < 0.99:
        strength = "sure-very-likely" if plan.protection >= 0.9 else "sure-likely"
    return _through(plan.run_out, plan.run_out.cautious_on, strength, plan, language)


def with_coming_text(plan: Plan, language: str | None = None) -> str | None:
    """The same with the goods on their way; None when nothing is on its way."""
    if plan.run_out_with_coming == plan.run_out:
        return None
    run_out = plan.run_out_with_coming
    if run_out.expected_on == plan.as_of:
        return None
    return _through(run_out, run_out.expected_on, "with-coming", plan, language)


def _through(
    run_out: RunOut, ends_on: date | None, code: str, plan: Plan, language: str | None
) -> str:
    """Sentence about the last covered day, the day before the run-out date."""
    protection = protection_text(plan.protection, language)
    if ends_on is not None and run_out is plan.run_out and _is_bare(plan):
        code = "lasts-empty" if code == "lasts" else "sure-empty"
        day = day_text(ends_on, today=plan.as_of, language=language)
        return message(code, language=language).format(day=day)
    if ends_on is not None and ends_on <= run_out.as_of:
        none = "lasts-none" if code == "lasts" else "sure-none"
        return message(none, language=language).format(protection=protection)
    last = (
        plan.as_of + timedelta(days=len(run_out.chance_by_day) - 1)
        if ends_on is None
        else ends_on - timedelta(days=1)
    )
    pattern = message(f"{code}-{'beyond' if ends_on is None else 'until'}", language=language)
    return pattern.format(
        day=day_text(last, today=plan.as_of, language=language), protection=protection
    )


# What comes next.


def delivery_text(plan: Plan, language: str | None = None) -> str:
    """When the next goods come, whether ordered already or only if ordered today."""
    delivery = plan.next_delivery
    code = "delivery-if-ordered" if plan.express is None else "delivery-usual-way"
    if delivery.order_id is not None:
        code = "delivery-open"
    if delivery.latest_on <= delivery.usual_on:
        code += "-sure"
    return message(code, language=language).format(
        usual=day_text(delivery.usual_on, today=plan.as_of, language=language),
        latest=day_text(delivery.latest_on, today=plan.as_of, language=language),
    )


def delivery_risk_text(plan: Plan, language: str | None = None) -> str:
    """The chance of running out before the next goods come, in numbers and in words."""
    risk = plan.next_delivery.risk
    return message("delivery-risk", language=language).format(
        chance=chance_text(risk, language), likelihood=likelihood_text(risk, language)
    )


def order_by_text(plan: Plan, language: str | None = None) -> str:
    """By when to order."""
    by = plan.order.order_by_on
    if by is None or not plan.order.lines:
        return message("order-none", language=language)
    if by <= plan.as_of:
        return message("order-today", language=language)
    closed = plan.order.too_late or plan.urgency is Urgency.ORDER_NOW
    pattern = message("order-today-closed" if closed else "order-by", language=language)
    return pattern.format(day=day_text(by, today=plan.as_of, language=language))


def order_lines_text(order: OrderProposal, names: Names, language: str | None = None) -> str:
    """What to order, "Order 2 boxes of Chest kit (20 kits)."; empty without lines."""
    if not order.lines:
        return ""
    lines = [line_text(line, names, language) for line in order.lines]
    return message("order-lines", language=language).format(lines=joined(lines, language))


def line_text(line: ProposedLine, names: Names, language: str | None = None) -> str:
    """Boxes of an item, and the units in them: "2 boxes of Chest kit (20 kits)"."""
    return message("order-line-units", language=language).format(
        boxes=count_text(line.boxes, "boxes", language),
        item=names.items.get(line.item_code, line.item_code),
        units=units_text(line.units, names.kinds.get(line.item_code, ItemKind.OTHER), language),
    )


def order_covers_text(plan: Plan, language: str | None = None) -> str:
    """How long the proposed order should last; empty when nothing is proposed."""
    until = plan.order.covers_until
    if until is None or not plan.order.lines:
        return ""
    day = day_text(until - timedelta(days=1), today=plan.as_of, language=language)
    return message("order-covers", language=language).format(day=day)


def joined(parts: list[str], language: str | None = None) -> str:
    """Parts as a list in a sentence, "a, b and c"."""
    if len(parts) < 2:
        return "".join(parts)
    pattern = message("and", language=language)
    return pattern.format(first=", ".join(parts[:-1]), last=parts[-1])


# Reasons.

_COUNTED = {
    "boxes": "boxes",
    "wanted_boxes": "boxes",
    "allowed_boxes": "boxes",
    "minimum_boxes": "boxes",
    "sessions": "sessions",
    "per_days": "days",
    "days": "days",
}
_MISSED = (ReasonCode.SHORT_BEFORE_DELIVERY, ReasonCode.RISK_BEFORE_OPEN_DELIVERY)
_IN_UNITS = ("units", "recorded", "counted", "authorized_units")


def reason_text(reason: Reason, names: Names, *, today: date, language: str | None = None) -> str:
    """One reason as one or two sentences.

    Args:
        reason: the reason with its facts.
        names: what the household calls things.
        today: day of the plan; days in another year show their year.
        language: a language of the catalogue.
    """
    code, facts = reason.code.value, reason.facts
    if reason.code is ReasonCode.ORDER_BY:
        code = "reason-order-by"
    risk = facts.get("risk")
    if reason.code in _MISSED and isinstance(risk, float) and risk <= SHORT_CHANCE:
        code += "-unlikely"
    if reason.code is ReasonCode.AWAY and facts.get("home_on") is None:
        code = "away-open"
    if reason.code is ReasonCode.LEANS_ON_STARTING_EXPECTATION and not facts.get("sessions"):
        code = "leans-on-starting-expectation-none"
    words = {
        "supplier": supplier_text(names, language),
        "care_team": care_team_text(names, language),
        **dict(_worded_facts(facts, names, today, language)),
    }
    number = facts.get("units")
    count = number if isinstance(number, int) else None
    sentence = message(code, count=count, language=language).format_map(words)
    return sentence[:1].upper() + sentence[1:]


def reason_texts(plan: Plan, names: Names, language: str | None = None) -> tuple[str, ...]:
    """Every reason of a plan, in the plan's order."""
    return tuple(
        reason_text(reason, names, today=plan.as_of, language=language) for reason in plan.reasons
    )


def _worded_facts(
    facts: dict[str, Fact], names: Names, today: date, language: str | None
) -> Iterator[tuple[str, str]]:
    code = str(facts.get("item", ""))
    kind = names.kinds.get(code, ItemKind.OTHER)
    for key, fact in facts.items():
        if isinstance(fact, date):
            yield key, day_text(fact, today=today, language=language)
        elif key == "item":
            yield key, names.items.get(code, code)
        elif key in {"risk", "chance"} and isinstance(fact, float):
            yield key, chance_text(fact, language)
        elif key == "expected_units" and isinstance(fact, float | int):
            yield key, units_text(round(fact), kind, language)
        elif key in _COUNTED and isinstance(fact, int):
            yield key, count_text(fact, _COUNTED[key], language)
        elif key in _IN_UNITS and isinstance(fact, int):
            yield key, units_text(fact, kind, language)
        elif fact is not None:
            yield key, str(fact)
