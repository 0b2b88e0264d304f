"""The first steps of a person without a household: a few answers, then the first plan."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from app import clock, queries, security
from app import wording_settings as words
from app.access import Role
from app.deps import CheckedForm, DbSession, Login, SignedIn
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.places import UTC, zone_choices
from app.services_start import (
    USUAL_BOTTLE_ML,
    USUAL_KITS_PER_BOX,
    USUAL_LEAD_BUSINESS_DAYS,
    StartEntry,
    start_household,
)
from app.settings_forms import PATTERN_CHOICES, REGIMEN_LABELS, flat, read_regimen
from app.texts import tr
from app.views import after, render
from planner.household import Site

router = APIRouter(include_in_schema=False)

_LABELS = REGIMEN_LABELS | {
    "name": "Name of the household",
    "role": "Who you are",
    "time_zone": "Nearest place",
    "site": "Where the tube lies",
    "starts_on": "Day",
    "size": "Size of the bottle",
    "bottle_ml": "Other size",
    "capacity_ml": "Other size",
    "kits": "Number of kits",
    "units": "Number on the shelf",
    "loose_bottles": "Number of loose bottles",
    "kits_per_box": "Kits in a box",
    "lead_business_days": "Working days to delivery",
    "supplier_name": "Name of the supplier",
    "supplier_phone": "Phone of the supplier",
}
_STANDS_FOR = {
    "capacity_ml": "bottle_ml",
    "units_per_box": "kits_per_box",
    "label": "name",
}
_ROLES = (
    (Role.PATIENT.value, "The supplies are for me"),
    (Role.CARER.value, "I help somebody"),
)
_SITES = ((Site.CHEST.value, "Chest"), (Site.ABDOMEN.value, "Belly"))
_SIZES = (
    ("500", "500 mL"),
    ("1000", "1000 mL"),
    ("other", "Another size"),
    ("", "I do not know (the plan counts with {volume} mL)"),
)
_FIRST = "/start"


@router.get(_FIRST)
def show_start(db: DbSession, login: SignedIn) -> Response:
    """The questions."""
    values = {
        "role": Role.PATIENT.value,
        "site": Site.CHEST.value,
        "pattern": "every-n-days",
        "every_n_days": "2",
        "size": "500",
        "starts_on": clock.utc_now().date().isoformat(),
    }
    return _page(db, login, Form(values=values, labels=_LABELS))


@router.post(_FIRST)
def do_start(db: DbSession, login: SignedIn, form: CheckedForm) -> Response:
    """Begin the household and show its first plan."""
    values = texts(form)
    submission = values.get("submission") or security.new_key()
    try:
        entry = _read(values)
        started = start_household(
            db, login.account, entry, submission=submission, now=clock.utc_now()
        )
    except InvalidInput as error:
        shown = Form(
            values=values, problems=flat(error.faults), labels=_LABELS, stands_for=_STANDS_FOR
        )
        return _page(db, login, shown, submission=submission, status=error.status)
    return after(f"/h/{started.household_id}", "started", ".".join(started.assumed))


def _read(values: Mapping[str, str]) -> StartEntry:
    reader = FormReader(values)
    name = reader.short("name", at_most=120)
    if not name:
        reader.fault("name", "write a name or initials")
    role, site, zone = reader.text("role"), reader.text("site"), reader.text("time_zone")
    for field, value, known in (
        ("role", role, dict(_ROLES)),
        ("time_zone", zone, dict(zone_choices(UTC))),
        ("site", site, dict(_SITES)),
        ("size", reader.text("size"), dict(_SIZES)),
    ):
        if value not in known:
            reader.fault(field, "choose one of those on the page")
    starts_on = reader.day("starts_on")
    size = reader.text("size")
    bottle_ml = int(size) if size.isdecimal() and size in dict(_SIZES) else None
    if size == "other":
        bottle_ml = _within(reader, "bottle_ml", 50, 5000, "mL", needed=True)
    kits = _within(reader, "kits", 0, 10_000, "kits")
    loose = _within(reader, "loose_bottles", 0, 10_000, "bottles")
    per_box = _within(reader, "kits_per_box", 1, 500, "kits")
    lead = _within(reader, "lead_business_days", 0, 60, "days")
    supplier_name = reader.short("supplier_name", at_most=120)
    supplier_phone = reader.short("supplier_phone", at_most=60)
    regimen = read_regimen(reader, starts_on, named=False)
    return StartEntry(
        name=name,
        time_zone=zone,
        role=Role(role),
        site=Site(site),
        regimen=regimen,
        bottle_ml=bottle_ml,
        kits=kits,
        loose_bottles=loose or 0,
        kits_per_box=per_box,
        lead_business_days=lead,
        supplier_name=supplier_name,
        supplier_phone=supplier_phone,
    )


def _within(
    reader: FormReader, name: str, least: int, most: int, unit: str, *, needed: bool = False
) -> int | None:
    """A whole number within bounds; empty means not known."""
    if not reader.text(name) and not needed:
        return None
    before = len(reader.faults)
    number = reader.whole(name, unit=unit, example=10)
    if len(reader.faults) == before and not least <= number <= most:
        reader.fault(name, f"give {least} to {most} {unit}")
    return number


def _page(
    db: DbSession, login: Login, form: Form, *, submission: str = "", status: int = 200
) -> Response:
    context: dict[str, object] = {
        "form": form,
        "is_first": not queries.household_links(db, login.account),
        "roles": _ROLES,
        "zones": [("", "Choose a place"), *zone_choices(UTC)],
        "sites": _SITES,
        "patterns": [one for one in PATTERN_CHOICES if one[0] != "rrule"],
        "weekdays": [(n, words.weekday_text(n)) for n in range(7)],
        "sizes": [(value, tr(text, volume=USUAL_BOTTLE_ML)) for value, text in _SIZES],
        "usual_box": USUAL_KITS_PER_BOX,
        "usual_lead": USUAL_LEAD_BUSINESS_DAYS,
    }
    if submission:
        context["submission"] = submission
    return render("set_up.html", context, login=login, status=status)
