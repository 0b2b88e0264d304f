"""A plan as plain JSON values, for `ebbstock plan --json` and the web.

Keys are the names of `planner.results`. Days are ISO dates, chances are fractions rounded to
six places. Beside the facts stand `expected_days` and `cautious_days` of every run-out, the
sentence of every reason under `text`, and what to do in words under `next_steps`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date

from app import wording, wording_steps
from planner.household import Household
from planner.results import Plan, RunOut
from planner.rollup import CombinedOrder

PLACES = 6
FORMAT = 1


def plan_json(plan: Plan, names: wording.Names, language: str = "en") -> dict[str, object]:
    """One plan as a dictionary of JSON values."""
    content = _fields(plan)
    content["reasons"] = [
        {
            **_fields(reason),
            "text": wording.reason_text(reason, names, today=plan.as_of, language=language),
        }
        for reason in plan.reasons
    ]
    content["caution"] = wording.caution(language)
    content["headline"] = wording.headline(plan, language)
    content["urgency_text"] = wording.urgency_text(plan.urgency, language)
    content["next_steps"] = list(wording_steps.next_steps(plan, names, language))
    return content


def plans_document(
    plans: Iterable[Plan],
    households: Mapping[str, Household],
    combined: Iterable[CombinedOrder],
) -> str:
    """Plans and the combined orders as one JSON text: sorted keys, one line at the end.

    Args:
        plans: in the order in which they are to be listed.
        households: the households by id.
        combined: orders put together; empty for a single household.
    """
    document = {
        "format": FORMAT,
        "plans": [plan_json(one, wording.names_of(households[one.household_id])) for one in plans],
        "combined_orders": [_fields(one) for one in combined],
    }
    return json.dumps(document, indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def _fields(value: object) -> dict[str, object]:
    """The fields of a dataclass as JSON values."""
    if not is_dataclass(value):
        message = f"no dataclass: {value!r}"
        raise TypeError(message)
    content = {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, RunOut):
        content["expected_days"] = value.expected_days
        content["cautious_days"] = value.cautious_days
    return content


def _plain(value: object) -> object:
    match value:
        case float():
            return round(value, PLACES) + 0.0
        case date():
            return value.isoformat()
        case dict():
            return {key: _plain(one) for key, one in value.items()}
        case tuple() | list():
            return [_plain(one) for one in value]
        case _ if is_dataclass(value):
            return _fields(value)
        case _:
            return value
