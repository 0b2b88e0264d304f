"""How every change of a household's record is made: locked, checked, saved whole or not at all.

The first statement of a change raises the household's `input_version`. That locks the household
on SQLite and on PostgreSQL alike, so that two changes take turns and each sees the other's
result. A form that was sent twice finds its own earlier result and changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import TypeVar

from sqlmodel import Session, col, select, update

from app import clock
from app.access import HouseholdAccess, Permission
from app.convert import ledger_row, read_household
from app.errors import InvalidInput, NotFound, Refused, faults_of
from app.models import HouseholdRow, SubmissionRow
from planner.errors import Fault, InvalidHousehold, InvalidValue, PlannerError
from planner.household import Household
from planner.ledger import LedgerEntry

Given = TypeVar("Given")
Made = TypeVar("Made")
Word = TypeVar("Word", bound=StrEnum)

LISTS = ("sessions", "ledger", "orders")
LONGEST_SUBMISSION = 64
"""Of the random value of a form. [characters]"""

OLDEST = timedelta(days=366)
"""Dates before this are taken for a slip of the pen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change in the making.

    Attributes:
        household: the record as it stands.
        version: the household's version once this change is saved.
        now: wall-clock moment in the household's time zone.
    """

    db: Session
    household: Household
    access: HouseholdAccess
    version: int
    now: datetime
    recorded_at: datetime

    def key(self, part: int = 0) -> str:
        """A new id for the record, rising with each change and unique in the household."""
        return f"v{self.version:07d}" + (f"-{part:02d}" if part else "")

    def check_moment(self, field: str, moment: datetime) -> None:
        """Refuse a moment in the future, or one so old that its year must be wrong.

        Raises:
            InvalidValue: naming the field.
        """
        if moment > self.now:
            fix = f"it lies in the future; it is now {self.now:%Y-%m-%d %H:%M}"
            raise InvalidValue(field, f"{moment:%Y-%m-%d %H:%M}", fix)
        if moment < self.now - OLDEST:
            fix = "it lies more than a year back; check the date"
            raise InvalidValue(field, f"{moment:%Y-%m-%d %H:%M}", fix)


@dataclass(frozen=True, slots=True, kw_only=True)
class Saved:
    """What a service saved.

    Attributes:
        key: id of the session, entry or order.
        again: the same form had been saved before; nothing was changed this time.
    """

    key: str
    again: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """Who asks for a change, when, and which form it came from.

    Attributes:
        now: wall-clock moment in the household's time zone.
        submission: the form's own random value; the same value is saved once only.
    """

    db: Session
    access: HouseholdAccess
    now: datetime
    submission: str | None = None


def save(request: Request, permission: Permission, action: Callable[[Change], str]) -> Saved:
    """Make one change of a household's record.

    Args:
        request: who, when, which form.
        permission: what the account must be allowed.
        action: adds the rows and returns the id of what it added.

    Raises:
        NotFound: when the account may not do this.
        Refused: when no form of ours has such a value of its own.
        InvalidInput: with every fault the planner found. Nothing was saved.
    """
    request.access.require(permission)
    if len(request.submission or "") > LONGEST_SUBMISSION:
        raise Refused
    with _all_or_nothing(request.db):
        return _save_locked(request, action)


def save_each(
    requests: Iterable[Request], permission: Permission, action: Callable[[Change], None]
) -> None:
    """Make a change in the records of several households, in all of them or in none.

    Households are locked in the order of their ids, so that two such changes take turns.

    Args:
        requests: one for each household, all of one database session.
        permission: what the account must be allowed in each.
        action: adds the rows of one household.

    Raises:
        NotFound: when the account may not do this, or a household is gone.
        InvalidInput: with the faults the planner found in one of them. Nothing was saved.
    """
    in_order = sorted(requests, key=lambda one: one.access.household_id)
    for request in in_order:
        request.access.require(permission)
    if not in_order:
        return
    db = in_order[0].db
    with _all_or_nothing(db):
        for request in in_order:
            action(_open_change(request, _raise_version(db, request.access.household_id)))
        db.commit()


@contextmanager
def _all_or_nothing(db: Session) -> Iterator[None]:
    db.commit()
    try:
        yield
    except PlannerError as error:
        db.rollback()
        raise InvalidInput(faults_of(error, drop_places=LISTS)) from error
    except BaseException:
        db.rollback()
        raise


def _open_change(request: Request, version: int) -> Change:
    household = read_household(request.db, request.access.household_id, request.now.date())
    if household is None:
        raise NotFound
    return Change(
        db=request.db,
        household=household,
        access=request.access,
        version=version,
        now=request.now,
        recorded_at=clock.utc_now(),
    )


def _save_locked(request: Request, action: Callable[[Change], str]) -> Saved:
    db, household_id = request.db, request.access.household_id
    version = _raise_version(db, household_id)
    earlier = _earlier_result(request)
    if earlier is not None:
        db.rollback()
        return Saved(key=earlier, again=True)
    change = _open_change(request, version)
    key = action(change)
    if request.submission:
        db.add(
            SubmissionRow(
                household_id=household_id,
                submission=request.submission,
                result_key=key,
                saved_at=change.recorded_at,
            )
        )
    db.commit()
    return Saved(key=key)


def _raise_version(db: Session, household_id: str) -> int:
    here = col(HouseholdRow.id) == household_id
    higher = {"input_version": col(HouseholdRow.input_version) + 1}
    result = db.exec(update(HouseholdRow).where(here).values(higher))
    if result.rowcount != 1:
        raise NotFound
    return db.exec(select(HouseholdRow.input_version).where(here)).one()


def _earlier_result(request: Request) -> str | None:
    if not request.submission:
        return None
    query = select(SubmissionRow.result_key).where(
        SubmissionRow.household_id == request.access.household_id,
        SubmissionRow.submission == request.submission,
    )
    return request.db.exec(query).first()


def gather(
    place: str, given: Iterable[Given], make: Callable[[int, Given], Made]
) -> tuple[Made, ...]:
    """Make one value of each entry of a form's list.

    Args:
        place: name of the list, for the faults.
        given: the entries.
        make: is given the number, from 1, and the entry.

    Raises:
        InvalidHousehold: with the faults of all entries together.
    """
    made: list[Made] = []
    faults: list[Fault] = []
    for n, one in enumerate(given, 1):
        try:
            made.append(make(n, one))
        except InvalidValue as error:
            faults.append(error.fault.within(f"{place}[{n}]"))
    if faults:
        raise InvalidHousehold(tuple(faults))
    return tuple(made)


def add_entries(change: Change, entries: Iterable[LedgerEntry]) -> None:
    """Add entries of the shelf, once the record with them is a valid one.

    Raises:
        InvalidHousehold: with the faults that show only beside the rest of the record.
    """
    added = tuple(entries)
    replace(change.household, ledger=(*change.household.ledger, *added))
    for entry in added:
        row = ledger_row(change.household.id, entry)
        row.recorded_by, row.recorded_at = change.access.account_id, change.recorded_at
        change.db.add(row)
    change.db.flush()


def short_text(field: str, text: str) -> str:
    """A short text without the spaces around it.

    Raises:
        InvalidValue: when it is too long.
    """
    limit = 40
    if len(text) > limit:
        raise InvalidValue(field, text, f"use at most {limit} characters")
    return text.strip()


def known_word(words: type[Word], field: str, text: str) -> Word:
    """The member of an enumeration with this value.

    Raises:
        InvalidValue: when there is none.
    """
    try:
        return words(text)
    except ValueError as error:
        raise InvalidValue(field, text, f"choose one of {', '.join(words)}") from error


def check_length(field: str, length: int, most: int) -> None:
    """Refuse an empty list, or one that is too long.

    Raises:
        InvalidValue: naming the list.
    """
    if not 1 <= length <= most:
        raise InvalidValue(field, f"{length} lines", f"give 1 to {most}")
