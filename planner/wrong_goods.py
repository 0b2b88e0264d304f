"""Goods that came by mistake, until they leave or are kept."""

from __future__ import annotations

from dataclasses import replace

from planner.ledger import WrongDelivery, WrongKept, WrongReturn


class WrongGoods:
    """What is here of each wrong delivery, its entries taken in order of time."""

    def __init__(self) -> None:
        self._here: dict[str, WrongDelivery] = {}

    @property
    def here(self) -> tuple[WrongDelivery, ...]:
        """Wrong deliveries with the units that neither left nor were kept."""
        return tuple(self._here.values())

    def apply(self, entry: WrongDelivery | WrongReturn | WrongKept) -> WrongKept | None:
        """Take one entry in.

        Returns:
            What of the goods becomes stock: never more than there was.
        """
        match entry:
            case WrongDelivery():
                self._here[entry.id] = entry
            case WrongReturn():
                self._take(entry.delivery_id, entry.units)
            case WrongKept():
                units = self._take(entry.delivery_id, entry.units)
                return replace(entry, units=units) if units else None
        return None

    def _take(self, delivery_id: str, units: int | None) -> int:
        """Take units of a wrong delivery, None for all; how many there were to take."""
        here = self._here.pop(delivery_id, None)
        if here is None:
            return 0
        taken = here.units if units is None else min(units, here.units)
        if taken < here.units:
            self._here[delivery_id] = replace(here, units=here.units - taken)
        return taken
