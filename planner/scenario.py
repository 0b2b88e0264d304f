"""Scenario files: the record of one household or of many, as TOML.

The format, version 1, is described field by field in `seed_scenarios/README.md`.
Reading gathers every fault of a file before it refuses the file.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TypeVar

from planner.errors import Fault, InvalidHousehold, InvalidValue, PlannerError
from planner.household import (
    Household,
    PlanSettings,
    refuse_future,
)
from planner.ledger import LedgerEntry
from planner.scenario_fields import FIRST_YEAR, LAST_YEAR, Table, in_file_words
from planner.scenario_parts import (
    read_authorized,
    read_catheter,
    read_contact,
    read_item,
    read_pause,
    read_settings,
    read_supplier,
    read_time_zone,
)
from planner.scenario_records import place_in_file, read_ledger, read_orders, read_sessions

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


def check_as_of(file: ScenarioFile, as_of: date, name: str = "") -> None:
    """Refuse a day of the plan before the last record of the file.

    Raises:
        InvalidScenario: naming every record after `as_of`, or the day when it is out of bounds.
    """
    faults: list[Fault] = []
    if not FIRST_YEAR <= as_of.year <= LAST_YEAR:
        fix = f"give a year from {FIRST_YEAR} to {LAST_YEAR}"
        faults.append(Fault(field="--as-of", value=str(as_of), fix=fix))
    many = len(file.households) > 1
    for n, household in enumerate(file.households, 1):
        try:
            refuse_future(household, as_of)
        except InvalidHousehold as error:
            place = f"households[{n}]" if many else ""
            faults.extend(_in_file(fault, household.ledger, place) for fault in error.faults)
    if faults:
        raise InvalidScenario(name, tuple(faults))


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
    # Settings that count from a later day are for whoever keeps the record; no plan needs them.
    top.has("later_settings")
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
    household_id, name, zone = head.text("id"), head.text("name"), read_time_zone(head)
    items = (own if own.has("items") else shared).each("items", read_item)
    catheters = own.each("catheters", read_catheter)
    only_catheter = catheters[0].id if len(own.tables("catheters")) == len(catheters) == 1 else None
    supplier = _read_one(own, shared, "supplier", read_supplier)
    settings = _read_one(own, shared, "settings", read_settings) or PlanSettings()
    care_team = _read_one(own, shared, "care_team", read_contact)
    sessions = read_sessions(own, only_catheter)
    ledger, orders = read_ledger(own), read_orders(own)
    pauses, authorized = own.each("pauses", read_pause), own.each("authorized", read_authorized)
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
    table, dot, key = fault.place.rpartition(".")
    if dot and key in ("kit", "bottle"):
        # The planner says that the kit's item is wrong; the file has one word for both.
        fault = replace(fault, place=table, field=key)
    fault = in_file_words(fault)
    return fault.within(place) if place else fault


def _read_one(
    own: Table, shared: Table, key: str, read: Callable[[Table], Read | None]
) -> Read | None:
    table = own.table(key) or shared.table(key)
    return None if table is None else read(table)
