"""Writing a scenario file: the exact opposite of `planner.scenario`.

One line per record, optional fields only when they say something, ids always.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, time
from typing import TypeVar

from planner.dates import WEEKDAY_NAMES
from planner.fitting_kits import OTHER_KITS
from planner.household import Catheter, Household, Pause, PlanSettings
from planner.items import SupplyItem
from planner.ledger import (
    Count,
    Departure,
    LedgerEntry,
    Recall,
    Receipt,
    Reversal,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.order_steps import OrderStep
from planner.regimen import Pattern, Regimen, weekly_rule
from planner.scenario import ScenarioFile
from planner.scenario_records import EVENING, FILE_TABLES, MORNING, NOON
from planner.sessions import Session, StopReason
from planner.supply import (
    AuthorizedQuantity,
    Contact,
    Order,
    OrderStatus,
    StandingDelivery,
    SupplierTerms,
)

Record = TypeVar("Record")
Fields = dict[str, object]

_SHARED = ("supplier", "care_team", "settings", "items")


def write_scenario(file: ScenarioFile) -> str:
    """Write households as a scenario file.

    Reading the text again gives the same households, with each ledger grouped by kind as
    `in_file_order` groups it. Supplier, care team, settings and items that all households
    have in common are written once.
    """
    lines = [f"format = {file.format}", f"as_of = {file.as_of}"]
    if file.description:
        lines.append(f"description = {_value(file.description)}")
    if len(file.households) == 1:
        household = file.households[0]
        lines += ["", *_dotted("household", _head(household)), *_parts(household)]
        return "\n".join(lines) + "\n"
    first = file.households[0] if file.households else None
    shared = {
        name: text
        for name, text in (_shareable(first).items() if first else ())
        if text and all(_shareable(other)[name] == text for other in file.households)
    }
    for text in shared.values():
        lines += ["", *text]
    for household in file.households:
        lines += ["", "[[households]]"]
        lines += [f"{key} = {_value(value)}" for key, value in _head(household).items()]
        lines += _parts(household, leave_out=frozenset(shared))
    return "\n".join(lines) + "\n"


def in_file_order(ledger: Sequence[LedgerEntry]) -> tuple[LedgerEntry, ...]:
    """Ledger entries grouped as a file groups them: by kind, each kind in its old order."""
    kinds = list(FILE_TABLES)
    return tuple(sorted(ledger, key=lambda entry: kinds.index(type(entry))))


def _head(household: Household) -> Fields:
    return {"id": household.id, "name": household.name, "time_zone": household.time_zone}


def _shareable(household: Household) -> dict[str, list[str]]:
    """The lines of each part that several households may have in common."""
    team = household.care_team
    return {
        "supplier": _supplier(household.supplier),
        "care_team": _dotted("care_team", _contact(team)) if team else [],
        "settings": _dotted("settings", _settings(household.settings)),
        "items": _list("items", household.items, _item),
    }


def _parts(household: Household, *, leave_out: frozenset[str] = frozenset()) -> Iterator[str]:
    parts = {
        **{k: text for k, text in _shareable(household).items() if k not in leave_out},
        "catheters": _catheters(household.catheters),
        "pauses": _list("pauses", household.pauses, _pause),
        "authorized": _list("authorized", household.authorized, _authorized),
        "orders": _list("orders", household.orders, _order),
    }
    for kind, name in FILE_TABLES.items():
        entries = [entry for entry in household.ledger if type(entry) is kind]
        parts[name] = _list(name, entries, _entry)
    only = len(household.catheters) == 1
    parts["sessions"] = _list(
        "sessions", household.sessions, lambda session: _session(session, only=only)
    )
    for text in parts.values():
        if text:
            yield from ("", *text)


# Tables.


def _item(item: SupplyItem) -> Fields:
    return {
        "code": item.code,
        "name": item.name,
        "kind": item.kind.value,
        "capacity_ml": item.capacity_ml,
        "units_per_box": item.units_per_box,
    }


def _supplier(terms: SupplierTerms) -> list[str]:
    contact = terms.contact
    weekdays = terms.delivery_weekdays
    fields: Fields = {
        "name": terms.name,
        "phone": contact.phone or None if contact else None,
        "contact": contact.name if contact and _is_told(contact, terms) else None,
        "lead_business_days": terms.lead_business_days,
        "cut_off": terms.cut_off,
        "time_zone": terms.time_zone,
        "delivery_weekdays": None if weekdays is None else [WEEKDAY_NAMES[n] for n in weekdays],
        "standing": _standing(terms.standing),
        "holiday_country": terms.holiday_country,
        "holiday_region": terms.holiday_region,
        "minimum_boxes": terms.minimum_boxes or None,
        "express_business_days": terms.express_business_days,
    }
    closures: list[Fields] = [
        {"starts_on": one.starts_on, "ends_on": one.ends_on, "reason": one.reason or None}
        for one in terms.closures
    ]
    return _dotted("supplier", fields) + _list("supplier.closures", closures, lambda one: one)


def _standing(standing: StandingDelivery | None) -> Fields | None:
    if standing is None:
        return None
    return {"rrule": standing.rrule, "starts_on": standing.starts_on}


def _is_told(contact: Contact, terms: SupplierTerms) -> bool:
    """Whether the contact's name has to be written: a phone alone stands for the supplier."""
    return contact.name != terms.name or not contact.phone


