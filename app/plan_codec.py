"""A plan as JSON text and back, exactly.

Works for any frozen dataclass made of texts, numbers, days, enumerations, tuples, mappings and
further such dataclasses. Python writes a float with the fewest digits that read back equal.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from planner.assumption_changes import change, fingerprint
from planner.results import Fact, Plan

PLAN_FORMAT = 24
"""Raise it when the planner or its results change, so that stored plans are computed anew."""

_USUAL = fingerprint()
_DAY = "day"


@cache
def _assumed() -> int:
    return fingerprint()


def plan_format() -> int:
    """`PLAN_FORMAT`, or a number of its own while this installation has other assumptions."""
    now = _assumed()
    return PLAN_FORMAT if now == _USUAL else PLAN_FORMAT + 1000 * (1 + now % 2_000_000)


def change_assumptions(table: Mapping[str, object]) -> None:
    """Give this installation assumptions of its own, and its stored plans a number of their own.

    Raises:
        InvalidValue: for the first name or value that cannot be used; nothing is changed then.
    """
    change(table)
    _assumed.cache_clear()


def plan_to_json(plan: Plan) -> str:
    """Write a plan as compact JSON."""
    return json.dumps(_encode(plan), separators=(",", ":"), allow_nan=False)


def plan_from_json(text: str) -> Plan:
    """Read a plan that `plan_to_json` wrote.

    Raises:
        ValueError: when the text is not such a plan.
    """
    try:
        plan = _reader(Plan)(json.loads(text))
    except (AttributeError, KeyError, TypeError) as error:
        message = f"this is not a stored plan: {error}"
        raise ValueError(message) from error
    if not isinstance(plan, Plan):
        message = "this is not a stored plan"
        raise ValueError(message)  # noqa: TRY004  (the text is wrong, not its type)
    return plan


def _encode(value: object) -> Any:  # noqa: ANN401  (JSON has no closed type)
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _encode(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return {_DAY: value.isoformat()}
    if isinstance(value, tuple):
        return [_encode(one) for one in value]
    if isinstance(value, Mapping):
        return {str(key): _encode(one) for key, one in value.items()}
    return value


Reader = Callable[[Any], Any]


@cache
def _reader(kind: Any) -> Reader:  # noqa: ANN401, PLR0911  (one line per kind of type)
    """How a value of this type is read; worked out once per type."""
    if kind == Fact:
        return lambda value: _day(value) if isinstance(value, dict) else value
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        read = _reader(next(part for part in parts if part is not type(None)))
        return lambda value: None if value is None else read(value)
    if origin is tuple:
        return _tuple_reader(parts[0])
    if origin is dict:
        read = _reader(parts[1])
        return lambda value: {key: read(one) for key, one in value.items()}
    if kind is date:
        return _day
    if is_dataclass(kind) and isinstance(kind, type):
        return _dataclass_reader(kind)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind
    return lambda value: value


def _tuple_reader(part: Any) -> Reader:  # noqa: ANN401  (any type)
    if part in (int, float, str):
        return tuple
    read = _reader(part)
    return lambda value: tuple(read(one) for one in value)


def _dataclass_reader(kind: type) -> Reader:
    readers = {name: _reader(hint) for name, hint in get_type_hints(kind).items()}
    return lambda value: kind(**{name: readers[name](one) for name, one in value.items()})


def _day(value: dict[str, str]) -> date:
    return date.fromisoformat(value[_DAY])
