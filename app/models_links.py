"""The table of links that work once. Values only, no rules."""

from __future__ import annotations

from datetime import datetime

from sqlmodel import Field, SQLModel

from app.models import UtcInstant


class OneTimeLinkRow(SQLModel, table=True):
    """One link that still works; it is deleted as soon as it is used, taken back or too old.

    Only the SHA-256 of its secret is kept. `purpose` says which of the other columns it uses;
    `note` is what the person who made it wrote to tell links apart.
    """

    __tablename__ = "one_time_link"

    id: int | None = Field(default=None, primary_key=True)
    token_hash: str = Field(max_length=64, unique=True)
    purpose: str = Field(max_length=16)
    household_id: str | None = Field(default=None, foreign_key="household.id", index=True)
    agency_id: str | None = Field(default=None, foreign_key="agency.id", index=True)
    role: str | None = Field(default=None, max_length=16)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    made_by: int | None = Field(default=None, foreign_key="account.id")
    note: str = Field(default="", max_length=60)
    made_at: datetime = Field(sa_type=UtcInstant)
    expires_at: datetime = Field(sa_type=UtcInstant)
