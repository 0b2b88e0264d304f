"""The table that remembers what each calendar feed last said. Values only, no rules."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from app.models import UtcInstant


class PublishedEntryRow(SQLModel, table=True):
    """One entry as a feed last published it.

    The row outlives its entry, so that `sequence` goes on rising when the entry comes back.
    """

    __tablename__ = "published_entry"
    __table_args__ = (UniqueConstraint("feed_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    feed_id: int = Field(foreign_key="feed.id", ondelete="CASCADE")
    key: str = Field(max_length=100)
    digest: str = Field(max_length=64)
    sequence: int = 0
    starts_on: date
    summary: str = Field(max_length=200)
    created_at: datetime = Field(sa_type=UtcInstant)
    changed_at: datetime = Field(sa_type=UtcInstant)
    cancelled_at: datetime | None = Field(default=None, sa_type=UtcInstant)