def _contact(contact: Contact) -> Fields:
    return {"name": contact.name, "phone": contact.phone or None}


def _settings(settings: PlanSettings) -> Fields:
    usual = PlanSettings()
    return {
        "protection": _unless(settings.protection, usual.protection),
        "cover_days": _unless(settings.cover_days, usual.cover_days),
        "horizon_days": _unless(settings.horizon_days, usual.horizon_days),
        "refill_rule": settings.refill_rule,
        "most_units_at_home": settings.most_units_at_home,
        "prescription_ends_on": settings.prescription_ends_on,
    }


def _catheters(catheters: Sequence[Catheter]) -> list[str]:
    lines = ["catheters = ["]
    for one in catheters:
        fields: Fields = {
            "id": one.id,
            "label": one.label,
            "site": one.site.value,
            "kit": one.kit_code,
            OTHER_KITS: list(one.other_kit_codes) or None,
            "bottle": one.bottle_code,
            "clinical_group": _unless(one.clinical_group.value, "unknown"),
            "expected_ml_per_day": one.expected_ml_per_day,
            "removed_on": one.removed_on,
        }
        lines.append(f"    {{ {_pairs(fields)}, regimens = [")
        lines += [f"        {{ {_pairs(_regimen(regimen))} }}," for regimen in one.regimens]
        lines.append("    ] },")
    return [*lines, "]"]


def _regimen(regimen: Regimen) -> Fields:
    fields: Fields = {"starts_on": regimen.starts_on, "every_n_days": regimen.every_n_days}
    rule = regimen.rrule or ""
    days = tuple(rule.partition("BYDAY=")[2].split(","))
    if regimen.pattern is Pattern.AS_NEEDED:
        fields["as_needed"] = True
    elif regimen.pattern is Pattern.RRULE and rule == weekly_rule(days) and _are_weekdays(days):
        fields["weekdays"] = list(days)
    elif regimen.pattern is Pattern.RRULE:
        fields["rrule"] = rule
    fields["session_limit_ml"] = regimen.session_limit_ml
    fields["ordered_by"] = regimen.ordered_by or None
    return fields


def _are_weekdays(days: Sequence[str]) -> bool:
    return all(day in WEEKDAY_NAMES for day in days)


def _pause(pause: Pause) -> Fields:
    return {
        "starts_on": pause.starts_on,
        "ends_on": pause.ends_on,
        "reason": pause.reason or None,
        "catheter": pause.catheter_id,
    }


def _authorized(limit: AuthorizedQuantity) -> Fields:
    return {
        "item": limit.item_code,
        "units": limit.units,
        "per_days": limit.per_days,
        "starts_on": limit.starts_on,
    }


def _order(order: Order) -> Fields:
    return {
        "id": order.id,
        "placed_at": _moment(order.placed_at, MORNING),
        "lines": [{"item": line.item_code, "boxes": line.boxes} for line in order.lines],
        "status": _unless(order.status.value, OrderStatus.PLACED.value),
        "promised_on": order.promised_on,
        "received_on": order.received_on,
        "confirmed_by": order.confirmed_by or None,
        "express": order.is_express or None,
        "steps": [_order_step(step) for step in order.steps] or None,
    }


