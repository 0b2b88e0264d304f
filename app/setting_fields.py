"""Fields of a settings form, and the values that they hold as typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from itertools import groupby

from app.forms import Form, FormReader

Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a form.

    Attributes:
        kind: text, number, date, time, tel, choice, radio, ticks, weekdays or hidden.
        label: what the page asks; `short` is what a fault calls it.
        fold: fields that follow each other with the same text are folded under it.
    """

    kind: str
    name: str
    label: str = ""
    hint: str = ""
    short: str = ""
    fold: str = ""
    choices: Choices = ()


STARTS_ON = Field(
    kind="date",
    name="starts_on",
    label="From which day?",
    short="First day",
    hint="It may lie ahead. Until then all stays as it is.",
)


def grouped(fields: tuple[Field, ...]) -> list[tuple[str, list[Field]]]:
    """Fields in their order, those that are folded together as one group."""
    return [(fold, list(group)) for fold, group in groupby(fields, key=lambda one: one.fold)]


def open_folds(fields: tuple[Field, ...], form: Form) -> set[str]:
    """Folds that hold something, so that nothing entered and no fault is hidden."""
    ticked = any(form.value(f"weekday_{n}") for n in range(7))
    return {
        one.fold
        for one in fields
        if form.value(one.name) or form.faults_at(one.name) or (one.kind == "weekdays" and ticked)
    }


def labels_of(fields: tuple[Field, ...], stands_for: Mapping[str, str]) -> dict[str, str]:
    """What faults call the fields, also under the planner's name where that differs."""
    labels = {one.name: one.short or one.label for one in fields}
    also = {name: labels[field] for name, field in stands_for.items() if field in labels}
    return also | labels


def first_day(reader: FormReader) -> date:
    """The day from which a change holds; refuses the form when anything was wrong before it.

    Raises:
        InvalidInput: with every fault of the form.
    """
    day = reader.day("starts_on")
    reader.refuse()
    assert day is not None
    return day


def needed(reader: FormReader, name: str, fix: str, *, at_most: int = 120) -> str:
    """A text that must not be left out."""
    if not reader.text(name):
        reader.fault(name, fix)
    return reader.short(name, at_most=at_most)


def chosen(reader: FormReader, name: str, choices: Choices) -> str:
    """One of the choices of a page."""
    typed = reader.text(name)
    if typed not in dict(choices):
        reader.fault(name, "choose one of those on the page")
    return typed


def time_of_day(reader: FormReader, name: str) -> time:
    """A wall-clock time to the minute."""
    try:
        found = time.fromisoformat(reader.text(name))
    except ValueError:
        reader.fault(name, "give a time of day such as 15:00")
        return time()
    return found.replace(tzinfo=None, second=0, microsecond=0)


def weekdays_ticked(reader: FormReader) -> tuple[int, ...]:
    """The weekdays that are ticked, Monday = 0; at least one."""
    ticked = tuple(n for n in range(7) if reader.text(f"weekday_{n}"))
    if not ticked:
        reader.fault("weekdays", "tick at least one weekday")
    return ticked


def as_text(number: int | None) -> str:
    """A number for a field; empty when there is none."""
    return "" if number is None else str(number)
