"""Kits of other sizes that fit a catheter: which a household may name, and in what order they go.

One kit is ordered; others may lie on the shelf as well, left over or sent instead. Of all kits
that fit, the first to expire is opened first, whatever its size. Of kits without a date, or with
the same date, the others go before the ordered one, in the order in which they are named.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Protocol

from planner.errors import Fault, InvalidValue
from planner.items import HOLDS_A_BOTTLE, ItemKind, SupplyItem
from planner.sessions import BottleUse

OTHER_KITS = "other_kits"
"""What the field is called in files and faults."""


class UsesKits(Protocol):
    """Whatever opens kits: a catheter."""

    @property
    def kit_code(self) -> str:
        """The kit that is ordered."""

    @property
    def bottle_code(self) -> str | None:
        """The loose bottle opened when one is full; None when a further kit is."""

    @property
    def other_kit_codes(self) -> tuple[str, ...]:
        """Further kits that fit."""


def in_order_of_use(one: UsesKits) -> tuple[str, ...]:
    """Codes of all kits that fit, as they go where their dates do not decide."""
    return (*one.other_kit_codes, one.kit_code)


def others_on_shelf(catheters: Iterable[UsesKits]) -> tuple[str, ...]:
    """Codes of the other kits that serve catheters of one shelf, each once, in their order."""
    return tuple(dict.fromkeys(code for one in catheters for code in one.other_kit_codes))


def require_others(kit_code: str, other_kit_codes: Sequence[str]) -> None:
    """Refuse the ordered kit among the others, and a kit named twice.

    Raises:
        InvalidValue: field `other_kits`.
    """
    if kit_code in other_kit_codes:
        fix = "it is the kit that is ordered; name other kits only"
        raise InvalidValue(OTHER_KITS, kit_code, fix)
    for n, code in enumerate(other_kit_codes):
        if code in other_kit_codes[:n]:
            raise InvalidValue(OTHER_KITS, code, "it is named twice; name each kit once")


def other_kit_faults(
    catheters: Sequence[UsesKits], kinds: Mapping[str, ItemKind]
) -> Iterator[Fault]:
    """Faults of the other kits that show only beside the catalogue and the other catheters.

    A kit belongs to one shelf, so it cannot fit two catheters that order different kits.

    Args:
        catheters: all of a household's, in their order.
        kinds: kind of every item in its catalogue, by code.
    """
    for n, one in enumerate(catheters, 1):
        for code in one.other_kit_codes:
            naming = [each for each in catheters if code in each.other_kit_codes]
            if kinds.get(code, ItemKind.KIT) is not ItemKind.KIT:
                fix = "name a kit"
            elif any(each.kit_code == code for each in catheters):
                fix = "another catheter orders this kit; leave it out here"
            elif any(each.kit_code != one.kit_code for each in naming):
                fix = "a catheter that orders another kit names it too; keep it with one of them"
            else:
                continue
            yield Fault(field=OTHER_KITS, value=code, fix=fix, place=f"catheters[{n}]")


def bottle_faults(
    bottle: BottleUse,
    one: UsesKits,
    items: Mapping[str, SupplyItem],
    place: str,
    *,
    is_first: bool,
) -> Iterator[Fault]:
    """Faults of one bottle of a session: no bottle at all, or more in it than it holds.

    A bottle that names no item may have come from any kit that fits.
    """
    if bottle.item_code is not None:
        codes: tuple[str, ...] = (bottle.item_code,)
    elif is_first or one.bottle_code is None:
        codes = in_order_of_use(one)
    else:
        codes = (one.bottle_code,)
    meant = [items[code] for code in codes if code in items]
    for item in meant:
        if item.kind not in HOLDS_A_BOTTLE:
            yield Fault(field="item", value=item.code, fix="it holds no bottle", place=place)
            return
    largest = max(meant, key=lambda item: item.bottle_ml, default=None)
    if largest is not None and bottle.volume_ml > largest.bottle_ml:
        yield overfull_fault(bottle, largest, place)


def overfull_fault(bottle: BottleUse, item: SupplyItem, place: str) -> Fault:
    """The fault of a bottle that is said to hold more than a bottle of this item does."""
    fix = (
        f"a bottle of {item.code} holds {item.bottle_ml} mL; "
        "split the volume over the bottles that were used"
    )
    return Fault(field="volume_ml", value=str(bottle.volume_ml), fix=fix, place=place)
