"""What people set for a household: each a dated change, none of which is ever overwritten."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date, timedelta
from typing import Any

from sqlmodel import col, update

from app import clock
from app.access import Permission
from app.changes import CARRIES_DATES, Parts, SettingChange, Subject
from app.changes_rows import (
    NO_DATES,
    NotedChange,
    PlanDates,
    add_change,
    noted_changes,
    read_changes,
)
from app.convert import read_household, read_parts
from app.errors import NotFound, as_input
from app.models import HouseholdRow
from app.planning import plan_for
from app.writing import Change, Request, Saved, save
from planner.errors import InvalidHousehold, InvalidValue, require_text
from planner.household import Pause, refuse_future
from planner.regimen import Regimen
from planner.supply import AuthorizedQuantity, Closure

NOTHING = ""
"""Key of a change that would have changed nothing and was not kept."""

_FURTHEST_BACK = timedelta(days=3653)
_FURTHEST_AHEAD = timedelta(days=731)
_SEVERAL = (Subject.PAUSE, Subject.CLOSURE, Subject.AUTHORIZED)


def set_regimen(request: Request, catheter_id: str, regimen: Regimen) -> Saved:
    """Write down what was prescribed from a day on; earlier regimens stay.

    Raises:
        InvalidInput: fields of `Regimen`.
    """
    values = _fields_of(regimen)
    return _set(request, Subject.REGIMEN, values, starts_on=regimen.starts_on, target=catheter_id)


def set_pause(request: Request, pause: Pause, key: str = "") -> Saved:
    """Write down days away from home, or, with a key, correct or end those written before.

    Raises:
        InvalidInput: fields `starts_on`, `ends_on`.
    """
    with as_input():
        _refuse_empty(pause)
    values = _fields_of(pause)
    return _set(request, Subject.PAUSE, values, starts_on=pause.starts_on, target=key)


def set_closure(request: Request, closure: Closure, key: str = "") -> Saved:
    """Write down days on which the supplier is closed.

    Raises:
        InvalidInput: fields of `Closure`.
    """
    values = _fields_of(closure)
    return _set(request, Subject.CLOSURE, values, starts_on=closure.starts_on, target=key)


def set_authorized(request: Request, limit: AuthorizedQuantity, key: str = "") -> Saved:
    """Write down how many units of an item are allowed in a period.

    Raises:
        InvalidInput: fields of `AuthorizedQuantity`.
    """
    values = _fields_of(limit)
    return _set(request, Subject.AUTHORIZED, values, starts_on=limit.starts_on, target=key)


def remove(request: Request, subject: Subject, key: str) -> Saved:
    """Take out a pause, a closure or a limit, whoever wrote it.

    Raises:
        NotFound: when there is none with this key.
    """
    return _set(request, subject, {}, starts_on=request.now.date(), target=key, is_removal=True)


def set_fields(
    request: Request,
    subject: Subject,
    values: Mapping[str, Any],
    *,
    starts_on: date,
    target: str = "",
) -> Saved:
    """Change some fields of the supplier's terms, a catheter, an item, the care team, the plan.

    Args:
        request: who, when, which form.
        subject: what they belong to.
        values: fields by name; those that are the same already are left out.
        starts_on: first day on which they hold.
        target: id of the catheter or code of the item.

    Returns:
        The key of the change, `NOTHING` when everything was so already.

    Raises:
        InvalidInput: fields of the subject.
    """
    return _set(request, subject, values, starts_on=starts_on, target=target)


def set_household(request: Request, *, name: str, time_zone: str) -> Saved:
    """Change a household's name or time zone, at once.

    Raises:
        InvalidInput: fields `name`, `time_zone`.
    """
    require = {"name": name.strip(), "time_zone": time_zone.strip()}

    def action(change: Change) -> str:
        row = change.db.get_one(HouseholdRow, change.household.id)
        was = {key: getattr(row, key) for key in require}
        values = {key: value for key, value in require.items() if value != was[key]}
        if not values:
            return NOTHING
        require_text("name", require["name"])
        _write_household(change, values)
        return _add(
            change,
            SettingChange(
                key=change.key(),
                subject=Subject.HOUSEHOLD,
                starts_on=change.now.date(),
                values=values,
            ),
            was=was,
            before=NO_DATES,
        )

    return save(request, Permission.RECORD, action)


def take_back(request: Request, key: str) -> Saved:
    """Take back a change; both stay in the history.

    Raises:
        NotFound: when there is no such change.
        InvalidInput: field `entry`, when it was taken back before, or later entries need it.
    """
    before = _plan_before(request)

    def action(change: Change) -> str:
        noted = noted_changes(change.db, change.household.id)
        found = next((one for one in noted if one.change.key == key), None)
        if found is None:
            raise NotFound
        if found.taken_back:
            raise InvalidValue("entry", key, "it was taken back already")
        if found.change.subject is Subject.HOUSEHOLD:
            _restore_household(change, found, noted)
        undo = SettingChange(
            key=change.key(),
            subject=Subject.UNDO,
            target=key,
            starts_on=change.now.date(),
        )
        return _add(change, undo, was=None, before=before)

    return save(request, Permission.RECORD, action)


def _set(
    request: Request,
    subject: Subject,
    values: Mapping[str, Any],
    *,
    starts_on: date,
    target: str = "",
    is_removal: bool = False,
) -> Saved:
    before = _plan_before(request)

    def action(change: Change) -> str:
        _check_day(change, starts_on)
        parts = read_parts(change.db, change.household.id, max(starts_on, change.now.date()))
        was = _before(parts, subject, target, change)
        kept = _changed(subject, values, was)
        if not kept and not is_removal:
            return NOTHING
        made = SettingChange(
            key=change.key(),
            subject=subject,
            target=target or (change.key() if subject in _SEVERAL else ""),
            starts_on=starts_on,
            values=kept,
            is_removal=is_removal,
        )
        return _add(change, made, was={one: was[one] for one in kept if one in was}, before=before)

    return save(request, Permission.RECORD, action)


def _plan_before(request: Request) -> PlanDates:
    plan = plan_for(request.db, request.access.household_id, request.now).plan
    return PlanDates(lasted_on=plan.run_out.expected_on, order_by_on=plan.order.order_by_on)


def _before(parts: Parts, subject: Subject, target: str, change: Change) -> dict[str, Any]:
    """The fields as they are before a change; empty for something new.

    Raises:
        NotFound: when the target of a change is not there.
    """
    match subject:
        case Subject.SUPPLIER:
            return _fields_of(parts.supplier)
        case Subject.PLAN:
            return _fields_of(parts.plan)
        case Subject.CARE_TEAM:
            return {} if parts.care_team is None else _fields_of(parts.care_team)
        case Subject.REGIMEN:
            if target not in {one.id for one in change.household.catheters}:
                raise NotFound
            return {}
        case Subject.ITEM:
            return _fields_of(parts.items[target]) if target in parts.items else {}
    groups: dict[Subject, Mapping[str, Any]] = {
        Subject.CATHETER: parts.catheters,
        Subject.PAUSE: parts.pauses,
        Subject.CLOSURE: parts.closures,
        Subject.AUTHORIZED: parts.authorized,
    }
    known = groups[subject].get(target)
    if known is None and target:
        raise NotFound
    return {} if known is None else _fields_of(known)


def _changed(subject: Subject, values: Mapping[str, Any], was: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept of a change: whole things where they are small, else the changed fields."""
    if subject in CARRIES_DATES or subject is Subject.CARE_TEAM:
        return {} if values == was else dict(values)
    return {name: one for name, one in values.items() if name not in was or one != was[name]}


