"""Posted questions: from what was typed to the change that is supposed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from app.errors import InvalidInput, faults_of
from app.forms import FormReader
from app.supposing import pack
from app.views_what_if import WEEKDAYS, take_fields
from planner.errors import Fault, InvalidValue, PlannerError
from planner.household import Household
from planner.packing import PackingList
from planner.regimen import Pattern, Regimen, regimen_on, weekly_rule
from planner.stock import shelf_on
from planner.supply import Closure
from planner.what_if import (
    DeliveryLate,
    GoodsDamaged,
    GoodsTaken,
    HospitalStay,
    RegimenChange,
    SupplierClosed,
    Supposition,
    Travel,
    require_near,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question as it was asked; `packing` belongs to days of travel."""

    change: Supposition
    packing: PackingList | None = None
    spare_days: int = 0


def read_question(
    kind: str, values: Mapping[str, str], record: Household, today: date
) -> Asked | None:
    """The change that a form describes; None when there is no such kind.

    Raises:
        InvalidInput: with every fault that was found.
    """
    readers: dict[str, Callable[[FormReader, Household, date], Supposition]] = {
        "plan": _plan,
        "stay": _stay,
        "supplier": _supplier,
        "delivery": _delivery,
        "damage": _damage,
    }
    reader = FormReader(values)
    if kind == "travel":
        return _travel(reader, record, today)
    if kind not in readers:
        return None
    try:
        return Asked(change=readers[kind](reader, record, today))
    except PlannerError as error:
        raise InvalidInput((*reader.faults, *faults_of(error))) from error


def _stay(reader: FormReader, _record: Household, _today: date) -> HospitalStay:
    starts_on, ends_on = reader.day("starts_on"), reader.optional_day("ends_on")
    reader.refuse()
    assert starts_on is not None
    return HospitalStay(starts_on=starts_on, ends_on=ends_on)


def _supplier(reader: FormReader, _record: Household, _today: date) -> SupplierClosed:
    starts_on, ends_on = reader.day("starts_on"), reader.day("ends_on")
    reader.refuse()
    assert starts_on is not None
    assert ends_on is not None
    return SupplierClosed(closure=Closure(starts_on=starts_on, ends_on=ends_on))


def _delivery(reader: FormReader, _record: Household, _today: date) -> DeliveryLate:
    days = reader.whole("business_days", unit="working days", example=2)
    if not reader.text("order"):
        reader.fault("order", "choose the order that is late")
    reader.refuse()
    return DeliveryLate(order_id=reader.text("order"), business_days=days)


def _damage(reader: FormReader, _record: Household, _today: date) -> GoodsDamaged:
    units = reader.whole("units", unit="units", example=10)
    lot = reader.short("lot", at_most=40)
    reader.refuse()
    return GoodsDamaged(item_code=reader.text("item"), units=units, lot=lot)


def _plan(reader: FormReader, record: Household, today: date) -> RegimenChange:
    catheter = record.catheter(reader.text("catheter"))
    starts_on = reader.day("starts_on")
    pattern = reader.text("pattern")
    if pattern not in list(Pattern):
        reader.fault("pattern", "choose one of the three")
    every_n_days, rule = None, None
    if pattern == Pattern.EVERY_N_DAYS:
        every_n_days = reader.whole("every_n_days", unit="days", example=2)
    if pattern == Pattern.RRULE:
        chosen = tuple(code for code, _ in WEEKDAYS if reader.text(f"weekdays.{code}") == "yes")
        rule = weekly_rule(chosen) if chosen else None
        if not chosen:
            fix = "tick at least one"
            reader.faults.append(Fault(field="weekdays", value="not ticked", fix=fix))
    limit_ml = None
    if reader.text("session_limit_ml"):
        limit_ml = reader.whole("session_limit_ml", unit="mL", example=1000)
    reader.refuse()
    assert starts_on is not None
    require_near("starts_on", starts_on, today)
    now = regimen_on(catheter.regimens, max(starts_on, today))
    return RegimenChange(
        catheter_id=catheter.id,
        regimen=Regimen(
            starts_on=starts_on,
            pattern=Pattern(pattern),
            every_n_days=every_n_days,
            rrule=rule,
            session_limit_ml=limit_ml or (now.session_limit_ml if now else None),
            ordered_by=reader.text("ordered_by")[:120],
        ),
    )


def _travel(reader: FormReader, record: Household, today: date) -> Asked:
    """Days away; an empty number means what the packing list says."""
    starts_on, ends_on = reader.day("starts_on"), reader.day("ends_on")
    spare_days = reader.whole("spare_days", unit="days", example=1)
    typed: dict[str, int] = {}
    for item in take_fields(record):
        if reader.text(item.name):
            typed[item.code] = reader.whole(item.name, unit="units", example=6)
    reader.refuse()
    assert starts_on is not None
    assert ends_on is not None
    packing = pack(record, today, starts_on, ends_on, spare_days=spare_days)
    faults, taken = [], []
    for item in take_fields(record):
        listed = next((one.units for one in packing.items if one.item_code == item.code), 0)
        there = shelf_on(record, today).usable_units(item.code)
        units = typed.get(item.code, min(listed, there))
        place = item.name.rpartition(".")[0]
        try:
            taken.append(GoodsTaken(item_code=item.code, units=units))
        except InvalidValue as error:
            faults.append(replace(error.fault, place=place))
            continue
        if units > there:
            fix = f"only {there} can be used; give at most {there}"
            faults.append(Fault(field="units", value=str(units), fix=fix, place=place))
    if faults:
        raise InvalidInput(faults)
    travel = Travel(starts_on=starts_on, ends_on=ends_on, taken=tuple(taken))
    return Asked(change=travel, packing=packing, spare_days=spare_days)
