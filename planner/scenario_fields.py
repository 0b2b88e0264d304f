"""Typed reading of the tables of a scenario file.

A `Table` hands out its fields one by one and notes every fault it meets: a missing field, a
wrong type, a key that nobody asked for. Nothing stops at the first fault.
"""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from enum import StrEnum
from typing import TypeVar, overload

from planner.errors import Fault, InvalidValue, show

Built = TypeVar("Built")
Member = TypeVar("Member", bound=StrEnum)
Value = TypeVar("Value")

_NO_DAY = date(2000, 1, 1)
FIRST_YEAR, LAST_YEAR = 1990, 2100
"""Years that a date may lie in; a date outside is a slip of the pen."""
FILE_WORDS = {"volume_ml": "ml", "started_at": "at"}
"""Names of fields that the file writes otherwise than the planner does."""


class Table:
    """One table of the file, where it stands, and the list that collects faults.

    Getters return a harmless stand-in after a fault; `build` then gives None.
    """

    def __init__(self, content: object, place: str, faults: list[Fault]) -> None:
        self.place = place
        self.faults = faults
        self._asked: dict[str, None] = {}
        self._content: dict[str, object] = {}
        self._is_table = isinstance(content, dict)
        if isinstance(content, dict):
            self._content = content
        else:
            fix = "write a table with its fields here"
            faults.append(Fault(field=place, value=show(_as_written(content)), fix=fix))

    def build(self, make: Callable[[], Built]) -> Built | None:
        """Make a value of this table's fields; None when anything was wrong with them."""
        before = len(self.faults)
        try:
            made = make()
        except InvalidValue as error:
            # After a fault the stand-ins may break a rule of their own: say only the first.
            if len(self.faults) == before and self._is_table:
                self.faults.append(in_file_words(error.fault).within(self.place))
            return None
        finally:
            self.close()
        return made if len(self.faults) == before and self._is_table else None

    def has(self, key: str) -> bool:
        """Whether the field is written down at all."""
        self._asked[key] = None
        return key in self._content

    # Plain values. A default makes a field optional.

    @overload
    def text(self, key: str) -> str: ...
    @overload
    def text(self, key: str, default: Value) -> str | Value: ...
    def text(self, key: str, default: object = ...) -> object:
        """A text on one line."""
        value = self._get(key, default, "a text in quotes", str)
        if isinstance(value, str) and any(unicodedata.category(c) in _NO_TEXT for c in value):
            self._note(key, ascii(value), "use plain text on one line, without control characters")
        return "-" if value is None and default is ... else value

    @overload
    def whole(self, key: str) -> int: ...
    @overload
    def whole(self, key: str, default: Value) -> int | Value: ...
    def whole(self, key: str, default: object = ...) -> object:
        """A whole number."""
        value = self._get(key, default, "a whole number", int)
        return 1 if value is None and default is ... else value

    def flag(self, key: str) -> bool:
        """A truth value; false when left out."""
        if not self.has(key):
            return False
        value = self._content[key]
        if not isinstance(value, bool):
            self._note(key, _as_written(value), "write true or false")
        return value is True

    def number(self, key: str, default: float) -> float:
        """A number, whole or not."""
        value = self._get(key, default, "a number", (int, float))
        return float(value) if isinstance(value, int | float) else default

    @overload
    def day(self, key: str) -> date: ...
    @overload
    def day(self, key: str, default: Value) -> date | Value: ...
    def day(self, key: str, default: object = ...) -> object:
        """A date without time."""
        value = self._get(key, default, "a date such as 2026-03-08, without quotes", date)
        if isinstance(value, date):
            self._check_year(key, value)
        return _NO_DAY if value is None and default is ... else value

    def clock(self, key: str, default: time) -> time:
        """A time of day."""
        value = self._get(key, default, "a time such as 15:00:00, without quotes", time)
        return value if isinstance(value, time) else default

    def moment(self, key: str, usual_time: time) -> datetime:
        """A local date and time; a date alone stands for its usual time."""
        wanted = "a date such as 2026-03-08 or a date and time such as 2026-03-08T09:30:00"
        value = self._get(key, ..., wanted, (date, datetime))
        if isinstance(value, date):
            self._check_year(key, value)
        if isinstance(value, datetime):
            if value.tzinfo is not None:
                self._note(key, value.isoformat(), "write local time, without Z or an offset")
            return value.replace(tzinfo=None)
        return datetime.combine(value if isinstance(value, date) else _NO_DAY, usual_time)

    def _check_year(self, key: str, day: date) -> None:
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            self._note(key, day.isoformat(), f"give a year from {FIRST_YEAR} to {LAST_YEAR}")

    @overload
    def choice(self, key: str, kind: type[Member]) -> Member: ...
    @overload
    def choice(self, key: str, kind: type[Member], default: Value) -> Member | Value: ...
    def choice(self, key: str, kind: type[Member], default: object = ...) -> object:
        """One of the words of an enumeration."""
        words = [member.value for member in kind]
        if default is not ... and not self.has(key):
            return default
        value = self._get(key, ..., "one of " + ", ".join(words), str)
        if value in words:
            return kind(str(value))
        if value is not None:
            self._note(key, value, f"use one of {', '.join(words)}{nearest(value, words)}")
        return next(iter(kind))

    # Lists and tables inside.

    def values(self, key: str, kind: type[Value], wanted: str) -> tuple[Value, ...]:
        """A list of plain values; empty when left out."""
        value = self._get(key, [], f"a list of {wanted} in brackets", list)
        found: list[Value] = []
        for n, one in enumerate(value if isinstance(value, list) else [], 1):
            if isinstance(one, kind) and not isinstance(one, bool):
                found.append(one)
            else:
                self._note(f"{key}[{n}]", _as_written(one), f"list {wanted} only")
        return tuple(found)

    def tables(self, key: str) -> tuple[Table, ...]:
        """A list of tables; empty when left out."""
        value = self._get(key, [], f"a list of tables, [[{key}]]", list)
        rows = value if isinstance(value, list) else []
        return tuple(
            Table(one, self._inside(f"{key}[{n}]"), self.faults) for n, one in enumerate(rows, 1)
        )

    def table(self, key: str) -> Table | None:
        """A table inside; None when left out."""
        if not self.has(key):
            return None
        return Table(self._content[key], self._inside(key), self.faults)

    def stand_in(self, key: str, content: dict[str, object]) -> Table:
        """A table that the file writes in a shorter form."""
        return Table(content, self._inside(key), self.faults)

    def each(self, key: str, read: Callable[[Table], Built | None]) -> tuple[Built, ...]:
        """Every table of a list, read; those with faults are left out."""
        made = (read(one) for one in self.tables(key))
        return tuple(one for one in made if one is not None)

    def miss(self, key: str, fix: str) -> None:
        """Note that a field is missing."""
        self._note(key, "missing", fix)

    def note(self, key: str, value: object, fix: str) -> None:
        """Note a fault of a field that only the caller can see."""
        self._note(key, value, fix)

    # Inner workings.

    def _get(self, key: str, default: object, wanted: str, kind: type | tuple[type, ...]) -> object:
        """The raw value when its type is right; the default, or None after a fault."""
        if not self.has(key):
            if default is ...:
                self.miss(key, f"give {wanted}")
                return None
            return default
        value = self._content[key]
        # To Python a truth value is an int and a date with a time is a date.
        kinds = kind if isinstance(kind, tuple) else (kind,)
        stray = isinstance(value, bool) or (isinstance(value, datetime) and datetime not in kinds)
        if isinstance(value, kinds) and not stray:
            return value
        self._note(key, _as_written(value), f"write {wanted}")
        return None if default is ... else default

    def close(self) -> None:
        """Note every key that nobody asked for."""
        for key in self._content:
            if key not in self._asked:
                known = list(self._asked)
                hint = nearest(key, known) or f"; known: {', '.join(known)}"
                fix = f"there is no such field{hint}"
                self.faults.append(
                    Fault(field=show(key), value="unknown", fix=fix, place=self.place)
                )

    def _note(self, key: str, value: object, fix: str) -> None:
        # Of what is no table at all, that alone is said.
        if self._is_table:
            self.faults.append(Fault(field=key, value=show(value), fix=fix, place=self.place))

    def _inside(self, key: str) -> str:
        return f"{self.place}.{key}" if self.place else key


_NO_TEXT = ("Cc", "Cs", "Zl", "Zp")


def nearest(word: object, known: Sequence[str]) -> str:
    """A hint at the known word most like the one written; empty when none is like it."""
    close = difflib.get_close_matches(str(word), known, n=1, cutoff=0.5)
    return f" (did you mean {close[0]}?)" if close else ""


def in_file_words(fault: Fault) -> Fault:
    """A planner's fault with the field named as the file names it."""
    word = FILE_WORDS.get(fault.field, fault.field)
    return Fault(field=word, value=fault.value, fix=fault.fix, place=fault.place)


def _as_written(value: object) -> str:
    """A value as it looks in the file, near enough to find it."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f'"{value}"'
        case datetime():
            return value.isoformat()
        case list():
            return "a list"
        case dict():
            return "a table"
        case _:
            return str(value)
