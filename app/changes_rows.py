"""Rows of dated changes to values and back."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from app.changes import SettingChange, Subject, decode, encode
from app.models import AccountRow
from app.models_settings import SettingChangeRow

Term = TypeVar("Term")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDates:
    """What a plan said: the expected run-out and the day to order by, if in sight."""

    lasted_on: date | None = None
    order_by_on: date | None = None


NO_DATES = PlanDates()


@dataclass(frozen=True, slots=True, kw_only=True)
class NotedChange:
    """A change with what is known about its writing.

    Attributes:
        was: the changed fields before it.
        before: what the plan said before it.
        by: name of who wrote it; empty when the account is gone.
        taken_back: a later change took it back.
    """

    change: SettingChange
    was: dict[str, object]
    before: PlanDates
    recorded_at: datetime
    by: str
    taken_back: bool


def add_change(
    db: Session,
    household_id: str,
    change: SettingChange,
    *,
    recorded_at: datetime,
    was: Mapping[str, object] | None = None,
    before: PlanDates = NO_DATES,
    recorded_by: int | None = None,
) -> None:
    """Add a change; the caller commits."""
    db.add(
        SettingChangeRow(
            household_id=household_id,
            key=change.key,
            subject=change.subject.value,
            target=change.target,
            starts_on=change.starts_on,
            is_removal=change.is_removal,
            values_json=json.dumps(encode(change.subject, change.values)),
            was_json=json.dumps(encode(change.subject, was or {})),
            lasted_on=before.lasted_on,
            order_by_on=before.order_by_on,
            recorded_by=recorded_by,
            recorded_at=recorded_at,
        )
    )
    db.flush()


def read_changes(db: Session, household_id: str) -> tuple[SettingChange, ...]:
    """The changes of a household in the order of writing, without those taken back."""
    return _standing(db.exec(_of(household_id)).all())


def noted_changes(db: Session, household_id: str) -> tuple[NotedChange, ...]:
    """Every change but the taking back itself, the latest first."""
    rows = db.exec(_of(household_id)).all()
    gone = {row.target for row in rows if row.subject == Subject.UNDO}
    names = dict(
        db.exec(
            select(AccountRow.id, AccountRow.name).where(
                col(AccountRow.id).in_({row.recorded_by for row in rows})
            )
        ).all()
    )
    return tuple(
        NotedChange(
            change=_change(row),
            was=decode(Subject(row.subject), json.loads(row.was_json)),
            before=PlanDates(lasted_on=row.lasted_on, order_by_on=row.order_by_on),
            recorded_at=row.recorded_at,
            by=names.get(row.recorded_by, ""),
            taken_back=row.key in gone,
        )
        for row in reversed(rows)
        if row.subject != Subject.UNDO
    )


def supplier_changes(
    db: Session, household_id: str | None = None
) -> dict[str, tuple[SettingChange, ...]]:
    """Changes of suppliers' terms by household, for one household or for all."""
    query = select(SettingChangeRow).where(
        col(SettingChangeRow.subject).in_([Subject.SUPPLIER.value, Subject.UNDO.value])
    )
    if household_id is not None:
        query = query.where(SettingChangeRow.household_id == household_id)
    rows: dict[str, list[SettingChangeRow]] = defaultdict(list)
    for row in db.exec(query.order_by(col(SettingChangeRow.id))):
        rows[row.household_id].append(row)
    return {key: _standing(found) for key, found in rows.items()}


def supplier_term_on(first: Term, field: str, changes: Iterable[SettingChange], on: date) -> Term:
    """One of a supplier's terms on a day, without reading the whole household.

    Args:
        first: as it was first written.
        field: its name in `SupplierTerms`.
        changes: the household's changes of its supplier, in the order of writing.
        on: which day.
    """
    found = [one for one in changes if one.holds_on(on) and field in one.values]
    if not found:
        return first
    # Of two changes for the same day the one written later counts.
    latest: Term = max(reversed(found), key=lambda one: one.starts_on).values[field]
    return latest


def _of(household_id: str) -> SelectOfScalar[SettingChangeRow]:
    rows = select(SettingChangeRow).where(SettingChangeRow.household_id == household_id)
    return rows.order_by(col(SettingChangeRow.id))


def _standing(rows: Iterable[SettingChangeRow]) -> tuple[SettingChange, ...]:
    found = list(rows)
    gone = {row.target for row in found if row.subject == Subject.UNDO}
    kept = (row for row in found if row.subject != Subject.UNDO and row.key not in gone)
    return tuple(_change(row) for row in kept)


def _change(row: SettingChangeRow) -> SettingChange:
    subject = Subject(row.subject)
    return SettingChange(
        key=row.key,
        subject=subject,
        target=row.target,
        starts_on=row.starts_on,
        values=decode(subject, json.loads(row.values_json)),
        is_removal=row.is_removal,
    )
