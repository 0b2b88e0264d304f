"""Tables about the shelf that plans do not need."""

from __future__ import annotations

from sqlmodel import Field, SQLModel, UniqueConstraint


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
