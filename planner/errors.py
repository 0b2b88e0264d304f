"""Errors of the planner.

    PlannerError (ValueError)
      InvalidValue       one field breaks its rule
      InvalidHousehold   one or more faults found together in a household's record

Every fault says where, what was found and what to do about it, in one sentence.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong in a record.

    Attributes:
        field: the field's name as the user wrote it, e.g. `volume_ml`.
        value: what was found there, as text.
        fix: what is wrong and what to do, a clause without a full stop.
        place: where it stands, e.g. `sessions[3].bottles[1]`; empty when unknown.
    """

    field: str
    value: str
    fix: str
    place: str = ""

    @property
    def sentence(self) -> str:
        """The fault as one sentence naming place, value and fix."""
        where = f"{self.place}.{self.field}" if self.place else self.field
        return f"{where} is {self.value}: {self.fix}."

    def within(self, place: str) -> Fault:
        """The same fault, seen from one level further out."""
        joined = f"{place}.{self.place}" if self.place else place
        return Fault(field=self.field, value=self.value, fix=self.fix, place=joined)


class PlannerError(ValueError):
    """Base of every error that bad input can cause in the planner."""


class InvalidValue(PlannerError):
    """One field breaks its rule."""

    def __init__(self, field: str, value: object, fix: str) -> None:
        self.fault = Fault(field=field, value=show(value), fix=fix)
        super().__init__(self.fault.sentence)


class InvalidHousehold(PlannerError):
    """A household's record cannot be used; every fault found is listed."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(fault.sentence for fault in faults))


def show(value: object) -> str:
    """Write a value the way a person would type it, cut to a readable length."""
    text = "empty" if value in (None, "") else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def require_int(field: str, value: object, *, at_least: int, at_most: int, unit: str) -> None:
    """Refuse a whole number outside its bounds.

    Raises:
        InvalidValue: when the value is not an integer in [at_least, at_most].
    """
    if isinstance(value, bool) or not isinstance(value, int):
        raise InvalidValue(field, value, f"give a whole number of {unit}")
    if not at_least <= value <= at_most:
        raise InvalidValue(field, value, f"give {at_least} to {at_most} {unit}")


def require_text(field: str, value: object, *, at_most: int = 120) -> None:
    """Refuse an empty or overlong text.

    Raises:
        InvalidValue: when the text is blank or longer than `at_most` characters.
    """
    if not isinstance(value, str) or not value.strip():
        raise InvalidValue(field, value, "give a short text")
    if len(value) > at_most:
        raise InvalidValue(field, value, f"use at most {at_most} characters")
