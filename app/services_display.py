"""How a person wants to see pages: read with every request, written on one page."""

from __future__ import annotations

from functools import cache

from sqlmodel import Session

from app.db import upsert
from app.display import USUAL, DateStyle, Display, VolumeUnit
from app.messages import CATALOGUE
from app.models_settings import DisplayChoiceRow


def display_of(db: Session, account_id: int) -> Display:
    """What an account chose; the usual way when it chose nothing."""
    row = db.get(DisplayChoiceRow, account_id)
    return USUAL if row is None else display_from(row.date_style, row.volume_unit, row.language)


@cache
def display_from(date_style: str | None, volume_unit: str | None, language: str | None) -> Display:
    """What the columns of a row say; all of them are None where an account chose nothing.

    A choice that this version does not know any more is left at the usual way.
    """
    return Display(
        date_style=DateStyle(date_style) if date_style in set(DateStyle) else USUAL.date_style,
        volume_unit=VolumeUnit(volume_unit)
        if volume_unit in set(VolumeUnit)
        else USUAL.volume_unit,
        language=language if language in CATALOGUE else USUAL.language,
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
