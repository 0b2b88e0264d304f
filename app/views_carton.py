"""A carton's code read into the form for a delivery. Nothing of the delivery is saved by it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app import wording
from app.carton import CartonCode, read_carton
from app.carton_lines import FilledLine, complete, fill_in
from app.errors import InvalidInput, faults_of
from app.forms import FormReader
from app.services_cartons import forget_carton, known_carton, remember_carton
from app.writing import Request
from planner.errors import PlannerError
from planner.household import Household

LABELS = {
    "code": "The code on the box",
    "gtin": "The item number in the code",
    "lot": "The lot in the code",
    "expires_on": "The use-by date in the code",
    "count": "The number of pieces in the code",
    "item": "The item that the code is for",
    "units": "The number of pieces in the box",
    "code_units": "The number of pieces in the box",
}
STANDS_FOR = {
    **dict.fromkeys(("gtin", "lot", "expires_on", "count"), "code"),
    "item": "code_item",
    "units": "code_units",
}
_NOT_SAVED = "Nothing is saved yet."


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What became of a code.

    Attributes:
        values: of the form to show.
        said: what the page says about it.
        line: line that was filled in, 0 for none.
        asks: the item number is new to the household, so the page asks for its item.
    """

    values: dict[str, str]
    said: str
    line: int = 0
    asks: bool = False


def read_code(request: Request, record: Household, values: dict[str, str], rows: int) -> Reading:
    """Read the code of a form into a line of it.

    Args:
        request: who asks, and when; used to remember a new item number.
        record: the household.
        values: of the form, with `code`, and `code_item` and `code_units` once they were asked.
        rows: how many lines the form has.

    Raises:
        InvalidInput: fields `code`, `gtin`, `lot`, `expires_on`, `count`, `item`, `units`.
    """
    text = values.get("code", "")
    if not text.strip():
        return Reading(values=values, said=f"{_NOT_SAVED} Press the button at the end to save.")
    shown = {**values, "code": text.replace("\x1d", "<GS>")}
    try:
        code = read_carton(text, request.now.date())
        if not code.gtin:
            return _filled(complete(values, code, rows), code, record, text, request.now.date())
        known = _known(request, record, code, values)
        if known is None:
            return Reading(values=shown, said=f"This code is new. {_NOT_SAVED}", asks=True)
        item_code, units = known
        held = code.pieces or units * (code.contained or 1)
        filled = fill_in(values, code, item_code, held, rows)
    except PlannerError as error:
        raise InvalidInput(faults_of(error)) from error
    return _filled(filled, code, record, text, request.now.date())


def ask_again(request: Request, values: dict[str, str]) -> Reading:
    """Forget what the last code stood for, and take its line out, so that it is asked again."""
    text, line = values.get("last_code", ""), values.get("last_line", "")
    emptied = {f"lines[{line}].{name}": "" for name in ("units", "lot", "expires_on")}
    shown = {**values, **emptied, "code": text, "code_item": "", "code_units": ""}
    try:
        code = read_carton(text, request.now.date())
    except PlannerError as error:
        raise InvalidInput(faults_of(error)) from error
    if code.gtin:
        forget_carton(request, code.gtin)
    return Reading(values=shown, said=f"Choose the item again. {_NOT_SAVED}", asks=True)


def _known(
    request: Request, record: Household, code: CartonCode, values: dict[str, str]
) -> tuple[str, int] | None:
    """Item and units of a code; a new one is remembered as soon as the form says what it is."""
    chosen = values.get("code_item", "")
    if chosen:
        reader = FormReader(values)
        typed = reader.text("code_units")
        units = reader.whole("code_units", unit="pieces") if typed else None
        reader.refuse()
        remember_carton(request, gtin=code.gtin, item_code=chosen, units=units)
    row = known_carton(request.db, request.access, code.gtin)
    if row is None or row.item_code not in {one.code for one in record.items}:
        return None
    return row.item_code, row.units


def _filled(
    filled: FilledLine, code: CartonCode, record: Household, text: str, today: date
) -> Reading:
    item = record.item(filled.values[f"lines[{filled.number}].item"])
    parts = [f"{wording.units_text(filled.units, item.kind)} ({item.name})"]
    if code.lot:
        parts.append(f"lot {code.lot}")
    if code.expires_on:
        parts.append(f"use by {wording.day_text(code.expires_on, with_year=True)}")
    warning = ""
    if code.expires_on and code.expires_on < today:
        warning = " This date has passed: write these goods under “Something wrong came”."
    said = (
        f"Line {filled.number} now says {', '.join(parts)}.{warning} Check it with the box. "
        f"Read each box, or change the number. {_NOT_SAVED}"
    )
    kept = {
        "code": "",
        "code_item": "",
        "code_units": "",
        "last_code": text.replace("\x1d", "<GS>"),
        "last_line": str(filled.number),
    }
    return Reading(values={**filled.values, **kept}, said=said, line=filled.number)
