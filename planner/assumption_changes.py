"""Assumptions that an installation replaces by its own, before anything is planned.

Whoever runs Ebbstock may know better than `planner.assumptions`: an audit of their own, another
kind of bottle. They are changed for all households at once, at the start, and never while plans
are made.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Mapping
from dataclasses import fields, replace

from planner import assumptions
from planner.assumptions import END_CHANCE_PER_DAY, VOLUME_PRIORS, VolumePrior
from planner.errors import InvalidValue
from planner.household import ClinicalGroup

BOUNDS: dict[str, tuple[float, float]] = {
    "as_needed_gap_days": (1.5, 60.0),
    "as_needed_weight": (0.5, 200.0),
    "dry_chance": (0.0, 0.5),
    "expected_volume_sd": (0.05, 2.0),
    "extra_chance": (0.0, 0.5),
    "extra_weight": (1.0, 1000.0),
    "gap_weight": (1.0, 1000.0),
    "jump_chance_per_day": (0.0, 0.1),
    "jump_sd": (0.1, 3.0),
    "kept_chance": (0.5, 1.0),
    "kept_weight": (1.0, 1000.0),
    "lateness_weight": (1.0, 1000.0),
    "loss_chance": (0.0, 0.3),
    "loss_weight": (1.0, 1000.0),
    "outlier_chance": (0.0, 0.5),
    "outlier_scale": (1.0, 10.0),
    "rate_walk_sd_per_sqrt_day": (0.005, 0.2),
    "session_sd_log_sd": (0.01, 1.0),
    "unknown_end_chance_per_day": (0.0, 0.2),
    "weekly_drift_sd": (0.005, 0.5),
    "worth_buying_chance": (0.0, 1.0),
}
"""What may be changed, and between which values it makes sense."""

_PRIOR_BOUNDS: dict[str, tuple[float, float]] = {
    "median_ml_per_day": (5.0, 5000.0),
    "between_sd": (0.1, 2.0),
    "session_sd": (0.05, 1.5),
    "weekly_drift": (-0.5, 0.5),
}


def change(table: Mapping[str, object]) -> None:
    """Replace assumptions for every plan from now on; nothing when one value is wrong.

    Args:
        table: new values by name; `volume` holds one table for each clinical group, and
            `end_chance_per_day` one value for each.

    Raises:
        InvalidValue: for the first name or value that cannot be used.
    """
    scalars = dict(_scalars(table))
    priors = dict(_priors(_inner(table, "volume")))
    ends = {
        _group("end_chance_per_day", name): _number(f"end_chance_per_day.{name}", value, (0.0, 0.2))
        for name, value in _inner(table, "end_chance_per_day").items()
    }
    for name, value in scalars.items():
        setattr(assumptions, name.upper(), value)
    VOLUME_PRIORS.update(priors)
    END_CHANCE_PER_DAY.update(ends)


def as_toml() -> str:
    """All that may be changed, as it is now, in the form in which it is read."""
    lines = ["# Each value must lie between the two in brackets."]
    for name, (low, high) in BOUNDS.items():
        lines.append(f"{name} = {getattr(assumptions, name.upper()):g}  # ({low:g} to {high:g})")
    lines += ["", "[end_chance_per_day]  # (0 to 0.2)"]
    lines += [f"{group.value} = {chance:g}" for group, chance in END_CHANCE_PER_DAY.items()]
    for group, prior in VOLUME_PRIORS.items():
        lines += ["", f"[volume.{group.value}]"]
        for name, (low, high) in _PRIOR_BOUNDS.items():
            lines.append(f"{name} = {getattr(prior, name):.6g}  # ({low:g} to {high:g})")
    return "\n".join(lines) + "\n"


def fingerprint() -> int:
    """A number that differs, all but surely, when any of these values does."""
    return zlib.crc32(as_toml().encode())


def _scalars(table: Mapping[str, object]) -> Iterator[tuple[str, float]]:
    for name, value in table.items():
        if name in {"volume", "end_chance_per_day"}:
            continue
        if name not in BOUNDS:
            raise InvalidValue(name, value, f"change one of {', '.join(BOUNDS)}")
        yield name, _number(name, value, BOUNDS[name])


def _priors(table: Mapping[str, object]) -> Iterator[tuple[ClinicalGroup, VolumePrior]]:
    known = {field.name for field in fields(VolumePrior)}
    for name in table:
        group = _group("volume", name)
        changes = {}
        for key, value in _inner(table, name).items():
            field = f"volume.{name}.{key}"
            if key not in known:
                raise InvalidValue(field, value, f"change one of {', '.join(_PRIOR_BOUNDS)}")
            changes[key] = _number(field, value, _PRIOR_BOUNDS[key])
        yield group, replace(VOLUME_PRIORS[group], **changes)


def _inner(table: Mapping[str, object], name: str) -> Mapping[str, object]:
    inner = table.get(name, {})
    if not isinstance(inner, Mapping):
        raise InvalidValue(name, inner, f"begin a line with [{name}] and put values below it")
    return inner


def _group(field: str, name: str) -> ClinicalGroup:
    groups = {group.value: group for group in VOLUME_PRIORS}
    if name not in groups:
        raise InvalidValue(field, name, f"use one of {', '.join(groups)}")
    return groups[name]


def _number(field: str, value: object, bounds: tuple[float, float]) -> float:
    low, high = bounds
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise InvalidValue(field, value, f"give {low:g} to {high:g}")
    return float(value)
