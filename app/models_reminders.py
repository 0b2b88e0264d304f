"""The tables of e-mail reminders: what each person wants, and what was sent. Values only."""

from __future__ import annotations

from datetime import datetime, time

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from app.models import UtcInstant


class ReminderChoiceRow(SQLModel, table=True):
    """One account's choices for one household or one agency; nothing is on by itself.

    `quiet_from` and `quiet_until` are wall-clock times in `time_zone`.
    """

    __tablename__ = "reminder_choice"
    __table_args__ = (
        UniqueConstraint("account_id", "household_id"),
        UniqueConstraint("account_id", "agency_id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id")
    household_id: str | None = Field(default=None, foreign_key="household.id", index=True)
    agency_id: str | None = Field(default=None, foreign_key="agency.id", index=True)
    order_by: bool = False
    risk: bool = False
    delivery_late: bool = False
    digest: bool = False
    detailed: bool = False
    quiet_from: time
    quiet_until: time
    time_zone: str = Field(max_length=64)
    changed_at: datetime = Field(sa_type=UtcInstant)


class OutboxRow(SQLModel, table=True):
    """One message about one fact to one person, from first try to last.

    The text is not kept; it is written anew for every try. Of the link that stops messages
    only the SHA-256 is kept.
    """

    __tablename__ = "outbox"
    __table_args__ = (UniqueConstraint("choice_id", "fact_key"),)

    id: int | None = Field(default=None, primary_key=True)
    choice_id: int = Field(foreign_key="reminder_choice.id", ondelete="CASCADE")
    fact_key: str = Field(max_length=120)
    state: str = Field(max_length=16, index=True)
    attempts: int = 0
    next_try_at: datetime = Field(sa_type=UtcInstant)
    changed_at: datetime = Field(sa_type=UtcInstant)
    stop_hash: str | None = Field(default=None, max_length=64, unique=True)
