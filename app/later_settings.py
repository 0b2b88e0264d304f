"""Settings that count from a later day, as the last part of a household's file.

The rest of the file is the record of its day, which needs nothing else to be planned. What was
set for a later day is kept beside it, so that reading the file in again loses nothing.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any, TypeVar

from app.changes import CARRIES_DATES, SettingChange, Subject, decode, encode
from app.errors import InvalidInput
from planner.errors import Fault

Part = TypeVar("Part")

LATER = "later_settings"
_IN_PLACE = (Subject.HOUSEHOLD, Subject.UNDO)


def later_text(changes: Iterable[SettingChange], today: date) -> str:
    """The part of the file; empty when nothing was set for a later day.

    Args:
        changes: those that stand, in the order of writing.
        today: day of the file.
    """
    later = [one for one in changes if one.starts_on > today and _is_left_out(one)]
    return "".join(_lines(one) for one in later)


def read_later(content: bytes, n_households: int = 1) -> tuple[SettingChange, ...]:
    """The settings for later days of a file whose record was read before.

    Args:
        content: the file's bytes.
        n_households: how many households it holds; only one can have such settings.

    Raises:
        InvalidInput: naming each that cannot be used.
    """
    found = tomllib.loads(content.decode("utf-8-sig")).get(LATER, [])
    rows = found if isinstance(found, list) else [found]
    if rows and n_households != 1:
        fix = "save each household that has some in a file of its own"
        raise InvalidInput([Fault(field=LATER, value=f"{len(rows)} in one file", fix=fix)])
    changes = [_change(n, row) for n, row in enumerate(rows, 1)]
    faults = [unusable(n) for n, one in enumerate(changes, 1) if one is None]
    if faults:
        raise InvalidInput(faults)
    return tuple(one for one in changes if one is not None)


def unusable(number: int) -> Fault:
    """The fault of one of them, counted from 1."""
    fix = "write it as it was saved, or take it out"
    return Fault(field=f"{LATER}[{number}]", value="not usable", fix=fix)


def _is_left_out(change: SettingChange) -> bool:
    """Whether the record of today says nothing of it."""
    return change.subject not in (*CARRIES_DATES, *_IN_PLACE)


def _lines(change: SettingChange) -> str:
    return "\n".join(("", f"[[{LATER}]]", *_fields(change), ""))


def _fields(change: SettingChange) -> Iterator[str]:
    values = json.dumps(encode(change.subject, change.values), ensure_ascii=False)
    yield f"subject = {_quoted(change.subject.value)}"
    yield f"target = {_quoted(change.target)}"
    yield f"starts_on = {change.starts_on.isoformat()}"
    yield f"is_removal = {'true' if change.is_removal else 'false'}"
    yield f"values = {_quoted(values)}"


def _quoted(text: str) -> str:
    # Of what a text of TOML must write otherwise, JSON leaves only this character as it is.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _change(number: int, row: object) -> SettingChange | None:
    """A change, or None when it is none."""
    try:
        subject = Subject(_part(row, "subject", str))
        change = SettingChange(
            key=f"file-{number:04d}",
            subject=subject,
            target=_part(row, "target", str),
            starts_on=_part(row, "starts_on", date),
            values=decode(subject, json.loads(_part(row, "values", str))),
            is_removal=_part(row, "is_removal", bool),
        )
    except (AttributeError, KeyError, TypeError, ValueError):
        return None
    return change if _is_left_out(change) else None


def _part(row: Any, name: str, kind: type[Part]) -> Part:  # noqa: ANN401  (whatever TOML holds)
    value = row[name]
    # A moment is a day to `isinstance`, and must not be one here.
    if type(value) is not kind:
        raise TypeError(name)
    return value
