"""A plan as text for people, at most `WIDTH` columns wide."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence

from app import wording, wording_steps
from app.messages import message
from planner.household import Household
from planner.items import ItemKind
from planner.results import ItemOnHand, Plan, ReasonCode
from planner.rollup import CombinedOrder, HouseholdOrder, ItemTotal, by_urgency

WIDTH = 88
_SAID_ELSEWHERE = (ReasonCode.ORDER_BY, ReasonCode.NOTHING_TO_ORDER)


def plan_text(plan: Plan, household: Household, language: str = "en") -> str:
    """One household's plan."""
    names = wording.names_of(household)
    day = wording.day_text(plan.as_of, language=language, with_year=True)
    title = message("title", language=language).format(name=household.name, day=day)
    reasons = [
        wording.reason_text(reason, names, today=plan.as_of, language=language)
        for reason in plan.reasons
        if reason.code not in _SAID_ELSEWHERE
    ]
    answer = (
        wording.headline(plan, language) + ".",
        wording.lasts_text(plan, language),
        wording.sure_text(plan, language),
        wording.with_coming_text(plan, language) or "",
    )
    delivery = (
        f"{wording.delivery_text(plan, language)} {wording.delivery_risk_text(plan, language)}"
    )
    steps = [
        *wording_steps.next_steps(plan, names, language),
        wording.order_covers_text(plan, language),
    ]
    return "\n".join(
        [
            title,
            "=" * min(len(title), WIDTH),
            wording.urgency_text(plan.urgency, language),
            "",
            *_paragraph(" ".join(filter(None, answer))),
            *_section("to-do", [step for step in steps if step], language),
            *_section("on-shelf", list(_shelf(plan, household, language)), language),
            *_section("next-delivery", [delivery], language),
            *_section("good-to-know", reasons, language),
            "",
            *_paragraph(wording.caution(language)),
            "",
        ]
    )


def plans_text(
    plans: Sequence[Plan],
    households: Mapping[str, Household],
    combined: Sequence[CombinedOrder],
    language: str = "en",
) -> str:
    """Many households: each plan, who is most urgent, and the combined orders."""
    texts = [plan_text(plan, households[plan.household_id], language) for plan in plans]
    return "\n\n".join([*texts, _overview(plans, households, combined, language)])


def _overview(
    plans: Sequence[Plan],
    households: Mapping[str, Household],
    combined: Sequence[CombinedOrder],
    language: str,
) -> str:
    lines = [*_heading("who-needs-what", language)]
    for plan in by_urgency(plans):
        urgency = wording.urgency_name(plan.urgency, language)
        name = _cut(households[plan.household_id].name, 40)
        lines.append(f"{urgency:<16} {name:<40} {_days_left(plan, language)}")
    lines += ["", *_heading("combined-order", language)]
    if not combined:
        lines += _paragraph(message("combined-none", language=language))
    for order in combined:
        lines += ["", *_combined(order, households, plans, language)]
    return "\n".join([*lines, "", *_paragraph(wording.caution(language)), ""])


def _combined(
    order: CombinedOrder,
    households: Mapping[str, Household],
    plans: Sequence[Plan],
    language: str,
) -> Iterator[str]:
    today = plans[0].as_of
    title = message("combined-part", language=language).format(
        supplier=order.supplier,
        order_by=wording.day_text(order.order_by_on, today=today, language=language),
        delivery=wording.day_text(order.delivery_on, today=today, language=language),
    )
    yield from _paragraph(title)
    for part in order.households:
        yield from _item(_part(part, households[part.household_id], language))
    total = wording.joined([_total(one, language) for one in order.totals], language)
    yield from _item(message("combined-total", language=language).format(lines=total))


def _part(part: HouseholdOrder, household: Household, language: str) -> str:
    lines = [
        message("order-line", language=language).format(
            boxes=wording.count_text(line.boxes, "boxes", language),
            item=household.item(line.item_code).name,
        )
        for line in part.lines
    ]
    return f"{household.name}: {wording.joined(lines, language)}"


def _total(total: ItemTotal, language: str) -> str:
    return message("order-line", language=language).format(
        boxes=wording.count_text(total.boxes, "boxes", language), item=total.item_name
    )


def _days_left(plan: Plan, language: str) -> str:
    days = plan.run_out.expected_days
    code = "days-left-beyond" if days is None else "days-left"
    shown = plan.horizon_days if days is None else days
    sure = plan.run_out.cautious_days
    return message(code, language=language).format(
        days=wording.days_text(shown, language), sure=plan.horizon_days if sure is None else sure
    )


def _shelf(plan: Plan, household: Household, language: str) -> Iterator[str]:
    """One line for each item: what can be used first, then what cannot."""
    for one in plan.on_hand:
        item = household.item(one.item_code)
        parts = _amounts(one, item.kind, language)
        yield f"{item.name}: {', '.join(parts)}"


def _amounts(one: ItemOnHand, kind: ItemKind, language: str) -> list[str]:
    amounts = (
        ("of-them-expiring", one.expiring_before_use),
        ("expired", one.expired),
        ("recalled", one.recalled),
        ("away-in-bag", one.away),
        ("in-transit", one.in_transit),
    )
    shown = [("usable", one.usable), *((code, units) for code, units in amounts if units)]
    return [
        message(code, language=language).format(
            units=wording.units_text(units, kind, language), count=units
        )
        for code, units in shown
    ]


# Layout.


def _section(code: str, entries: Sequence[str], language: str) -> Iterator[str]:
    if not entries:
        return
    yield ""
    yield from _heading(code, language)
    for entry in entries:
        yield from _item(entry)


def _heading(code: str, language: str) -> Iterator[str]:
    title = message(code, language=language)
    yield title
    yield "-" * len(title)


def _item(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ")


def _paragraph(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH)


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 3] + "..."
