"""The tables of a scenario file that describe a household, apart from its records."""

from __future__ import annotations

import zoneinfo
from datetime import time
from functools import lru_cache

import holidays

from planner.dates import WEEKDAY_NAMES
from planner.fitting_kits import OTHER_KITS
from planner.household import Catheter, ClinicalGroup, Pause, PlanSettings, Site
from planner.items import ItemKind, SupplyItem
from planner.refill_rules import known_rules
from planner.regimen import Pattern, Regimen, weekly_rule
from planner.scenario_fields import Table, nearest
from planner.supply import (
    AuthorizedQuantity,
    Closure,
    Contact,
    StandingDelivery,
    SupplierTerms,
)


def read_time_zone(head: Table) -> str:
    """The household's time zone, a name the time zone database knows."""
    name = head.text("time_zone")
    if head.has("time_zone") and name not in _time_zones():
        fix = f"use an IANA name such as Europe/London{nearest(name, sorted(_time_zones()))}"
        head.note("time_zone", name, fix)
    return name


@lru_cache(maxsize=1)
def _time_zones() -> frozenset[str]:
    return frozenset(zoneinfo.available_timezones())


def read_item(table: Table) -> SupplyItem | None:
    """One line of the catalogue."""
    return table.build(
        lambda: SupplyItem(
            code=table.text("code"),
            name=table.text("name"),
            kind=table.choice("kind", ItemKind),
            capacity_ml=table.whole("capacity_ml", None),
            units_per_box=table.whole("units_per_box", 1),
        )
    )


def read_catheter(table: Table) -> Catheter | None:
    """One catheter with its regimens."""
    return table.build(
        lambda: Catheter(
            id=table.text("id"),
            label=table.text("label"),
            site=table.choice("site", Site),
            kit_code=table.text("kit"),
            other_kit_codes=table.values(OTHER_KITS, str, "codes of kits"),
            bottle_code=table.text("bottle", None),
            clinical_group=table.choice("clinical_group", ClinicalGroup, ClinicalGroup.UNKNOWN),
            expected_ml_per_day=table.whole("expected_ml_per_day", None),
            removed_on=table.day("removed_on", None),
            regimens=table.each("regimens", _regimen),
        )
    )


_FREQUENCIES = ("every_n_days", "weekdays", "rrule", "as_needed")


def _regimen(table: Table) -> Regimen | None:
    def make() -> Regimen:
        written = [key for key in _FREQUENCIES if table.has(key)]
        if len(written) != 1:
            fix = f"write exactly one of {', '.join(_FREQUENCIES)}"
            table.note("frequency", " and ".join(written) or "missing", fix)
        pattern, rule = Pattern.EVERY_N_DAYS, None
        if "as_needed" in written:
            pattern = Pattern.AS_NEEDED
            if not table.flag("as_needed"):
                table.note("as_needed", "false", "write true, or another frequency instead")
        elif "weekdays" in written:
            pattern, rule = Pattern.RRULE, weekly_rule(_weekdays(table, "weekdays"))
        elif "rrule" in written:
            pattern, rule = Pattern.RRULE, table.text("rrule")
        return Regimen(
            starts_on=table.day("starts_on"),
            pattern=pattern,
            every_n_days=table.whole("every_n_days", None),
            rrule=rule,
            session_limit_ml=table.whole("session_limit_ml", None),
            ordered_by=table.text("ordered_by", ""),
        )

    return table.build(make)


def _weekdays(table: Table, key: str) -> tuple[str, ...]:
    days = table.values(key, str, 'weekdays such as "MO"')
    for n, day in enumerate(days, 1):
        if day not in WEEKDAY_NAMES:
            table.note(f"{key}[{n}]", day, f"use {', '.join(WEEKDAY_NAMES)}")
    if not days:
        table.note(key, "empty", "name at least one weekday, for example MO")
    return days


def read_supplier(table: Table) -> SupplierTerms | None:
    """The supplier's terms."""

    def make() -> SupplierTerms:
        name, phone = table.text("name"), table.text("phone", "")
        asked_for = table.text("contact", "")
        weekdays = _weekdays(table, "delivery_weekdays") if table.has("delivery_weekdays") else None
        country, region = _holidays(table)
        known_days = [day for day in weekdays or () if day in WEEKDAY_NAMES]
        return SupplierTerms(
            name=name,
            lead_business_days=table.whole("lead_business_days"),
            cut_off=table.clock("cut_off", time(15)),
            time_zone=table.text("time_zone", None),
            delivery_weekdays=tuple(map(WEEKDAY_NAMES.index, known_days)) if weekdays else None,
            standing=_standing(table),
            holiday_country=country,
            holiday_region=region,
            closures=table.each("closures", _closure),
            minimum_boxes=table.whole("minimum_boxes", 0),
            express_business_days=table.whole("express_business_days", None),
            contact=Contact(name=asked_for or name, phone=phone) if asked_for or phone else None,
        )

    return table.build(make)


def _standing(table: Table) -> StandingDelivery | None:
    inner = table.table("standing")
    if inner is None:
        return None
    return inner.build(
        lambda: StandingDelivery(rrule=inner.text("rrule"), starts_on=inner.day("starts_on"))
    )


def _holidays(table: Table) -> tuple[str | None, str | None]:
    """Country and region whose public holidays the calendar knows."""
    country, region = table.text("holiday_country", None), table.text("holiday_region", None)
    known = holidays.list_supported_countries(include_aliases=False)
    if country is not None and country not in known:
        table.note("holiday_country", country, "use a two-letter country code such as GB")
    elif region is not None and region not in known.get(country or "", ()):
        regions = ", ".join(known.get(country or "", ())) or "none without holiday_country"
        table.note("holiday_region", region, f"use a region code of that country ({regions})")
    return country, region


def _closure(table: Table) -> Closure | None:
    return table.build(
        lambda: Closure(
            starts_on=table.day("starts_on"),
            ends_on=table.day("ends_on"),
            reason=table.text("reason", ""),
        )
    )


def read_contact(table: Table) -> Contact | None:
    """Whom to call."""
    return table.build(lambda: Contact(name=table.text("name"), phone=table.text("phone", "")))


def read_settings(table: Table) -> PlanSettings | None:
    """Choices that steer the plan."""
    usual = PlanSettings()

    def make() -> PlanSettings:
        rule = table.text("refill_rule", None)
        if rule is not None and rule not in known_rules():
            fix = f"use one of {', '.join(known_rules())}, or leave it out"
            table.note("refill_rule", rule, fix)
        return PlanSettings(
            protection=table.number("protection", usual.protection),
            cover_days=table.whole("cover_days", usual.cover_days),
            horizon_days=table.whole("horizon_days", usual.horizon_days),
            refill_rule=rule,
            most_units_at_home=table.whole("most_units_at_home", None),
            prescription_ends_on=table.day("prescription_ends_on", None),
        )

    return table.build(make)


def read_pause(table: Table) -> Pause | None:
    """Days away from home."""
    return table.build(
        lambda: Pause(
            starts_on=table.day("starts_on"),
            ends_on=table.day("ends_on", None),
            reason=table.text("reason", ""),
            catheter_id=table.text("catheter", None),
        )
    )


def read_authorized(table: Table) -> AuthorizedQuantity | None:
    """A limit on how much may be ordered."""
    return table.build(
        lambda: AuthorizedQuantity(
            item_code=table.text("item"),
            units=table.whole("units"),
            per_days=table.whole("per_days"),
            starts_on=table.day("starts_on"),
        )
    )
