"""What the pages about "what if" show: the questions, both plans, the packing list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from app import wording, wording_steps, wording_what_if
from app.forms import Form
from app.texts import tr
from app.views import Sign, sign_of
from app.views_shelf import open_orders
from planner.comparison import Comparison
from planner.household import Household
from planner.items import HOLDS_A_BOTTLE
from planner.packing import PackingList
from planner.regimen import Pattern, Regimen, regimen_on
from planner.results import Plan, Urgency

WEEKDAYS = (
    ("MO", "Monday"),
    ("TU", "Tuesday"),
    ("WE", "Wednesday"),
    ("TH", "Thursday"),
    ("FR", "Friday"),
    ("SA", "Saturday"),
    ("SU", "Sunday"),
)
PATTERNS = (
    (Pattern.EVERY_N_DAYS.value, "Every so many days"),
    (Pattern.RRULE.value, "On fixed weekdays"),
    (Pattern.AS_NEEDED.value, "When symptoms ask for it"),
)
LABELS = {
    "starts_on": "First day",
    "ends_on": "Last day",
    "catheter": "Catheter",
    "pattern": "How often",
    "every_n_days": "Days from one session to the next",
    "weekdays": "Weekdays",
    "rrule": "Weekdays",
    "session_limit_ml": "Limit for one session",
    "spare_days": "Days in reserve",
    "order": "Order",
    "business_days": "Working days late",
    "item": "Item",
    "units": "Number of units",
    "lot": "Lot",
    "ordered_by": "Name of the prescriber",
    "take[].units": "Units of item {n}",
}
HOME_AGAIN = {"ends_on": "First day at home again"}
"""What the last day is called where it is the first one that counts again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One kind of change that can be supposed; `kind` stands in addresses, so it is neutral."""

    kind: str
    title: str
    about: str


QUESTIONS = (
    Question(kind="travel", title="We travel", about="What to pack, and what is left at home."),
    Question(
        kind="stay",
        title="A hospital stay",
        about="The hospital uses its own goods on these days.",
    ),
    Question(kind="supplier", title="The supplier is closed", about="Orders and vans stand still."),
    Question(kind="delivery", title="A delivery is late", about="An order comes days later."),
    Question(kind="damage", title="Goods are damaged", about="A box got wet or broke."),
    Question(
        kind="plan",
        title="The plan changes",
        about="Only the prescriber changes the plan. See what it means for supplies.",
    ),
)
KINDS = {one.kind: one for one in QUESTIONS}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanShown:
    """One of two plans side by side."""

    name: str
    sign: Sign
    headline: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerShown:
    """The answer to one question.

    Attributes:
        first: the difference in one sentence; `more` says the rest.
        calls: whom to call if it happens; empty when nobody needs a call.
    """

    first: str
    more: tuple[str, ...]
    plans: tuple[PlanShown, PlanShown]
    calls: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingShown:
    """A packing list; `lines` are units with the name of the item."""

    about: tuple[str, ...]
    lines: tuple[tuple[str, str], ...]
    missing: tuple[str, ...]
    phones: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeField:
    """An item that may be taken along; `name` is the form's field."""

    name: str
    code: str
    label: str


def answer_shown(found: Comparison, record: Household) -> AnswerShown:
    """Both plans, with the difference in words."""
    names = wording.names_of(record)
    first, *more = wording_what_if.difference_texts(found, names)
    worse = found.after.urgency is Urgency.SHORT
    return AnswerShown(
        first=first,
        more=tuple(more),
        plans=(
            _plan_shown("As things are", found.before, names),
            _plan_shown("With this", found.after, names),
        ),
        calls=wording_steps.call_texts(found.after, names) if worse else (),
    )


def _plan_shown(name: str, plan: Plan, names: wording.Names) -> PlanShown:
    facts = [
        wording.lasts_text(plan),
        wording.sure_text(plan),
        wording.with_coming_text(plan),
        wording.order_by_text(plan),
        wording.order_lines_text(plan.order, names),
        wording.delivery_text(plan),
        wording.delivery_risk_text(plan),
    ]
    return PlanShown(
        name=name,
        sign=sign_of(plan.urgency),
        headline=wording.headline(plan),
        facts=tuple(fact for fact in facts if fact),
    )


def packing_shown(
    packing: PackingList, record: Household, today: date, spare_days: int
) -> PackingShown:
    """A packing list with what it is for."""
    names = wording.names_of(record)
    return PackingShown(
        about=wording_what_if.packing_texts(packing, today, spare_days=spare_days),
        lines=tuple(
            (
                wording.units_text(one.units, names.kinds[one.item_code]),
                names.items[one.item_code],
            )
            for one in packing.items
        ),
        missing=wording_what_if.missing_texts(packing, names),
        phones=(wording.supplier_text(names), wording.care_team_text(names)),
    )


def take_fields(record: Household) -> tuple[TakeField, ...]:
    """Kits and loose bottles, which may be taken along."""
    return tuple(
        TakeField(name=f"take[{n}].units", code=item.code, label=item.name)
        for n, item in enumerate(record.items, 1)
        if item.kind in HOLDS_A_BOTTLE
    )


def first_values(kind: str, record: Household, today: date) -> dict[str, str]:
    """What a form holds when it is opened."""
    tomorrow = (today + timedelta(days=1)).isoformat()
    if kind == "plan":
        regimen = regimen_on(record.catheters[0].regimens, today)
        return {"starts_on": tomorrow, **_regimen_values(regimen)}
    if kind == "travel":
        return {"starts_on": tomorrow, "spare_days": "1"}
    if kind in ("stay", "supplier"):
        return {"starts_on": tomorrow}
    if kind == "damage":
        return {"units": str(record.items[0].units_per_box), "item": record.items[0].code}
    return {"business_days": "2"}


def _regimen_values(regimen: Regimen | None) -> dict[str, str]:
    if regimen is None:
        return {"pattern": Pattern.EVERY_N_DAYS.value}
    days = regimen.every_n_days
    return {"pattern": regimen.pattern.value, "every_n_days": "" if days is None else str(days)}


def form_context(kind: str, form: Form, record: Household, today: date) -> dict[str, object]:
    """What the form of one kind needs beside its values."""
    in_use = [
        (one.id, one.label)
        for one in record.catheters
        if one.removed_on is None or one.removed_on > today
    ]
    return {
        "question": KINDS[kind],
        "form": form,
        "catheters": in_use or [(one.id, one.label) for one in record.catheters],
        "patterns": PATTERNS,
        "weekdays": WEEKDAYS,
        "orders": list(open_orders(record)),
        "items": [(one.code, one.name) for one in record.items],
        "boxes": [
            tr(
                "One box of {item} holds {units}.",
                item=one.name,
                units=wording.units_text(one.units_per_box, one.kind),
            )
            for one in record.items
        ],
        "take": take_fields(record),
    }
