"""Forms about the household: its catheters, the care team, the plan, its name and clock."""

from __future__ import annotations

from app.changes import Parts, Subject
from app.errors import as_input
from app.forms import FormReader
from app.places import zone_choices
from app.services_settings import set_fields, set_household
from app.setting_fields import Choices, Field, as_text, chosen, needed
from app.setting_forms_goods import catheter_of
from app.writing import Request, Saved
from planner.errors import require_int
from planner.household import Site

_SITES = ((Site.CHEST.value, "Chest"), (Site.ABDOMEN.value, "Belly"))
_LEVELS = (
    ("0.95", "95 in 100: fewer boxes at home, later warnings"),
    ("0.99", "99 in 100: the usual"),
    ("0.999", "999 in 1000: more boxes at home, earlier warnings"),
)


def catheter_fields(_parts: Parts, _key: str) -> tuple[Field, ...]:
    """Where a catheter lies, what is expected, and when it comes out."""
    return (
        Field(kind="text", name="label", label="What do you call it?", short="Name"),
        Field(kind="radio", name="site", label="Where does it lie?", short="Site", choices=_SITES),
        Field(
            kind="number",
            name="expected_ml_per_day",
            label="How many mL a day does the prescriber expect?",
            short="Expected volume",
            hint="Only if they named a number. It helps the plan until there are sessions.",
        ),
        Field(
            kind="date",
            name="removed_on",
            label="First day without it",
            hint="Only once a day is set for taking it out.",
        ),
    )


def catheter_values(parts: Parts, key: str) -> dict[str, str]:
    """The catheter as it is."""
    known = catheter_of(parts, key)
    return {
        "label": known.label,
        "site": known.site.value,
        "expected_ml_per_day": as_text(known.expected_ml_per_day),
        "removed_on": known.removed_on.isoformat() if known.removed_on else "",
    }


def save_catheter(request: Request, reader: FormReader, parts: Parts, key: str) -> Saved:
    """Change what is known of a catheter, at once."""
    key = catheter_of(parts, key).id
    label = needed(reader, "label", "write a name", at_most=40)
    site = chosen(reader, "site", _SITES)
    expected = reader.optional_whole("expected_ml_per_day", unit="mL", example=200)
    removed_on = reader.optional_day("removed_on")
    reader.refuse()
    if expected is not None:
        with as_input():
            require_int("expected_ml_per_day", expected, at_least=1, at_most=5000, unit="mL")
    values = {
        "label": label,
        "site": Site(site),
        "expected_ml_per_day": expected,
        "removed_on": removed_on,
    }
    return set_fields(request, Subject.CATHETER, values, starts_on=request.now.date(), target=key)


def team_fields(_parts: Parts, _key: str) -> tuple[Field, ...]:
    """Whom to call about care."""
    return (
        Field(kind="text", name="name", label="Name of the nurse or doctor", short="Name"),
        Field(kind="tel", name="phone", label="Phone", hint="It may stay empty."),
    )


def team_values(parts: Parts, _key: str) -> dict[str, str]:
    """The care team as it is."""
    team = parts.care_team
    return {"name": team.name if team else "", "phone": team.phone if team else ""}


def save_team(request: Request, reader: FormReader, _parts: Parts, _key: str) -> Saved:
    """Change whom to call about care, at once."""
    name = needed(reader, "name", "write a name")
    phone = reader.short("phone", at_most=60)
    reader.refuse()
    values = {"name": name, "phone": phone}
    return set_fields(request, Subject.CARE_TEAM, values, starts_on=request.now.date())


def plan_fields(parts: Parts, _key: str) -> tuple[Field, ...]:
    """How safe the plan is to be, and how long an order is to last."""
    return (
        Field(
            kind="radio",
            name="protection",
            label="How sure should it be that nothing runs out before new supplies come?",
            short="How sure",
            choices=_levels(parts),
        ),
        Field(
            kind="number",
            name="cover_days",
            label="How many days should one usual order last?",
            short="Number of days",
        ),
        Field(
            kind="number",
            name="most_units_at_home",
            label="How many kits and bottles is there room for?",
            short="Room at home",
            hint="Leave it empty if room does not matter.",
        ),
        Field(
            kind="date",
            name="prescription_ends_on",
            label="Last day on which the prescription allows an order",
            hint="Leave it empty if it has no end.",
        ),
    )


def _levels(parts: Parts) -> Choices:
    now = f"{parts.plan.protection:g}"
    if now in dict(_LEVELS):
        return _LEVELS
    return (*_LEVELS, (now, f"{parts.plan.protection * 100:g} in 100: as it is now"))


def plan_values(parts: Parts, _key: str) -> dict[str, str]:
    """The choices as they are."""
    return {
        "protection": f"{parts.plan.protection:g}",
        "cover_days": str(parts.plan.cover_days),
        "most_units_at_home": as_text(parts.plan.most_units_at_home),
        "prescription_ends_on": (
            parts.plan.prescription_ends_on.isoformat() if parts.plan.prescription_ends_on else ""
        ),
    }


def save_plan(request: Request, reader: FormReader, parts: Parts, _key: str) -> Saved:
    """Change how safe the plan is to be, at once."""
    level = chosen(reader, "protection", _levels(parts))
    cover_days = reader.whole("cover_days", unit="days", example=28)
    room = reader.optional_whole("most_units_at_home", unit="units", example=60)
    ends_on = reader.optional_day("prescription_ends_on")
    reader.refuse()
    values = {
        "protection": float(level),
        "cover_days": cover_days,
        "most_units_at_home": room,
        "prescription_ends_on": ends_on,
    }
    return set_fields(request, Subject.PLAN, values, starts_on=request.now.date())


def household_fields(parts: Parts, _key: str) -> tuple[Field, ...]:
    """Name and clock."""
    return (
        Field(
            kind="text",
            name="name",
            label="A name for this household",
            short="Name",
            hint="Initials will do.",
        ),
        Field(
            kind="choice",
            name="time_zone",
            label="Which place is nearest?",
            short="Nearest place",
            hint="It sets the clock by which days begin and end.",
            choices=tuple(zone_choices(parts.time_zone)),
        ),
    )


def household_values(parts: Parts, _key: str) -> dict[str, str]:
    """Name and clock as they are."""
    return {"name": parts.name, "time_zone": parts.time_zone}


def save_household(request: Request, reader: FormReader, parts: Parts, _key: str) -> Saved:
    """Change name or clock, at once."""
    name = needed(reader, "name", "write a name or initials")
    zone = chosen(reader, "time_zone", tuple(zone_choices(parts.time_zone)))
    reader.refuse()
    return set_household(request, name=name, time_zone=zone)