def _order_step(step: OrderStep) -> Fields:
    back = step.taken_back_at
    return {
        "kind": step.kind.value,
        "at": _moment(step.at, MORNING),
        "by": step.by or None,
        "expected_on": step.expected_on,
        "note": step.note or None,
        "delivery": step.delivery or None,
        "taken_back_at": None if back is None else _moment(back, NOON),
        "taken_back_by": step.taken_back_by or None,
    }


def _entry(entry: LedgerEntry) -> Fields:
    usual = NOON if isinstance(entry, Waste | Departure | WrongReturn | WrongKept) else MORNING
    usual = EVENING if isinstance(entry, Count | Reversal) else usual
    fields: Fields = {"id": entry.id, "at": _moment(entry.at, usual)}
    match entry:
        case Receipt():
            return fields | {
                "item": entry.item_code,
                "units": entry.units,
                "lot": entry.lot or None,
                "expires_on": entry.expires_on,
                "order": entry.order_id,
            }
        case Waste():
            own: Fields = {"reason": entry.reason, "lot": entry.lot or None}
        case Count():
            own = {"cause": entry.cause.value if entry.cause else None}
        case Departure():
            own = {"reason": entry.reason.value, "lot": entry.lot or None}
        case Transfer():
            own = {"to": entry.to.value, "lot": entry.lot or None}
        case Recall():
            return fields | {"item": entry.item_code, "lot": entry.lot}
        case WrongDelivery() | WrongReturn() | WrongKept():
            return fields | _wrong(entry)
        case Reversal():
            return fields | {"reverses": entry.reverses_id}
    return fields | {"item": entry.item_code, "units": entry.units} | own


def _wrong(entry: WrongDelivery | WrongReturn | WrongKept) -> Fields:
    match entry:
        case WrongDelivery():
            return {
                "what": entry.what,
                "units": entry.units,
                "lot": entry.lot or None,
                "order": entry.order_id,
            }
        case WrongReturn():
            return {"delivery": entry.delivery_id, "units": entry.units}
        case WrongKept():
            return {
                "delivery": entry.delivery_id,
                "item": entry.item_code,
                "units": entry.units,
                "lot": entry.lot or None,
                "expires_on": entry.expires_on,
            }


def _session(session: Session, *, only: bool) -> Fields:
    plain = all(bottle.item_code is None and bottle.loss is None for bottle in session.bottles)
    volumes = [bottle.volume_ml for bottle in session.bottles]
    bottles: list[Fields] = [
        {
            "ml": bottle.volume_ml,
            "item": bottle.item_code,
            "lost": bottle.loss.value if bottle.loss else None,
        }
        for bottle in session.bottles
    ]
    return {
        "id": session.id,
        "at": _moment(session.started_at, NOON),
        "catheter": None if only else session.catheter_id,
        "ml": volumes if plain else None,
        "bottles": None if plain else bottles,
        "stop": _unless(session.stop_reason.value, StopReason.NOT_SAID.value),
    }


# TOML.


def _moment(at: datetime, usual: time) -> date | datetime:
    """A date alone when it stands for this very moment."""
    return at.date() if at.time() == usual else at


def _unless(value: object, usual: object) -> object:
    return None if value == usual else value


def _list(name: str, records: Sequence[Record], fields: Callable[[Record], Fields]) -> list[str]:
    if not records:
        return []
    return [f"{name} = [", *(f"    {{ {_pairs(fields(one))} }}," for one in records), "]"]


def _dotted(name: str, fields: Fields) -> list[str]:
    return [f"{name}.{key} = {_value(v)}" for key, v in fields.items() if v is not None]


def _pairs(fields: Fields) -> str:
    return ", ".join(f"{key} = {_value(v)}" for key, v in fields.items() if v is not None)


def _value(value: object) -> str:
    match value:
        case str():
            return f'"{"".join(map(_character, value))}"'
        case datetime() | time():
            return value.isoformat()
        case list():
            return f"[{', '.join(map(_value, value))}]"
        case dict():
            return f"{{ {_pairs(value)} }}"
        case _:
            return str(value).lower()


def _character(letter: str) -> str:
    """One character of a basic string; only quote, backslash and control ones are escaped."""
    if letter in '"\\':
        return "\\" + letter
    code = ord(letter)
    return letter if code >= 0x20 and code != 0x7F else f"\\u{code:04X}"
