"""What a household remembers of the item numbers on its cartons."""

from __future__ import annotations

from sqlmodel import Session, col, delete, select

from app.access import HouseholdAccess, Permission
from app.models_shelf import CartonCodeRow
from app.writing import Change, Request, Saved, save
from planner.errors import require_int


def known_carton(db: Session, access: HouseholdAccess, gtin: str) -> CartonCodeRow | None:
    """What an item number stands for in this household; None when it is new."""
    query = select(CartonCodeRow).where(
        CartonCodeRow.household_id == access.household_id, CartonCodeRow.gtin == gtin
    )
    return db.exec(query).first()


def remember_carton(request: Request, *, gtin: str, item_code: str, units: int | None) -> Saved:
    """Keep what an item number stands for.

    Args:
        request: who, when, which form.
        gtin: item number, 14 digits, checked.
        item_code: the household's item.
        units: single units in a pack that bears the number; None for a whole box. [units]

    Raises:
        InvalidInput: fields `item`, `units`.
    """

    def action(change: Change) -> str:
        item = change.household.item(item_code)
        held = item.units_per_box if units is None else units
        require_int("units", held, at_least=1, at_most=500, unit="units")
        _forget(change, gtin)
        row = CartonCodeRow(
            household_id=change.household.id, gtin=gtin, item_code=item_code, units=held
        )
        change.db.add(row)
        change.db.flush()
        return gtin

    return save(request, Permission.RECORD, action)


def forget_carton(request: Request, gtin: str) -> Saved:
    """Forget what an item number stands for, so that it is asked again."""

    def action(change: Change) -> str:
        _forget(change, gtin)
        return gtin

    return save(request, Permission.RECORD, action)


def _forget(change: Change, gtin: str) -> None:
    here = col(CartonCodeRow.household_id) == change.household.id
    change.db.exec(delete(CartonCodeRow).where(here, col(CartonCodeRow.gtin) == gtin))
