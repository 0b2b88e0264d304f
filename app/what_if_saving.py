"""Making a supposed change so: which kinds can be written down, and by which service."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.errors import InvalidInput, NotFound
from app.services import WasteEntry, report_waste
from app.services_settings import set_closure, set_pause, set_regimen
from app.writing import Request, Saved
from planner.errors import Fault
from planner.household import Pause
from planner.what_if import (
    GoodsDamaged,
    HospitalStay,
    RegimenChange,
    SupplierClosed,
    Supposition,
    Travel,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeSo:
    """How a page offers to write down a change.

    Attributes:
        offer: what stands before the button.
        button: what stands on it.
        is_setting: it becomes a dated change of the settings, not an entry of the shelf.
    """

    offer: str
    button: str
    is_setting: bool = True


MADE_SO = {
    "travel": MadeSo(
        offer=(
            "Are you going? Then these days are written down as away. What you pack is written "
            "down when you pack it."
        ),
        button="Yes, we are going",
    ),
    "stay": MadeSo(
        offer="Is it so? Then these days are written down as away from home.",
        button="Yes, write it down",
    ),
    "supplier": MadeSo(
        offer="Is it so? Then these days are written down as closed.",
        button="Yes, write it down",
    ),
    "damage": MadeSo(
        offer="Has it happened? Then these goods are written down as lost.",
        button="Yes, write it down",
        is_setting=False,
    ),
    "plan": MadeSo(
        offer=(
            "Has your prescriber changed the plan? Then write their name in the form below, show "
            "it once more, and save it here. If nobody has, do not save it."
        ),
        button="Yes, my prescriber has changed the plan",
    ),
}
"""Kinds that can really be written down. The others stay questions."""


def make_so(request: Request, change: Supposition) -> Saved:
    """Write a supposed change down as it is.

    Raises:
        NotFound: when this kind of change is only ever supposed.
        InvalidInput: when it does not fit the record; field `ordered_by` when nobody is said
            to have changed the plan.
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
        case HospitalStay() | Travel():
            reason = "travel" if isinstance(change, Travel) else "hospital"
            days = Pause(starts_on=change.starts_on, ends_on=change.ends_on)
            return set_pause(request, replace(days, reason=reason))
        case SupplierClosed():
            return set_closure(request, change.closure)
        case RegimenChange():
            if not change.regimen.ordered_by:
                fix = "write who changed the plan; only a prescriber does"
                raise InvalidInput([Fault(field="ordered_by", value="empty", fix=fix)])
            return set_regimen(request, change.catheter_id, change.regimen)
        case _:
            raise NotFound
