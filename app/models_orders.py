"""The tables of what happened to orders, and of a no to a proposal. Values only, no rules."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import DateTime, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from app.models import UtcInstant


class OrderStepRow(SQLModel, table=True):
    """One step of an order; `number` counts from 1 and a step taken back stays.

    Who recorded it and when is empty for loaded records.
    """

    __tablename__ = "order_step"
    __table_args__ = (UniqueConstraint("household_id", "order_key", "number"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    order_key: str = Field(max_length=64)
    number: int
    kind: str = Field(max_length=24)
    at: datetime = Field(sa_type=DateTime)
    by_name: str = Field(default="", max_length=120)
    expected_on: date | None = None
    note: str = Field(default="", max_length=400)
    delivery_key: str = Field(default="", max_length=64)
    taken_back_at: datetime | None = Field(default=None, sa_type=DateTime)
    taken_back_by: str = Field(default="", max_length=120)
    recorded_by: int | None = Field(default=None, foreign_key="account.id")
    recorded_at: datetime | None = Field(default=None, sa_type=UtcInstant)


class DeclinedOrderRow(SQLModel, table=True):
    """A proposal that a person said no to: who, when, what was asked, and their answer.

    `asked` is e.g. "K-HALF 2, B-HALF 1", item codes with boxes.
    """

    __tablename__ = "declined_order"
    __table_args__ = (UniqueConstraint("household_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    key: str = Field(max_length=64)
    at: datetime = Field(sa_type=DateTime)
    declined_by: str = Field(max_length=120)
    asked: str = Field(default="", sa_type=Text)
    answer: str = Field(max_length=400)
    account_id: int | None = Field(default=None, foreign_key="account.id")
    recorded_at: datetime | None = Field(default=None, sa_type=UtcInstant)
    proposal_version: int | None = None
