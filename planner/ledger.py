"""Entries of the shelf ledger. Facts only; `planner.stock` adds them up.

Nothing is edited or deleted: a mistake is taken back by a `Reversal`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from planner.errors import InvalidValue, require_int, require_text


class Place(StrEnum):
    """Where goods of the household lie."""

    HOME = "home"
    BAG = "bag"


class LeavingReason(StrEnum):
    """Why goods leave the household for good, other than as waste."""

    RETURNED = "returned"
    DISPOSED = "disposed"
    CLINIC = "clinic"
    GIVEN_AWAY = "given-away"


LEAVES_UNUSABLE = (LeavingReason.RETURNED, LeavingReason.DISPOSED)
"""Reasons for which expired and recalled goods go first; for the others only usable ones go."""


class DifferenceCause(StrEnum):
    """What somebody thinks happened when a count and the record differ."""

    SESSIONS_NOT_WRITTEN = "sessions-not-written"
    BOTTLE_LOST = "bottle-lost"
    TAKEN_ALONG = "taken-along"
    DELIVERY_NOT_ENTERED = "delivery-not-entered"
    NOT_KNOWN = "not-known"


def _require_goods(entry: Receipt | Waste | Departure | Transfer | WrongKept) -> None:
    """Refuse an entry whose id, item or units cannot be."""
    require_text("id", entry.id, at_most=64)
    require_text("item", entry.item_code, at_most=40)
    require_int("units", entry.units, at_least=1, at_most=10_000, unit="units")


def _require_in_date(entry: Receipt | WrongKept) -> None:
    """Refuse goods that were out of date when they came to the shelf."""
    if entry.expires_on is not None and entry.expires_on < entry.at.date():
        fix = f"it lies before the receipt on {entry.at.date()}; check the use-by date"
        raise InvalidValue("expires_on", entry.expires_on, fix)


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
        _require_goods(self)
        _require_in_date(self)


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
        _require_goods(self)
        require_text("reason", self.reason, at_most=80)


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """What somebody found on the shelf at home: all units of one item, usable or not.

    It resets the level; the difference to the record is kept as such.

    Attributes:
        cause: what the person thinks led to a difference; None when nobody was asked.
    """

    id: str
    at: datetime
    item_code: str
    units: int
    cause: DifferenceCause | None = None

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
class Departure:
    """Units that left the home for good, unused.

    Attributes:
        lot: lot that left; empty when not noted.
    """

    id: str
    at: datetime
    item_code: str
    units: int
    reason: LeavingReason
    lot: str = ""

    def __post_init__(self) -> None:
        _require_goods(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Transfer:
    """Units packed into the travel bag, or unpacked from it.

    Attributes:
        to: where they lie from then on.
    """

    id: str
    at: datetime
    item_code: str
    units: int
    to: Place
    lot: str = ""

    def __post_init__(self) -> None:
        _require_goods(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongDelivery:
    """Goods that came by mistake: at home, and no stock, until they leave or are kept.

    Attributes:
        what: what it is, in words; it need not be an item of the household.
        order_id: the order in whose place it came, if known. The order's own goods are
            still to come.
    """

    id: str
    at: datetime
    what: str
    units: int
    lot: str = ""
    order_id: str | None = None

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("what", self.what, at_most=80)
        require_int("units", self.units, at_least=1, at_most=10_000, unit="units")


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongReturn:
    """Goods of one wrong delivery went back, or were disposed of.

    Attributes:
        units: how many; None for all that were left.
    """

    id: str
    at: datetime
    delivery_id: str
    units: int | None = None

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("delivery", self.delivery_id, at_most=64)
        if self.units is not None:
            require_int("units", self.units, at_least=1, at_most=10_000, unit="units")


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongKept:
    """Goods of one wrong delivery that stay after all, as units of one of our items.

    They are stock from then on. What was ordered in their place is still to come.
    """

    id: str
    at: datetime
    delivery_id: str
    item_code: str
    units: int
    lot: str = ""
    expires_on: date | None = None

    def __post_init__(self) -> None:
        _require_goods(self)
        require_text("delivery", self.delivery_id, at_most=64)
        _require_in_date(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reversal:
    """Takes back one earlier entry or session that was a mistake."""

    id: str
    at: datetime
    reverses_id: str

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("reverses", self.reverses_id, at_most=64)


ItemEntry = Receipt | Waste | Count | Recall | Departure | Transfer | WrongKept
"""Entries about one item of the household's catalogue."""
LeavingEntry = Waste | Departure | Transfer
"""Entries that need something to be there."""
StandingEntry = ItemEntry | WrongDelivery | WrongReturn
LedgerEntry = StandingEntry | Reversal
