"""Scenario files: the record of one household or of many, as TOML.

The format, version 1, is described field by field in `seed_scenarios/README.md`.
Reading gathers every fault of a file before it refuses the file.
"""

from __future__ import annotations

import re
import tomllib
import zoneinfo
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, time
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

import holidays

from planner.dates import WEEKDAY_NAMES
from planner.errors import Fault, InvalidHousehold, InvalidValue, PlannerError
from planner.household import (
    Catheter,
    ClinicalGroup,
    Household,
    Pause,
    PlanSettings,
    Site,
    refuse_future,
)
from planner.items import ItemKind, SupplyItem
from planner.ledger import LedgerEntry
from planner.refill_rules import known_rules
from planner.regimen import Pattern, Regimen, weekly_rule
from planner.scenario_fields import Table, in_file_words, nearest
from planner.scenario_records import place_in_file, read_ledger, read_orders, read_sessions
from planner.supply import AuthorizedQuantity, Closure, Contact, SupplierTerms

Read = TypeVar("Read")

FORMAT = 1
MOST_BYTES = 20_000_000
"""Largest file that is read; some ten thousand households. [bytes]"""


class InvalidScenario(PlannerError):
    """A scenario file cannot be used; every fault found is listed.

    Attributes:
        name: the file's name as it was given.
        faults: what is wrong, each with its place in the file.
    """

    def __init__(self, name: str, faults: tuple[Fault, ...]) -> None:
        self.name = name
        self.faults = faults
        start = f"{name}: " if name else ""
        super().__init__("\n".join(start + fault.sentence for fault in faults))


@dataclass(frozen=True, slots=True, kw_only=True)
class ScenarioFile:
    """What a scenario file holds.

    Attributes:
        as_of: the last day its records cover, and the usual day of the plan.
        households: in the order of the file; ids are all different.
        description: what the file shows, for people.
    """

    as_of: date
    households: tuple[Household, ...]
    description: str = ""
    format: int = FORMAT


def read_scenario(path: Path) -> ScenarioFile:
    """Read a scenario file.

    Raises:
        OSError: when the file cannot be opened.
        InvalidScenario: when its content cannot be used.
    """
    with path.open("rb") as file:
        return parse_scenario(file.read(MOST_BYTES + 1), str(path))


def parse_scenario(content: bytes | str, name: str = "") -> ScenarioFile:
    """Read the text of a scenario file.

    Args:
        content: TOML, as text or as UTF-8 bytes.
        name: the file's name, for messages.

    Raises:
        InvalidScenario: when there is any fault in it; all of them are listed.
    """
    faults: list[Fault] = []
    top = Table(_toml(content, name), "", faults)
    scenario = top.build(lambda: _scenario(top))
    if scenario is None:
        raise InvalidScenario(name, tuple(dict.fromkeys(faults)))
    return scenario


def _toml(content: bytes | str, name: str) -> dict[str, object]:
    """The raw tables.

    Raises:
        InvalidScenario: when the file is too large, not UTF-8 or not TOML.
    """
    try:
        data = content.encode() if isinstance(content, str) else content
        if len(data) > MOST_BYTES:
            fix = f"split it into files of at most {MOST_BYTES:,} bytes"
            raise _whole_file(name, "too large", fix)
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeError as error:
        raise _whole_file(name, "not UTF-8 text", "save it as plain UTF-8 text") from error
    except RecursionError as error:
        raise _whole_file(name, "nested too deeply", "write plain tables and lists") from error
    except tomllib.TOMLDecodeError as error:
        raise _whole_file(name, "not valid TOML", _where(str(error))) from error
    except PlannerError:
        raise
    except ValueError as error:
        raise _whole_file(name, "not valid TOML", f"correct the number ({error})") from error


def _whole_file(name: str, value: str, fix: str) -> InvalidScenario:
    return InvalidScenario(name, (Fault(field="the file", value=value, fix=fix),))


def _where(error: str) -> str:
    """A parser's message turned into what to correct and where."""
    found = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", error)
    if found is None:
        return f"correct it ({error})"
    what, line, column = found.groups()
    where = f"line {line}, column {column}" if line else "the end of the file"
    return f"correct it at {where} ({what[:1].lower()}{what[1:]})"


def _scenario(top: Table) -> ScenarioFile:
    version = top.whole("format")
    if version != FORMAT:
        top.note("format", version, f"this program reads format {FORMAT}")
    as_of = top.day("as_of")
    description = top.text("description", "")
    households = tuple(_households(top, as_of))
    seen: set[str] = set()
    for n, household in enumerate(households, 1):
        if household.id in seen:
            top.note(f"households[{n}].id", household.id, "each household needs its own id")
        seen.add(household.id)
    return ScenarioFile(as_of=as_of, households=households, description=description, format=version)


def _households(top: Table, as_of: date) -> Iterator[Household]:
    """Households with the shared tables, and what one household writes at the top level."""
    many = top.tables("households")
    if many:
        for one in many:
            yield from _household(one, one, top, as_of)
        for key in ("supplier", "items", "settings", "care_team"):
            top.has(key)
    elif (head := top.table("household")) is not None:
        yield from _household(head, top, top, as_of)
    else:
        top.miss("household", "describe one in [household], or many in [[households]]")


