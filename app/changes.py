"""Dated changes of a household's settings, laid over the record they change.

The first version of a household stands in its own tables. What people set later are changes:
each has a day from which it holds, none is ever altered, and taking one back is a change as
well. The settings of a day are the first version with every change that holds on it, one
after the other. A change carries only the fields that it changes, so taking back one leaves
the others as they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, cast, get_type_hints

from pydantic import TypeAdapter

from planner.household import Catheter, Household, Pause, PlanSettings
from planner.items import SupplyItem
from planner.regimen import Regimen
from planner.sessions import Session
from planner.stock import items_taken
from planner.supply import AuthorizedQuantity, Closure, Contact, SupplierTerms

Thing = TypeVar("Thing")


class Subject(StrEnum):
    """What a change is about."""

    REGIMEN = "regimen"
    PAUSE = "pause"
    CATHETER = "catheter"
    ITEM = "item"
    AUTHORIZED = "authorized"
    SUPPLIER = "supplier"
    CLOSURE = "closure"
    CARE_TEAM = "care-team"
    PLAN = "plan"
    HOUSEHOLD = "household"
    UNDO = "undo"


KINDS: dict[Subject, type] = {
    Subject.REGIMEN: Regimen,
    Subject.PAUSE: Pause,
    Subject.CATHETER: Catheter,
    Subject.ITEM: SupplyItem,
    Subject.AUTHORIZED: AuthorizedQuantity,
    Subject.SUPPLIER: SupplierTerms,
    Subject.CLOSURE: Closure,
    Subject.CARE_TEAM: Contact,
    Subject.PLAN: PlanSettings,
    Subject.HOUSEHOLD: Household,
}
CARRIES_DATES = (Subject.REGIMEN, Subject.PAUSE, Subject.CLOSURE, Subject.AUTHORIZED)
"""Their own dates say when they count, so the plan is told at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingChange:
    """One change.

    Attributes:
        target: which one, where there are several: id of a catheter, code of an item, or key
            of a pause, closure or limit.
        starts_on: first day on which it holds.
        values: the changed fields by name.
        is_removal: the target is no longer there.
    """

    key: str
    subject: Subject
    target: str = ""
    starts_on: date
    values: Mapping[str, Any] = field(default_factory=dict)
    is_removal: bool = False

    def holds_on(self, day: date) -> bool:
        """Whether the settings of a day follow it."""
        return self.subject in CARRIES_DATES or self.starts_on <= day


@dataclass(slots=True, kw_only=True)
class Parts:
    """The settings of a household, each part by its key."""

    name: str
    time_zone: str
    items: dict[str, SupplyItem]
    catheters: dict[str, Catheter]
    supplier: SupplierTerms
    closures: dict[str, Closure]
    pauses: dict[str, Pause]
    authorized: dict[str, AuthorizedQuantity]
    care_team: Contact | None
    plan: PlanSettings


