"""Making a supposed change so: which kinds can be written down, and by which service."""

from __future__ import annotations

from dataclasses import dataclass

from app.errors import NotFound
from app.services import WasteEntry, report_waste
from app.writing import Request, Saved
from planner.what_if import GoodsDamaged, Supposition


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeSo:
    """How a page offers to write down a change.

    Attributes:
        offer: what stands before the button.
        button: what stands on it.
        done: code of the sentence shown afterwards.
    """

    offer: str
    button: str
    done: str


MADE_SO = {
    "damage": MadeSo(
        offer="Has it happened? Then these goods are written down as lost.",
        button="Yes, write it down",
        done="waste",
    ),
}
"""Kinds that can really be written down. The others stay questions."""


def make_so(request: Request, change: Supposition) -> Saved:
    """Write a supposed change down as it is.

    Raises:
        NotFound: when this kind of change is only ever supposed.
        InvalidInput: when it does not fit the record.
    """
    match change:
        case GoodsDamaged():
            entry = WasteEntry(
                at=request.now,
                item_code=change.item_code,
                units=change.units,
                reason="damaged",
                lot=change.lot,
            )
            return report_waste(request, entry)
        case _:
            raise NotFound
