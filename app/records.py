"""Households' records as last read, kept in memory for as long as nothing changed.

Every change of a record raises the household's `input_version` (`app.writing`). The version is
asked of the database each time, so a change made by another process is seen at once. Whether
somebody may see the record is decided by `app.access`, before and each time. Inside of a change
that is not saved yet use `app.convert.read_household`, which keeps nothing.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from threading import Lock
from typing import Any, Generic, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, String, bindparam
from sqlalchemy import select as select_columns
from sqlmodel import Session

from app import clock
from app.convert import read_household
from app.db import columns
from app.models import HouseholdRow
from planner.household import Household

MOST_KEPT = 200
"""Households of one database kept in one process. A record with a year of daily sessions and its
plan take about 0.15 MB (measured)."""

Kept = TypeVar("Kept")


_memories: list[Memory[Any]] = []


class Memory(Generic[Kept]):
    """The latest value of each of the households asked for last, with what it was made from."""

    def __init__(self, most: int = MOST_KEPT) -> None:
        _memories.append(self)
        self._most = most
        self._lock = Lock()
        self._shelves: WeakKeyDictionary[
            Engine | Connection, OrderedDict[str, tuple[object, Kept]]
        ] = WeakKeyDictionary()

    def get(self, db: Session, household_id: str, made_from: object) -> Kept | None:
        """The value, if it was made from just this."""
        with self._lock:
            shelf = self._shelves.get(db.get_bind(), OrderedDict())
            found = shelf.get(household_id)
            if found is None or found[0] != made_from:
                return None
            shelf.move_to_end(household_id)
            return found[1]

    def keep(self, db: Session, household_id: str, made_from: object, value: Kept) -> None:
        """Keep a value in the place of an earlier one; the one asked for longest ago goes."""
        with self._lock:
            shelf = self._shelves.setdefault(db.get_bind(), OrderedDict())
            shelf[household_id] = (made_from, value)
            shelf.move_to_end(household_id)
            if len(shelf) > self._most:
                shelf.popitem(last=False)

    def forget(self, db: Session, household_id: str) -> None:
        """Drop what is kept of a household."""
        with self._lock:
            self._shelves.get(db.get_bind(), OrderedDict()).pop(household_id, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A household's record.

    Attributes:
        input_version: rises with every change.
        life: differs for a later household with the same id.
        day: whose settings it holds.
    """

    household: Household
    input_version: int
    life: str | None
    day: date


_records: Memory[Record] = Memory()
_HOUSEHOLD = columns(HouseholdRow)
_VERSION = select_columns(_HOUSEHOLD.input_version, _HOUSEHOLD.life, _HOUSEHOLD.time_zone).where(
    _HOUSEHOLD.id == bindparam("household", type_=String)
)


def record_on(db: Session, household_id: str, on: date | None = None) -> Record | None:
    """A household's record with the settings of a day; None when there is no such household.

    Args:
        db: session without changes that are not saved yet.
        household_id: which household; the caller has checked the access.
        on: which day; today in the household's time zone by default.
    """
    found = db.execute(_VERSION, {"household": household_id}).first()
    if found is None:
        return None
    # The version is read first: a record read after it is of this version or a later one, and a
    # later one is never asked for by this version.
    version, life, time_zone = found
    day = on or clock.today_in(time_zone)
    kept = _records.get(db, household_id, (version, life, day))
    if kept is not None:
        return kept
    household = read_household(db, household_id, day)
    if household is None:
        return None
    record = Record(household=household, input_version=version, life=life, day=day)
    _records.keep(db, household_id, (version, life, day), record)
    return record


def forget_household(db: Session, household_id: str) -> None:
    """Drop all that this process remembers of a household."""
    for memory in _memories:
        memory.forget(db, household_id)
