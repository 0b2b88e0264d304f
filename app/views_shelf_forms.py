"""What the forms about the shelf show: labels, choices, and how a count differs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from app import wording
from planner.household import Household
from planner.ledger import Count, DifferenceCause, LeavingReason, Place
from planner.stock import shelf_at, shelf_on

LABELS = {
    "day": "Day",
    "time": "Time",
    "at": "Day and time",
    "received_at": "Day",
    "item": "Item",
    "units": "Number of units",
    "reason": "Reason",
    "where": "What happens",
    "lot": "Lot",
    "lines": "Lines",
    "order": "Order",
    "cause": "What happened",
    "goes": "What happens with them",
    "expires_on": "Use by",
    "twice": "The delivery",
    "excess": "The delivery",
    "lines[].item": "Item in line {n}",
    "lines[].units": "Units in line {n}",
    "lines[].lot": "Lot in line {n}",
    "lines[].expires_on": "Use-by date in line {n}",
    "wrong[].what": "What came by mistake ({n})",
    "wrong[].units": "How many came by mistake ({n})",
    "wrong[].lot": "Lot that came by mistake ({n})",
}
QUESTIONS = (("twice", "It came twice"), ("excess", "So many came"))
"""Asked about a delivery only when it looks like a slip."""

STANDS_FOR = {"at": "day", "received_at": "day"}

MOVE_CHOICES = (
    (Place.BAG.value, "Packed in the travel bag"),
    (Place.HOME.value, "Back from the travel bag"),
    (LeavingReason.CLINIC.value, "Taken to a clinic, and it stays there"),
    (LeavingReason.RETURNED.value, "Sent back to the supplier"),
    (LeavingReason.DISPOSED.value, "Disposed of: out of date or recalled"),
    (LeavingReason.GIVEN_AWAY.value, "Given away"),
)

WRONG_CHOICES = (
    ("left", "They have left: sent back or disposed of"),
    ("stays", "They stay, and we will use them"),
)

_FEWER = (
    (DifferenceCause.SESSIONS_NOT_WRITTEN, "A session is not written down yet"),
    (DifferenceCause.BOTTLE_LOST, "A bottle lost its vacuum, or something was dropped"),
    (DifferenceCause.TAKEN_ALONG, "Some were taken along or given away"),
    (DifferenceCause.NOT_KNOWN, "I do not know"),
)
_MORE = (
    (DifferenceCause.DELIVERY_NOT_ENTERED, "A delivery is not written down yet"),
    (DifferenceCause.NOT_KNOWN, "I do not know"),
)

NEXT_PAGES = {
    DifferenceCause.SESSIONS_NOT_WRITTEN: "sessions/new",
    DifferenceCause.BOTTLE_LOST: "shelf/waste",
    DifferenceCause.TAKEN_ALONG: "shelf/move",
    DifferenceCause.DELIVERY_NOT_ENTERED: "shelf/receive",
}
"""Where an answer leads, so that what happened can be written down as well."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownDifference:
    """How a count differs from the record, before it is saved.

    Attributes:
        seen: stands for exactly this difference; a form that sends it has shown it.
    """

    seen: str
    text: str
    choices: tuple[tuple[str, str], ...]


def difference(record: Household, code: str, units: int, now: datetime) -> ShownDifference | None:
    """How a count differs; None when it agrees, or when nothing was written down so far."""
    written = any(getattr(one, "item_code", "") == code for one in record.valid_entries)
    recorded = shelf_at(record, now).home_units(code)
    if not written or units == recorded:
        return None
    kind = record.item(code).kind
    apart = abs(units - recorded)
    way = "fewer" if units < recorded else "more"
    text = (
        f"You counted {wording.units_text(units, kind)}. The record says "
        f"{wording.units_text(recorded, kind)}. That is {apart} {way}."
    )
    choices = _FEWER if units < recorded else _MORE
    return ShownDifference(
        seen=f"{code}|{units}|{recorded}",
        text=text,
        choices=tuple((cause.value, said) for cause, said in choices),
    )


def standing_count(record: Household, key: str) -> Count | None:
    """The count with this id, unless it was taken back."""
    counts = (one for one in record.valid_entries if isinstance(one, Count))
    return next((one for one in counts if one.id == key), None)


def apart(record: Household, count: Count) -> int:
    """By how many units a count differs from the record as it stands now. [units]"""
    found = shelf_on(record, count.at.date()).differences
    same = (one for one in found if (one.at, one.item_code) == (count.at, count.item_code))
    return next((abs(one.counted - one.recorded) for one in same), 0)


def entry_moment(day: date, now: datetime, count: Count | None) -> datetime:
    """When something happened of which only the day is known.

    Now for today, to the second, so that entries keep their order; noon for any other day. What
    explains a count happened before it, or it would be taken off twice.
    """
    moment = now if day == now.date() else datetime.combine(day, time(12, 0))
    if count is not None and day == count.at.date():
        return min(moment, count.at - timedelta(seconds=1))
    return moment
