"""Entries of the shelf ledger. Facts only; `planner.stock` adds them up.

Nothing is edited or deleted: a mistake is taken back by a `Reversal`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from planner.errors import InvalidValue, require_int, require_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """Goods put on the shelf.

    Attributes:
        units: single units, not boxes.
        lot: lot printed on the box; empty when not noted.
        expires_on: last day on which the goods may be used; None when not noted.
        order_id: the order they came from, if any.
    """

    id: str
    at: datetime
    item_code: str
    units: int
    lot: str = ""
    expires_on: date | None = None
    order_id: str | None = None

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("item", self.item_code, at_most=40)
        require_int("units", self.units, at_least=1, at_most=10_000, unit="units")
        if self.expires_on is not None and self.expires_on < self.at.date():
            fix = f"it lies before the receipt on {self.at.date()}; check the use-by date"
            raise InvalidValue("expires_on", self.expires_on, fix)


@dataclass(frozen=True, slots=True, kw_only=True)
class Waste:
    """Units thrown away outside a session, with the reason."""

    id: str
    at: datetime
    item_code: str
    units: int
    reason: str
    lot: str = ""

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("item", self.item_code, at_most=40)
        require_int("units", self.units, at_least=1, at_most=10_000, unit="units")
        require_text("reason", self.reason, at_most=80)


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """What somebody found on the shelf: all units of one item, usable or not.

    It resets the level; the difference to the record is kept as such.
    """

    id: str
    at: datetime
    item_code: str
    units: int

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("item", self.item_code, at_most=40)
        require_int("units", self.units, at_least=0, at_most=10_000, unit="units")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """A lot called back by its maker or supplier: on the shelf, but not to be used."""

    id: str
    at: datetime
    item_code: str
    lot: str

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("item", self.item_code, at_most=40)
        require_text("lot", self.lot, at_most=40)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reversal:
    """Takes back one earlier entry or session that was a mistake."""

    id: str
    at: datetime
    reverses_id: str

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("reverses", self.reverses_id, at_most=64)


StandingEntry = Receipt | Waste | Count | Recall
LedgerEntry = StandingEntry | Reversal