def _household(head: Table, own: Table, shared: Table, as_of: date) -> Iterator[Household]:
    """One household; nothing when anything is wrong with it.

    Args:
        head: the table with its id, name and time zone.
        own: the table that holds its lists.
        shared: the table whose supplier, items, settings and care team serve every
            household that does not write its own.
        as_of: the last day its records may cover.
    """
    faults, before = own.faults, len(own.faults)
    place = "" if own is shared else own.place
    household_id, name, zone = head.text("id"), head.text("name"), _time_zone(head)
    items = (own if own.has("items") else shared).each("items", _item)
    catheters = own.each("catheters", _catheter)
    only_catheter = catheters[0].id if len(own.tables("catheters")) == len(catheters) == 1 else None
    supplier = _read_one(own, shared, "supplier", _supplier)
    settings = _read_one(own, shared, "settings", _settings) or PlanSettings()
    care_team = _read_one(own, shared, "care_team", _contact)
    sessions = read_sessions(own, only_catheter)
    ledger, orders = read_ledger(own), read_orders(own)
    pauses, authorized = own.each("pauses", _pause), own.each("authorized", _authorized)
    if supplier is None and len(faults) == before:
        own.miss("supplier", "say who delivers and in how many business days")
    if head is not shared:
        head.close()
    if supplier is None or len(faults) > before:
        return
    try:
        household = Household(
            id=household_id,
            name=name,
            time_zone=zone,
            items=items,
            catheters=catheters,
            supplier=supplier,
            sessions=sessions,
            ledger=ledger,
            orders=orders,
            pauses=pauses,
            authorized=authorized,
            care_team=care_team,
            settings=settings,
        )
        refuse_future(household, as_of)
    except InvalidValue as error:
        faults.append(error.fault.within(head.place))
    except InvalidHousehold as error:
        faults.extend(_in_file(fault, ledger, place) for fault in error.faults)
    else:
        yield household


def _in_file(fault: Fault, ledger: tuple[LedgerEntry, ...], place: str) -> Fault:
    """A fault of a whole household with its place as the file counts it."""
    found = re.match(r"ledger\[(\d+)\] \(\w+\)", fault.place)
    if found is not None:
        spot = place_in_file(ledger, int(found[1]))
        fault = replace(fault, place=spot + fault.place[found.end() :])
    fault = in_file_words(fault)
    return fault.within(place) if place else fault


def _read_one(
    own: Table, shared: Table, key: str, read: Callable[[Table], Read | None]
) -> Read | None:
    table = own.table(key) or shared.table(key)
    return None if table is None else read(table)


def _time_zone(head: Table) -> str:
    name = head.text("time_zone")
    if head.has("time_zone") and name not in _time_zones():
        fix = f"use an IANA name such as Europe/London{nearest(name, sorted(_time_zones()))}"
        head.note("time_zone", name, fix)
    return name


@lru_cache(maxsize=1)
def _time_zones() -> frozenset[str]:
    return frozenset(zoneinfo.available_timezones())


def _item(table: Table) -> SupplyItem | None:
    return table.build(
        lambda: SupplyItem(
            code=table.text("code"),
            name=table.text("name"),
            kind=table.choice("kind", ItemKind),
            capacity_ml=table.whole("capacity_ml", None),
            units_per_box=table.whole("units_per_box", 1),
        )
    )


def _catheter(table: Table) -> Catheter | None:
    return table.build(
        lambda: Catheter(
            id=table.text("id"),
            label=table.text("label"),
            site=table.choice("site", Site),
            kit_code=table.text("kit"),
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


def _supplier(table: Table) -> SupplierTerms | None:
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
            delivery_weekdays=tuple(map(WEEKDAY_NAMES.index, known_days)) if weekdays else None,
            holiday_country=country,
            holiday_region=region,
            closures=table.each("closures", _closure),
            minimum_boxes=table.whole("minimum_boxes", 0),
            contact=Contact(name=asked_for or name, phone=phone) if asked_for or phone else None,
        )

    return table.build(make)


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


def _contact(table: Table) -> Contact | None:
    return table.build(lambda: Contact(name=table.text("name"), phone=table.text("phone", "")))


def _settings(table: Table) -> PlanSettings | None:
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
        )

    return table.build(make)


def _pause(table: Table) -> Pause | None:
    return table.build(
        lambda: Pause(
            starts_on=table.day("starts_on"),
            ends_on=table.day("ends_on", None),
            reason=table.text("reason", ""),
            catheter_id=table.text("catheter", None),
        )
    )


def _authorized(table: Table) -> AuthorizedQuantity | None:
    return table.build(
        lambda: AuthorizedQuantity(
            item_code=table.text("item"),
            units=table.whole("units"),
            per_days=table.whole("per_days"),
            starts_on=table.day("starts_on"),
        )
    )
