"""Forms about the supplier: terms, and days on which it is closed."""

from __future__ import annotations

from app.changes import Parts, Subject
from app.errors import NotFound, as_input
from app.forms import FormReader
from app.places import countries, zone_choices
from app.services_settings import set_closure, set_fields
from app.setting_fields import (
    STARTS_ON,
    Field,
    chosen,
    first_day,
    needed,
    time_of_day,
    weekdays_ticked,
)
from app.writing import Request, Saved
from planner.supply import Closure, Contact, StandingDelivery

_VAN = (
    ("any", "On any working day"),
    ("weekdays", "On fixed weekdays"),
    ("standing", "By an agreed calendar rule"),
)


def _clocks(parts: Parts) -> tuple[tuple[str, str], ...]:
    return (("", "Yours"), *zone_choices(parts.supplier.time_zone or ""))


def supplier_fields(parts: Parts, _key: str) -> tuple[Field, ...]:
    """The supplier's terms."""
    known = (("", "None"), *countries())
    return (
        Field(kind="text", name="name", label="Name of the supplier"),
        Field(kind="text", name="contact", label="Whom to ask for", hint="It may stay empty."),
        Field(kind="tel", name="phone", label="Phone", hint="It may stay empty."),
        Field(
            kind="number",
            name="lead_business_days",
            label="Working days from order to delivery",
            short="Working days to delivery",
        ),
        Field(
            kind="number",
            name="express_business_days",
            label="Working days by express",
            hint="Leave it empty when they have no express, or when you do not know.",
        ),
        Field(
            kind="time",
            name="cut_off",
            label="Orders before what time count for the same day?",
            short="Time of day",
        ),
        Field(
            kind="choice",
            name="time_zone",
            label="Whose clock is that?",
            short="Clock",
            choices=_clocks(parts),
        ),
        Field(kind="radio", name="van", label="When do they deliver?", choices=_VAN),
        Field(
            kind="weekdays",
            name="weekdays",
            label="Weekdays",
            hint="For “on fixed weekdays”.",
            fold="Fixed weekdays",
        ),
        Field(
            kind="text",
            name="standing_rrule",
            fold="Agreed calendar rule",
            label="Calendar rule",
            hint="For “by an agreed calendar rule”, in the form of RFC 5545. "
            "Every second Tuesday: FREQ=WEEKLY;INTERVAL=2;BYDAY=TU",
        ),
        Field(
            kind="date",
            name="standing_starts_on",
            fold="Agreed calendar rule",
            label="A day on which they deliver by this rule",
            short="Delivery day",
        ),
        Field(
            kind="choice",
            name="holiday_country",
            label="Whose public holidays do they keep?",
            short="Country of holidays",
            choices=known,
        ),
        Field(
            kind="text",
            name="holiday_region",
            label="Region, if holidays differ there",
            short="Region",
            hint="Its short code, such as ENG or BY. It may stay empty.",
        ),
        Field(
            kind="number",
            name="minimum_boxes",
            label="Fewest boxes in one order",
            hint="0 when there is no such rule.",
        ),
        STARTS_ON,
    )


def supplier_values(parts: Parts, _key: str) -> dict[str, str]:
    """The terms as they are."""
    terms = parts.supplier
    weekdays, standing = terms.delivery_weekdays, terms.standing
    express = terms.express_business_days
    values = {
        "name": terms.name,
        "contact": terms.contact.name if terms.contact else "",
        "phone": terms.contact.phone if terms.contact else "",
        "lead_business_days": str(terms.lead_business_days),
        "express_business_days": "" if express is None else str(express),
        "cut_off": f"{terms.cut_off:%H:%M}",
        "time_zone": terms.time_zone or "",
        "van": "standing" if standing else "weekdays" if weekdays else "any",
        "standing_rrule": standing.rrule if standing else "",
        "standing_starts_on": standing.starts_on.isoformat() if standing else "",
        "holiday_country": terms.holiday_country or "",
        "holiday_region": terms.holiday_region or "",
        "minimum_boxes": str(terms.minimum_boxes),
    }
    return values | {f"weekday_{one}": "yes" for one in weekdays or ()}


def save_supplier(request: Request, reader: FormReader, parts: Parts, _key: str) -> Saved:
    """Change the terms from a day on."""
    name = needed(reader, "name", "write a name")
    contact = reader.short("contact", at_most=120)
    phone = reader.short("phone", at_most=60)
    lead = reader.whole("lead_business_days", unit="days", example=3)
    express = reader.optional_whole("express_business_days", unit="days", example=1)
    cut_off, van = time_of_day(reader, "cut_off"), chosen(reader, "van", _VAN)
    zone = chosen(reader, "time_zone", _clocks(parts))
    weekdays = weekdays_ticked(reader) if van == "weekdays" else None
    standing_on = reader.day("standing_starts_on") if van == "standing" else None
    minimum = reader.whole("minimum_boxes", unit="boxes", example=2)
    starts_on = first_day(reader)
    standing = None
    if standing_on is not None:
        with as_input():
            standing = StandingDelivery(rrule=reader.text("standing_rrule"), starts_on=standing_on)
    values = {
        "name": name,
        "contact": Contact(name=contact or name, phone=phone) if contact or phone else None,
        "lead_business_days": lead,
        "express_business_days": express,
        "cut_off": cut_off,
        "time_zone": zone or None,
        "delivery_weekdays": weekdays,
        "standing": standing,
        "holiday_country": reader.text("holiday_country") or None,
        "holiday_region": reader.text("holiday_region") or None,
        "minimum_boxes": minimum,
    }
    return set_fields(request, Subject.SUPPLIER, values, starts_on=starts_on)


def closure_fields(_parts: Parts, _key: str) -> tuple[Field, ...]:
    """Days on which the supplier is closed."""
    return (
        Field(kind="date", name="starts_on", label="First day closed"),
        Field(kind="date", name="ends_on", label="Last day closed"),
        Field(kind="text", name="reason", label="Reason", hint="It may stay empty."),
    )


def closure_values(parts: Parts, key: str) -> dict[str, str]:
    """The closure with this key; empty for a new one."""
    if not key:
        return {"ends_on": "", "reason": ""}
    known = parts.closures.get(key)
    if known is None:
        raise NotFound
    return {
        "starts_on": known.starts_on.isoformat(),
        "ends_on": known.ends_on.isoformat(),
        "reason": known.reason,
    }


def save_closure(request: Request, reader: FormReader, _parts: Parts, key: str) -> Saved:
    """Write down or correct a closure."""
    ends_on = reader.day("ends_on")
    reason = reader.short("reason", at_most=120)
    starts_on = first_day(reader)
    assert ends_on is not None
    with as_input():
        closure = Closure(starts_on=starts_on, ends_on=ends_on, reason=reason)
    return set_closure(request, closure, key)