def encode(subject: Subject, values: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a subject as JSON values."""
    return {
        name: _adapter(subject, name).dump_python(value, mode="json")
        for name, value in values.items()
    }


def decode(subject: Subject, values: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a subject from JSON values."""
    return {name: _adapter(subject, name).validate_python(one) for name, one in values.items()}


@cache
def _adapter(subject: Subject, name: str) -> TypeAdapter[Any]:
    return TypeAdapter(get_type_hints(KINDS[subject])[name])


def lay_over(parts: Parts, changes: Iterable[SettingChange], on: date) -> Parts:
    """The settings of a day.

    Args:
        parts: the first version; it is not altered.
        changes: in the order in which they were written, without those taken back.
        on: which day.
    """
    made = replace(
        parts,
        items=dict(parts.items),
        catheters=dict(parts.catheters),
        closures=dict(parts.closures),
        pauses=dict(parts.pauses),
        authorized=dict(parts.authorized),
    )
    in_force = [one for one in changes if one.holds_on(on)]
    # Sorting keeps the order of writing among changes of the same day.
    dated = [one for one in in_force if one.subject in CARRIES_DATES]
    patches = [one for one in in_force if one.subject not in CARRIES_DATES]
    for change in (*sorted(patches, key=lambda one: one.starts_on), *dated):
        _lay(made, change)
    return made


def _lay(parts: Parts, change: SettingChange) -> None:
    values = change.values
    match change.subject:
        case Subject.REGIMEN:
            _lay_regimen(parts, change)
        case Subject.PAUSE:
            _put(parts.pauses, Pause, change)
        case Subject.CLOSURE:
            _put(parts.closures, Closure, change)
        case Subject.AUTHORIZED:
            _put(parts.authorized, AuthorizedQuantity, change)
        case Subject.ITEM:
            _put(parts.items, SupplyItem, change)
        case Subject.CATHETER:
            _put(parts.catheters, Catheter, change)
        case Subject.SUPPLIER:
            parts.supplier = replace(parts.supplier, **values)
        case Subject.CARE_TEAM:
            parts.care_team = None if change.is_removal else Contact(**values)
        case Subject.PLAN:
            parts.plan = replace(parts.plan, **values)


def _put(things: dict[str, Thing], kind: type[Thing], change: SettingChange) -> None:
    """Add one, change one, or take one out."""
    known = things.get(change.target)
    if change.is_removal:
        things.pop(change.target, None)
    elif known is None:
        things[change.target] = kind(**change.values)
    else:
        things[change.target] = cast("Thing", replace(cast("Any", known), **change.values))


def _lay_regimen(parts: Parts, change: SettingChange) -> None:
    """A regimen takes the place of one that starts on the same day; all others stay."""
    catheter = parts.catheters.get(change.target)
    if catheter is None:
        return
    kept = [one for one in catheter.regimens if one.starts_on != change.starts_on]
    if not change.is_removal:
        kept.append(Regimen(**change.values))
    regimens = tuple(sorted(kept, key=lambda one: one.starts_on))
    parts.catheters[change.target] = replace(catheter, regimens=regimens)


_GOODS = ("kit_code", "bottle_code", "other_kit_codes")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Goods:
    """What catheters use, by id: today, and on the day of an older session."""

    parts: Parts
    moved: tuple[SettingChange, ...]
    today: Mapping[str, Catheter]

    @property
    def ever_had_a_choice(self) -> bool:
        """Whether other kits fitted some catheter at some time."""
        first = any(one.other_kit_codes for one in self.parts.catheters.values())
        return first or any(one.values.get("other_kit_codes") for one in self.moved)

    def otherwise_then(self, session: Session) -> Catheter | None:
        """The catheter as it was at a session, when it used other goods than today."""
        now = self.today.get(session.catheter_id)
        older = lay_over(self.parts, self.moved, session.drained_on).catheters
        then = older.get(session.catheter_id)
        if then is None or now is None:
            return None
        same = all(getattr(then, name) == getattr(now, name) for name in _GOODS)
        return None if same else then


def _goods_over_time(parts: Parts, changes: Iterable[SettingChange], on: date) -> _Goods | None:
    """None when catheters never changed what they use."""
    moved = [one for one in changes if one.subject is Subject.CATHETER]
    moved = [one for one in moved if set(_GOODS) & set(one.values)]
    if not moved:
        return None
    return _Goods(parts=parts, moved=tuple(moved), today=lay_over(parts, moved, on).catheters)


def with_items_named(
    sessions: tuple[Session, ...], parts: Parts, changes: Iterable[SettingChange], on: date
) -> tuple[Session, ...]:
    """Sessions that keep the goods that were usual on their own day.

    A bottle without an item is the catheter's usual one. Once that changes, older sessions
    need it by name. Of several kits that fitted then, the largest stands in until
    `with_kits_by_rule` knows better.
    """
    goods = _goods_over_time(parts, changes, on)
    if goods is None:
        return sessions

    def named(session: Session) -> Session:
        then = goods.otherwise_then(session)
        if then is None:
            return session
        kits = [parts.items[code] for code in then.kits_that_fit if code in parts.items]
        most_ml = max((one.bottle_ml for one in kits), default=0)
        larger = (one.code for one in kits if one.bottle_ml == most_ml)
        kit = next(larger, then.kit_code) if then.other_kit_codes else then.kit_code
        return _with_codes(session, (kit, *(then.bottle_code or kit for _ in session.bottles[1:])))

    return tuple(named(one) for one in sessions)


def with_kits_by_rule(
    household: Household,
    sessions: tuple[Session, ...],
    parts: Parts,
    changes: Iterable[SettingChange],
    on: date,
) -> Household:
    """The record whose older sessions name the kit that the rule of their own day says.

    Only where several kits fitted a catheter then and what it uses has changed since.

    Args:
        household: the record with items named by `with_items_named`.
        sessions: the sessions as they were written.
        parts: the first version of the settings.
        changes: in the order in which they were written, without those taken back.
        on: day of the settings that the record has.
    """
    goods = _goods_over_time(parts, changes, on)
    if goods is None or not goods.ever_had_a_choice:
        return household
    found = ((one, goods.otherwise_then(one)) for one in sessions)
    as_then = {one.id: (one, then) for one, then in found if then and then.other_kit_codes}
    if not as_then:
        return household
    taken = items_taken(household, as_then)
    named = tuple(
        _with_codes(as_then[one.id][0], taken[one.id])
        if one.id in as_then and one.id in taken
        else one
        for one in household.sessions
    )
    return replace(household, sessions=named)


def _with_codes(session: Session, codes: tuple[str, ...]) -> Session:
    """The session with these items, where a bottle named none."""
    pairs = zip(session.bottles, codes, strict=True)
    bottles = tuple(replace(one, item_code=one.item_code or code) for one, code in pairs)
    return replace(session, bottles=bottles)