def _add(
    change: Change,
    made: SettingChange,
    *,
    was: Mapping[str, Any] | None,
    before: PlanDates,
) -> str:
    add_change(
        change.db,
        change.household.id,
        made,
        was=was,
        before=before,
        recorded_by=change.access.account_id,
        recorded_at=change.recorded_at,
    )
    _check_whole(change)
    return made.key


def _check_whole(change: Change) -> None:
    """The record must be usable today and on every day from which a change holds."""
    today = change.now.date()
    changes = read_changes(change.db, change.household.id)
    for day in sorted({today} | {one.starts_on for one in changes if one.starts_on > today}):
        read_household(change.db, change.household.id, day)


def _check_day(change: Change, day: date) -> None:
    today = change.now.date()
    if not today - _FURTHEST_BACK <= day <= today + _FURTHEST_AHEAD:
        raise InvalidValue("starts_on", day, "it lies too far away; check the year")


def _refuse_empty(pause: Pause) -> None:
    if pause.ends_on is not None and pause.ends_on <= pause.starts_on:
        fix = "the first day at home again comes after the first day away"
        raise InvalidValue("ends_on", pause.ends_on, fix)


def _write_household(change: Change, values: Mapping[str, Any]) -> None:
    here = col(HouseholdRow.id) == change.household.id
    change.db.exec(update(HouseholdRow).where(here).values(**values))
    change.db.expire_all()
    household = read_household(change.db, change.household.id, change.now.date())
    if household is not None:
        # Going west may put what was written today into tomorrow.
        try:
            refuse_future(household, clock.today_in(household.time_zone))
        except InvalidHousehold as error:
            fix = "by its clock, entries of today would lie ahead; change it tomorrow"
            raise InvalidValue("time_zone", household.time_zone, fix) from error


def _restore_household(change: Change, found: NotedChange, noted: tuple[NotedChange, ...]) -> None:
    for later in noted:
        if later is found:
            break
        same = set(later.change.values) & set(found.change.values)
        if later.change.subject is Subject.HOUSEHOLD and same and not later.taken_back:
            raise InvalidValue("entry", found.change.key, "take back the later change first")
    _write_household(change, {one: found.was[one] for one in found.change.values})


def _fields_of(value: Any) -> dict[str, Any]:  # noqa: ANN401  (any dataclass of the planner)
    return {one.name: getattr(value, one.name) for one in fields(value)}
