"""The tables of what people set: dated changes of a household, and how a person sees pages."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from app.models import UtcInstant


class SettingChangeRow(SQLModel, table=True):
    """One dated change of a household's settings. Rows are only ever added.

    `values_json` holds the changed fields, `was_json` what they were before. `lasted_on` and
    `order_by_on` are the dates that the plan gave before the change.
    """

    __tablename__ = "setting_change"
    __table_args__ = (UniqueConstraint("household_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", ondelete="CASCADE")
    key: str = Field(max_length=64)
    subject: str = Field(max_length=16, index=True)
    target: str = Field(default="", max_length=64)
    starts_on: date
    is_removal: bool = False
    values_json: str = Field(default="{}", sa_type=Text)
    was_json: str = Field(default="{}", sa_type=Text)
    lasted_on: date | None = None
    order_by_on: date | None = None
    recorded_by: int | None = Field(default=None, foreign_key="account.id", ondelete="SET NULL")
    recorded_at: datetime = Field(sa_type=UtcInstant)


class DisplayChoiceRow(SQLModel, table=True):
    """How one account wants to see days, volumes and words."""

    __tablename__ = "display_choice"

    account_id: int = Field(primary_key=True, foreign_key="account.id", ondelete="CASCADE")
    date_style: str = Field(max_length=16)
    volume_unit: str = Field(max_length=8)
    language: str = Field(max_length=16)
