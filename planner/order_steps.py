"""Steps in the life of an order, and what they add up to.

An order is proposed by the plan, confirmed by a person, placed with the supplier, and so on.
Steps are never deleted: one that was a mistake is marked as taken back and no longer counts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from planner.errors import InvalidValue


class OrderStatus(StrEnum):
    """How far an order has come."""

    CONFIRMED = "confirmed"
    PLACED = "placed"
    ACKNOWLEDGED = "acknowledged"
    ON_ITS_WAY = "on-its-way"
    RECEIVED_IN_PART = "received-in-part"
    RECEIVED = "received"
    CANCELLED = "cancelled"


IN_TRANSIT = frozenset(
    {
        OrderStatus.PLACED,
        OrderStatus.ACKNOWLEDGED,
        OrderStatus.ON_ITS_WAY,
        OrderStatus.RECEIVED_IN_PART,
    }
)
"""States in which goods may still come."""

BY_DELIVERY = frozenset({OrderStatus.RECEIVED_IN_PART, OrderStatus.RECEIVED})
"""States that a delivery leads to."""

LONGEST_WAIT_DAYS = 731
"""How far ahead a supplier may name a delivery day. A guard against slips, no trade fact. [days]"""

_MAY_NAME_A_DAY = frozenset(
    {
        OrderStatus.CONFIRMED,
        OrderStatus.PLACED,
        OrderStatus.ACKNOWLEDGED,
        OrderStatus.ON_ITS_WAY,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderStep:
    """One step of an order.

    Attributes:
        kind: the state that the step leads to.
        at: local wall-clock time of the step.
        by: who took it.
        expected_on: delivery day that the supplier named with it, if any.
        note: for a confirmation, the words that the person said yes to.
        delivery: for goods that came, the key that their receipts share; see `delivery_of`.
        taken_back_at: when the step was taken back as a mistake; None while it stands.
        taken_back_by: who took it back.
    """

    kind: OrderStatus
    at: datetime
    by: str = ""
    expected_on: date | None = None
    note: str = ""
    delivery: str = ""
    taken_back_at: datetime | None = None
    taken_back_by: str = ""

    def __post_init__(self) -> None:
        if self.expected_on is None:
            return
        if self.kind not in _MAY_NAME_A_DAY:
            raise InvalidValue("expected_on", self.expected_on, "leave it out for this step")
        if self.expected_on < self.at.date():
            fix = f"it lies before the day of this step, {self.at.date()}; check the day"
            raise InvalidValue("expected_on", self.expected_on, fix)
        require_soon("expected_on", self.expected_on, self.at.date())

    @property
    def stands(self) -> bool:
        """Whether the step was not taken back."""
        return self.taken_back_at is None


def require_soon(field: str, day: date, after: date) -> None:
    """Refuse a delivery day that can only be a slip of the pen.

    Args:
        field: name of the value.
        day: day on which the supplier means to deliver.
        after: day of the step, or of the order, that it was named with.

    Raises:
        InvalidValue: when it lies more than `LONGEST_WAIT_DAYS` ahead.
    """
    if (day - after).days > LONGEST_WAIT_DAYS:
        raise InvalidValue(field, day, "it lies too far away; check the year")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderState:
    """What an order's steps add up to; the attributes are those of `planner.supply.Order`."""

    status: OrderStatus
    placed_at: datetime
    promised_on: date | None
    received_on: date | None


def state_after(steps: Iterable[OrderStep]) -> OrderState:
    """Add up the steps that stand.

    The delivery day is the one named last. An order that is closed because its rest will not
    come was received on the day of its last goods.

    Raises:
        InvalidValue: when no step stands.
    """
    standing = [step for step in steps if step.stands]
    if not standing:
        raise InvalidValue("steps", "all taken back", "keep at least the first step")
    status = standing[-1].kind
    placed = [step.at for step in standing if step.kind is OrderStatus.PLACED]
    named = [step.expected_on for step in standing if step.expected_on is not None]
    came = [step.at.date() for step in standing if step.delivery]
    received_on = None
    if status is OrderStatus.RECEIVED:
        received_on = max(came, default=standing[-1].at.date())
    return OrderState(
        status=status,
        placed_at=placed[-1] if placed else standing[0].at,
        promised_on=named[-1] if named else None,
        received_on=received_on,
    )
