"""A plan as JSON text and back, exactly.

Works for any frozen dataclass made of texts, numbers, days, enumerations, tuples, mappings and
further such dataclasses. Python writes a float with the fewest digits that read back equal.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from planner.results import Fact, Plan

PLAN_FORMAT = 3
"""Raise it when the planner or its results change, so that stored plans are computed anew."""

_DAY = "day"


def plan_to_json(plan: Plan) -> str:
    """Write a plan as compact JSON."""
    return json.dumps(_encode(plan), separators=(",", ":"), allow_nan=False)


def plan_from_json(text: str) -> Plan:
    """Read a plan that `plan_to_json` wrote.

    Raises:
        ValueError: when the text is not such a plan.
    """
    try:
        plan = _decode(Plan, json.loads(text))
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


def _decode(kind: Any, value: Any) -> Any:  # noqa: ANN401, PLR0911
    if value is None:
        return None
    if kind is date or (kind == Fact and isinstance(value, dict)):
        return date.fromisoformat(value[_DAY])
    if kind == Fact:
        return value
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return _decode(next(part for part in parts if part is not type(None)), value)
    if origin is tuple:
        return tuple(_decode(parts[0], one) for one in value)
    if origin is dict:
        return {key: _decode(parts[1], one) for key, one in value.items()}
    if is_dataclass(kind) and isinstance(kind, type):
        hints = _hints(kind)
        return kind(**{name: _decode(hints[name], one) for name, one in value.items()})
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(value)
    return float(value) if kind is float else value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)
