"""Posted forms: read, keep what was typed, and put each fault next to its field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time

from app.errors import InvalidInput
from app.messages import message
from app.texts import tr, tr_fault
from planner.errors import Fault, show

_OUR_WORDS = re.compile(
    r"empty|not ticked|missing|unknown|not right|one too many|not usable|too large"
    r"|not UTF-8 text|not valid TOML|nested too deeply"
    r"|\d+ characters long|\d+ in one file"
)
"""Values of a fault that say what was found; all others are as typed."""

_YEARS = range(1900, 2200)
"""Years that anything written down here may lie in; what else holds is for each field to say."""

_NUMBERED = re.compile(r"\[(\d+)\]")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownFault:
    """A fault as a page shows it; `anchor` is the id of the field it belongs to."""

    text: str
    anchor: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """What a form shows: values as typed, and what is wrong with them.

    Attributes:
        values: text by field name.
        problems: faults as the services or the reader found them.
        labels: what the page calls a field; a number in brackets is `{n}` in the label.
        stands_for: field of a fault → field of the form, where the two differ.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Fault, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    stands_for: Mapping[str, str] = field(default_factory=dict)

    def value(self, name: str) -> str:
        """What stands in a field."""
        return self.values.get(name, "")

    def anchor(self, name: str) -> str:
        """The id of a field on the page."""
        return "f-" + re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")

    @property
    def faults(self) -> tuple[ShownFault, ...]:
        """All faults, in order, for the summary."""
        return tuple(
            ShownFault(text=self._text(fault), anchor=self.anchor(self._field(fault)))
            for fault in self.problems
        )

    def faults_at(self, name: str) -> tuple[str, ...]:
        """Faults of one field."""
        return tuple(self._text(fault) for fault in self.problems if self._field(fault) == name)

    def _field(self, fault: Fault) -> str:
        name = f"{fault.place}.{fault.field}" if fault.place else fault.field
        return self.stands_for.get(name, name)

    def _text(self, fault: Fault) -> str:
        name = f"{fault.place}.{fault.field}" if fault.place else fault.field
        number = _NUMBERED.search(name)
        label = tr(self.labels.get(_NUMBERED.sub("[]", name), fault.field.replace("_", " ")))
        label = label.format(n=number.group(1) if number else "")
        fix = tr_fault(fault.fix)
        return tr(
            "{label} is {value}. {fix}.",
            label=label,
            value=_value_text(fault),
            fix=fix[:1].upper() + fix[1:],
        )


def file_sentence(fault: Fault) -> str:
    """What is wrong with a file; fields keep the names that they have in the file."""
    where = f"{fault.place}.{fault.field}" if fault.place else tr(fault.field)
    return tr(
        "{where} is {value}: {fix}.", where=where, value=_value_text(fault), fix=tr_fault(fault.fix)
    )


def _value_text(fault: Fault) -> str:
    return tr_fault(fault.value) if _OUR_WORDS.fullmatch(fault.value) else fault.value


class FormReader:
    """Reads typed text into values and gathers every fault on the way."""

    def __init__(self, values: Mapping[str, str]) -> None:
        self._values = values
        self.faults: list[Fault] = []

    def text(self, name: str) -> str:
        """A text without the spaces around it."""
        return self._values.get(name, "").strip()

    def short(self, name: str, *, at_most: int) -> str:
        """A text that must not be longer than there is room for."""
        typed = self.text(name)
        if len(typed) > at_most:
            self._fault(name, typed, f"use at most {at_most} characters")
        return typed

    def optional_whole(self, name: str, *, unit: str, example: int = 10) -> int | None:
        """A whole number that may be left out."""
        return self.whole(name, unit=unit, example=example) if self.text(name) else None

    def whole(self, name: str, *, unit: str, default: int = 0, example: int = 10) -> int:
        """A whole number; spaces, thousands marks and the unit itself are allowed.

        A mark counts only between groups of three digits, and only in a language that writes
        it there, so that a decimal number is never taken for ten times as much.
        """
        typed = self.text(name)
        thousands = re.escape(message("number-marks")[0])
        cleaned = re.sub(r"\s|ml$", "", typed, flags=re.IGNORECASE)
        cleaned = re.sub(rf"(?<=\d)[{thousands}'’](?=\d{{3}}(?!\d))", "", cleaned)
        if re.fullmatch(r"-?\d{1,9}", cleaned):
            return int(cleaned)
        self._fault(name, typed, f"give a whole number of {unit}, for example {example}")
        return default

    def fault(self, name: str, fix: str) -> None:
        """Note that a field cannot stay as it is."""
        self._fault(name, self.text(name), fix)

    def optional_day(self, name: str) -> date | None:
        """A calendar day that may be left out."""
        return self.day(name) if self.text(name) else None

    def day(self, name: str) -> date | None:
        """A calendar day, as date inputs send it or as typed in ISO form."""
        typed = self.text(name)
        try:
            found = date.fromisoformat(typed)
        except ValueError:
            self._fault(name, typed, "give a day of the calendar as year-month-day")
            return None
        if found.year not in _YEARS:
            self._fault(name, typed, "it lies too far away; check the year")
            return None
        return found

    def moment(self, day_name: str, time_name: str) -> datetime | None:
        """A day and a time of day together."""
        day = self.day(day_name)
        typed = self.text(time_name)
        try:
            clock = time.fromisoformat(typed)
        except ValueError:
            self._fault(time_name, typed, "give a time of day such as 09:30")
            return None
        return None if day is None else datetime.combine(day, clock.replace(tzinfo=None))

    def refuse(self) -> None:
        """Stop here when anything could not be read.

        Raises:
            InvalidInput: with every fault gathered so far.
        """
        if self.faults:
            raise InvalidInput(self.faults)

    def _fault(self, name: str, typed: str, fix: str) -> None:
        place, _, last = name.rpartition(".")
        self.faults.append(Fault(field=last, value=show(typed), fix=fix, place=place))


def renumbered(faults: tuple[Fault, ...], place: str, rows: Sequence[int]) -> tuple[Fault, ...]:
    """Faults with the numbers of the form's rows, where empty rows were left out.

    Args:
        faults: faults whose place may be `place[n]`, n counting the rows that were sent on.
        place: name of the list.
        rows: number of the form's row for each that was sent on.
    """

    def moved(fault: Fault) -> Fault:
        found = re.fullmatch(rf"{place}\[(\d+)\]", fault.place)
        if found is None or not 1 <= int(found[1]) <= len(rows):
            return fault
        return replace(fault, place=f"{place}[{rows[int(found[1]) - 1]}]")

    return tuple(moved(fault) for fault in faults)


def texts(form: Mapping[str, object]) -> dict[str, str]:
    """The text fields of a posted form; files are left out.

    The character with code zero, which no keyboard has and PostgreSQL does not keep, is dropped.

    References:
        HTML Living Standard, 13.2.6.4.7: a page's reader drops it from text, too (from memory).
    """
    return {name: value.replace("\0", "") for name, value in form.items() if isinstance(value, str)}
