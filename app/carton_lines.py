"""A carton's code put into the lines of the form for a delivery."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.carton import CartonCode
from planner.errors import InvalidValue

LINE_FIELDS = ("units", "lot", "expires_on")


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledLine:
    """A line that a code filled in.

    Attributes:
        values: of the whole form, with that line.
        number: which line, from 1.
        units: what the line says now. [units]
    """

    values: dict[str, str]
    number: int
    units: int


def is_filled(values: Mapping[str, str], number: int) -> bool:
    """Whether anything but the item stands in a line."""
    return any(values.get(f"lines[{number}].{name}", "").strip() for name in LINE_FIELDS)


def fill_in(
    values: Mapping[str, str], code: CartonCode, item_code: str, units: int, rows: int
) -> FilledLine:
    """Put a carton into the form.

    A line with the same item, lot and date grows by it: each box is read once. Else it takes the
    line of an order that names the item without lot and date, else the first empty line.

    Raises:
        InvalidValue: field `code`, when every line is taken.
    """
    expires_on = code.expires_on.isoformat() if code.expires_on else ""
    numbers = range(1, rows + 1)
    same = [n for n in numbers if _is(values, n, item_code, code.lot, expires_on)]
    open_ = [n for n in numbers if _is(values, n, item_code, "", "")]
    empty = [n for n in numbers if not is_filled(values, n)]
    spot = next(iter((*same, *open_, *empty)), None)
    if spot is None:
        fix = "every line is taken; save this delivery, then write down the rest as another one"
        raise InvalidValue("code", f"{code.gtin} {code.lot}".strip(), fix)
    before = values.get(f"lines[{spot}].units", "").strip()
    grows = spot in same and (code.lot or expires_on) and before.isdigit()
    total = units + (int(before) if grows else 0)
    place = f"lines[{spot}]."
    filled = {
        f"{place}item": item_code,
        f"{place}units": str(total),
        f"{place}lot": code.lot,
        f"{place}expires_on": expires_on,
    }
    return FilledLine(values={**values, **filled}, number=spot, units=total)


def complete(values: Mapping[str, str], code: CartonCode, rows: int) -> FilledLine:
    """Put a code without item number, the second one on some boxes, into the last line filled.

    Raises:
        InvalidValue: field `gtin`, when no line waits for it.
    """
    filled = [n for n in range(1, rows + 1) if is_filled(values, n)]
    last = filled[-1] if filled else 0
    units = values.get(f"lines[{last}].units", "").strip()
    waits = (
        last
        and units.isdigit()
        and not (values.get(f"lines[{last}].lot") or values.get(f"lines[{last}].expires_on"))
    )
    if not waits:
        fix = "the code has none; read the other code on the box first, or fill in the line by hand"
        raise InvalidValue("gtin", None, fix)
    expires_on = code.expires_on.isoformat() if code.expires_on else ""
    more = {f"lines[{last}].lot": code.lot, f"lines[{last}].expires_on": expires_on}
    return FilledLine(values={**values, **more}, number=last, units=int(units))


def _is(values: Mapping[str, str], number: int, item_code: str, lot: str, expires_on: str) -> bool:
    found = tuple(
        values.get(f"lines[{number}].{name}", "").strip() for name in ("item", "lot", "expires_on")
    )
    return is_filled(values, number) and found == (item_code, lot, expires_on)
