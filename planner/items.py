"""Supply items: what lies on the shelf and what one unit of it contains."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.errors import InvalidValue, require_int, require_text


class ItemKind(StrEnum):
    """What a supply item is.

    A kit holds one vacuum bottle and one dressing pack. A bottle is a loose vacuum
    bottle without dressing pack.
    """

    KIT = "kit"
    BOTTLE = "bottle"
    DRESSING = "dressing"
    OTHER = "other"


HOLDS_A_BOTTLE = (ItemKind.KIT, ItemKind.BOTTLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyItem:
    """One line of the catalogue.

    Attributes:
        code: the supplier's or agency's own item code.
        name: what people call it.
        kind: kit, loose bottle, dressing pack or other.
        capacity_ml: bottle capacity for kits and bottles, else None. Usual sizes are
            500 and 1000 mL (common practice, no source), 600 mL was used in a trial
            (ClinicalTrials.gov NCT00978939), so any size is allowed. [mL]
        units_per_box: how many single units one box holds.
    """

    code: str
    name: str
    kind: ItemKind
    capacity_ml: int | None = None
    units_per_box: int = 1

    def __post_init__(self) -> None:
        require_text("code", self.code, at_most=40)
        require_text("name", self.name)
        require_int("units_per_box", self.units_per_box, at_least=1, at_most=500, unit="units")
        if self.kind in HOLDS_A_BOTTLE:
            if self.capacity_ml is None:
                fix = "a kit or bottle needs its bottle capacity, for example 500"
                raise InvalidValue("capacity_ml", self.capacity_ml, fix)
            require_int("capacity_ml", self.capacity_ml, at_least=50, at_most=5000, unit="mL")
        elif self.capacity_ml is not None:
            fix = "only kits and bottles have a capacity; leave it out"
            raise InvalidValue("capacity_ml", self.capacity_ml, fix)

    @property
    def bottle_ml(self) -> int:
        """Capacity of the bottle this item holds. [mL]

        Raises:
            InvalidValue: when the item holds no bottle.
        """
        if self.capacity_ml is None:
            raise InvalidValue("capacity_ml", self.capacity_ml, f"{self.code} holds no bottle")
        return self.capacity_ml
