"""How a person wants to see pages: read with every request, written on one page."""

from __future__ import annotations

from sqlmodel import Session

from app.db import upsert
from app.display import USUAL, DateStyle, Display, VolumeUnit
from app.messages import CATALOGUE
from app.models_settings import DisplayChoiceRow


def display_of(db: Session, account_id: int) -> Display:
    """What an account chose; the usual way when it chose nothing."""
    return display_from(db.get(DisplayChoiceRow, account_id))


def display_from(row: DisplayChoiceRow | None) -> Display:
    """What a row says.

    A choice that this version does not know any more is left at the usual way.
    """
    if row is None:
        return USUAL
    return Display(
        date_style=DateStyle(row.date_style)
        if row.date_style in set(DateStyle)
        else USUAL.date_style,
        volume_unit=VolumeUnit(row.volume_unit)
        if row.volume_unit in set(VolumeUnit)
        else USUAL.volume_unit,
        language=row.language if row.language in CATALOGUE else USUAL.language,
    )


def choose_display(db: Session, account_id: int, display: Display) -> None:
    """Keep what an account chose."""
    db.commit()
    upsert(
        db,
        DisplayChoiceRow(
            account_id=account_id,
            date_style=display.date_style.value,
            volume_unit=display.volume_unit.value,
            language=display.language,
        ),
    )
    db.commit()
