"""The tables. They hold values and keep them apart by household; no rules live here.

Days and moments of a household's record are its own wall clock, without an offset. Instants of
the application (signed in, computed, confirmed) are UTC. `key` columns carry the planner's ids,
which are unique within one household only. Rows that form a list are kept in the order of `id`.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from sqlalchemy import DateTime, Dialect, Text, UniqueConstraint
from sqlalchemy.types import TypeDecorator
from sqlmodel import Field, SQLModel


class UtcInstant(TypeDecorator[datetime]):
    """Stores an aware instant as UTC without offset, and gives it back aware."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database."""
        del dialect
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """From the database."""
        del dialect
        return None if value is None else value.replace(tzinfo=UTC)


# --- people and their access ---


class AccountRow(SQLModel, table=True):
    """A person who signs in. `email` is kept in lower case."""

    __tablename__ = "account"

    id: int | None = Field(default=None, primary_key=True)
    email: str = Field(max_length=254, unique=True)
    name: str = Field(max_length=120)
    password_hash: str = Field(max_length=255)
    created_at: datetime = Field(sa_type=UtcInstant)
    closed_at: datetime | None = Field(default=None, sa_type=UtcInstant)


class LoginRow(SQLModel, table=True):
    """One signed-in browser. Only the SHA-256 of its secret is kept; `device` is a rough kind."""

    __tablename__ = "login"

    token_hash: str = Field(max_length=64, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    created_at: datetime = Field(sa_type=UtcInstant)
    last_seen_at: datetime = Field(sa_type=UtcInstant)
    ended_at: datetime | None = Field(default=None, sa_type=UtcInstant)
    device: str | None = Field(default=None, max_length=16)


class LoginAttemptRow(SQLModel, table=True):
    """Failed sign-ins of late; `subject_hash` hides whom and from where."""

    __tablename__ = "login_attempt"

    subject_hash: str = Field(max_length=64, primary_key=True)
    failures: int
    first_failed_at: datetime = Field(sa_type=UtcInstant)


class AgencyRow(SQLModel, table=True):
    """A home-health agency that looks after many households."""

    __tablename__ = "agency"

    id: str = Field(max_length=64, primary_key=True)
    name: str = Field(max_length=120)
    time_zone: str = Field(default="UTC", max_length=64)


class CoordinatorRow(SQLModel, table=True):
    """An account that works for an agency."""

    __tablename__ = "coordinator"
    __table_args__ = (UniqueConstraint("account_id", "agency_id"),)

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    agency_id: str = Field(foreign_key="agency.id", index=True)


class MembershipRow(SQLModel, table=True):
    """An account's role in one household: patient, carer or viewer."""

    __tablename__ = "membership"
    __table_args__ = (UniqueConstraint("account_id", "household_id"),)

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    role: str = Field(max_length=16)


# --- the household's record ---


class HouseholdRow(SQLModel, table=True):
    """A household and its plan settings. `input_version` rises with every write.

    `file_id` is the id that its own file gives it, where that is not the id in addresses. `life`
    is drawn when the household is written, so that it is not taken for an earlier one with its id.
    """

    __tablename__ = "household"

    id: str = Field(max_length=64, primary_key=True)
    agency_id: str | None = Field(default=None, foreign_key="agency.id", index=True)
    name: str = Field(max_length=120)
    time_zone: str = Field(max_length=64)
    input_version: int = 1
    protection: float
    cover_days: int
    horizon_days: int
    refill_rule: str | None = Field(default=None, max_length=64)
    most_units_at_home: int | None = None
    prescription_ends_on: date | None = None
    file_id: str | None = Field(default=None, max_length=64)
    life: str | None = Field(default=None, max_length=64)


class ContactRow(SQLModel, table=True):
    """Whom to call; `duty` is care-team or supplier."""

    __tablename__ = "contact"
    __table_args__ = (UniqueConstraint("household_id", "duty"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    duty: str = Field(max_length=16)
    name: str = Field(max_length=120)
    phone: str = Field(default="", max_length=60)


class SupplierRow(SQLModel, table=True):
    """A household's supplier terms; `delivery_weekdays` is e.g. "1,4", Monday = 0.

    The two columns of standing deliveries are filled together or not at all.
    """

    __tablename__ = "supplier"

    household_id: str = Field(foreign_key="household.id", primary_key=True)
    name: str = Field(max_length=120)
    lead_business_days: int
    cut_off: time
    time_zone: str | None = Field(default=None, max_length=64)
    delivery_weekdays: str | None = Field(default=None, max_length=20)
    standing_rrule: str | None = Field(default=None, max_length=200)
    standing_starts_on: date | None = None
    holiday_country: str | None = Field(default=None, max_length=8)
    holiday_region: str | None = Field(default=None, max_length=16)
    minimum_boxes: int = 0
    express_business_days: int | None = None


class ClosureRow(SQLModel, table=True):
    """Days on which the supplier is closed, both ends included."""

    __tablename__ = "closure"

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    starts_on: date
    ends_on: date
    reason: str = Field(default="", max_length=120)


class ItemRow(SQLModel, table=True):
    """One line of the household's catalogue."""

    __tablename__ = "item"
    __table_args__ = (UniqueConstraint("household_id", "code"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    code: str = Field(max_length=40)
    name: str = Field(max_length=120)
    kind: str = Field(max_length=16)
    capacity_ml: int | None = None
    units_per_box: int


class CatheterRow(SQLModel, table=True):
    """One catheter and the goods it uses; `other_kits` is a JSON list of item codes."""

    __tablename__ = "catheter"
    __table_args__ = (UniqueConstraint("household_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    key: str = Field(max_length=64)
    label: str = Field(max_length=40)
    site: str = Field(max_length=16)
    kit_code: str = Field(max_length=40)
    bottle_code: str | None = Field(default=None, max_length=40)
    clinical_group: str = Field(max_length=32)
    expected_ml_per_day: int | None = None
    removed_on: date | None = None
    other_kits: str | None = Field(default=None, sa_type=Text)


class RegimenRow(SQLModel, table=True):
    """One version of a catheter's prescribed drain frequency."""

    __tablename__ = "regimen"

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    catheter_key: str = Field(max_length=64)
    starts_on: date
    pattern: str = Field(max_length=16)
    every_n_days: int | None = None
    rrule: str | None = Field(default=None, sa_type=Text)
    session_limit_ml: int | None = None
    ordered_by: str = Field(default="", max_length=120)


class PauseRow(SQLModel, table=True):
    """Days away from home supplies."""

    __tablename__ = "pause"

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    starts_on: date
    ends_on: date | None = None
    reason: str = Field(default="", max_length=120)
    catheter_key: str | None = Field(default=None, max_length=64)


class AuthorizedRow(SQLModel, table=True):
    """Most units of an item allowed in a period."""

    __tablename__ = "authorized"

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    item_code: str = Field(max_length=40)
    units: int
    per_days: int
    starts_on: date


class DrainSessionRow(SQLModel, table=True):
    """One drainage session. Who wrote it down is empty for loaded records."""

    __tablename__ = "drain_session"
    __table_args__ = (UniqueConstraint("household_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    key: str = Field(max_length=64)
    catheter_key: str = Field(max_length=64)
    started_at: datetime = Field(sa_type=DateTime)
    stop_reason: str = Field(max_length=24)
    recorded_by: int | None = Field(default=None, foreign_key="account.id")
    recorded_at: datetime | None = Field(default=None, sa_type=UtcInstant)


class BottleRow(SQLModel, table=True):
    """One bottle opened in a session."""

    __tablename__ = "bottle"

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    session_key: str = Field(max_length=64)
    volume_ml: int
    item_code: str | None = Field(default=None, max_length=40)
    loss: str | None = Field(default=None, max_length=24)


class LedgerRow(SQLModel, table=True):
    """One entry of the shelf ledger; `kind` says which columns it uses."""

    __tablename__ = "ledger"
    __table_args__ = (UniqueConstraint("household_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    key: str = Field(max_length=64)
    kind: str = Field(max_length=16)
    at: datetime = Field(sa_type=DateTime)
    item_code: str = Field(default="", max_length=40)
    units: int = 0
    lot: str = Field(default="", max_length=120)
    expires_on: date | None = None
    order_key: str | None = Field(default=None, max_length=64)
    reason: str = Field(default="", max_length=120)
    reverses_key: str = Field(default="", max_length=64)
    recorded_by: int | None = Field(default=None, foreign_key="account.id")
    recorded_at: datetime | None = Field(default=None, sa_type=UtcInstant)


class OrderRow(SQLModel, table=True):
    """An order that a person confirmed, with the answer they gave and when.

    Orders written before there was express have no `is_express`; they were not.
    """

    __tablename__ = "supply_order"
    __table_args__ = (UniqueConstraint("household_id", "key"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    key: str = Field(max_length=64)
    placed_at: datetime = Field(sa_type=DateTime)
    status: str = Field(max_length=16)
    promised_on: date | None = None
    received_on: date | None = None
    confirmed_by: str = Field(default="", max_length=120)
    confirmed_account_id: int | None = Field(default=None, foreign_key="account.id")
    confirmed_at: datetime | None = Field(default=None, sa_type=UtcInstant)
    answer: str = Field(default="", max_length=200)
    proposal_version: int | None = None
    is_express: bool | None = None


class OrderLineRow(SQLModel, table=True):
    """Whole boxes of one item in an order."""

    __tablename__ = "order_line"

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id", index=True)
    order_key: str = Field(max_length=64)
    item_code: str = Field(max_length=40)
    boxes: int


# --- what the application remembers ---


class FeedRow(SQLModel, table=True):
    """One calendar address: one account's view of one household or one agency.

    Only the SHA-256 of the secret is kept. `feed_key` is opaque, survives a renewed address
    and is what calendar entries derive their ids from. The three columns after `detailed` say
    what an agency's calendar shows; `entry_kinds` is e.g. "order-by,delivery".
    """

    __tablename__ = "feed"
    __table_args__ = (
        UniqueConstraint("account_id", "household_id"),
        UniqueConstraint("account_id", "agency_id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    feed_key: str = Field(max_length=64, unique=True)
    token_hash: str = Field(max_length=64, unique=True)
    account_id: int = Field(foreign_key="account.id")
    household_id: str | None = Field(default=None, foreign_key="household.id", index=True)
    agency_id: str | None = Field(default=None, foreign_key="agency.id", index=True)
    detailed: bool = False
    least_urgency: str = Field(
        default="order-soon", max_length=16, sa_column_kwargs={"server_default": "order-soon"}
    )
    entry_kinds: str = Field(
        default="order-by", max_length=60, sa_column_kwargs={"server_default": "order-by"}
    )
    supplier_name: str | None = Field(default=None, max_length=120)
    created_at: datetime = Field(sa_type=UtcInstant)
    revoked_at: datetime | None = Field(default=None, sa_type=UtcInstant)
    last_read_at: datetime | None = Field(default=None, sa_type=UtcInstant)


class StoredPlanRow(SQLModel, table=True):
    """A household's latest plan and the inputs it was computed from.

    The four columns before `plan_json` repeat facts of the plan so that an agency's list can
    be sorted and filtered by the database.
    """

    __tablename__ = "stored_plan"

    household_id: str = Field(foreign_key="household.id", primary_key=True)
    input_version: int
    as_of: date
    past_cut_off: bool
    plan_format: int
    computed_at: datetime = Field(sa_type=UtcInstant)
    urgency_rank: int = Field(index=True)
    order_by_on: date | None = None
    expected_on: date | None = None
    cautious_on: date | None = None
    plan_json: str = Field(sa_type=Text)


class SubmissionRow(SQLModel, table=True):
    """A form that was sent once, so that sending it again changes nothing."""

    __tablename__ = "submission"
    __table_args__ = (UniqueConstraint("household_id", "submission"),)

    id: int | None = Field(default=None, primary_key=True)
    household_id: str = Field(foreign_key="household.id")
    submission: str = Field(max_length=64)
    result_key: str = Field(max_length=64)
    saved_at: datetime = Field(sa_type=UtcInstant)
