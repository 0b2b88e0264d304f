"""Tables about the shelf that plans do not need."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field, SQLModel, UniqueConstraint

from app.models import UtcInstant


class CartonCodeRow(SQLModel, table=True):
    """Which item of the household a carton's item number stands for, and how much is in it.

    `gtin` is the item number with 14 digits, `units` the single units in a pack that bears it.
    """

    __tablename__ = "carton_code"
    __table_args__ = (UniqueConstraint("household_id", "gtin"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    gtin: str = Field(max_length=14)
    item_code: str = Field(max_length=40)
    units: int


class LotRecallRow(SQLModel, table=True):
    """One household's entry of a recall that an agency marked for many; `batch` joins them."""

    __tablename__ = "lot_recall"
    __table_args__ = (UniqueConstraint("household_id", "entry_key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    agency_id: str = Field(foreign_key="agency.id", index=True)
    batch: str = Field(max_length=64, index=True)
    item_code: str = Field(max_length=40)
    lot: str = Field(max_length=40)
    entry_key: str = Field(max_length=64)
    recalled_by: int | None = Field(default=None, foreign_key="account.id")
    recalled_at: datetime = Field(sa_type=UtcInstant)
    taken_back_by: int | None = Field(default=None, foreign_key="account.id")
    taken_back_at: datetime | None = Field(default=None, sa_type=UtcInstant)
