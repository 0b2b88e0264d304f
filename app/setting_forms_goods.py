"""Forms about goods: items, which of them a catheter uses, and amounts allowed."""

from __future__ import annotations

from app.changes import Parts, Subject
from app.errors import NotFound, as_input
from app.forms import FormReader
from app.services_settings import set_authorized, set_fields
from app.setting_fields import (
    STARTS_ON,
    Choices,
    Field,
    as_text,
    chosen,
    first_day,
    needed,
)
from app.writing import Request, Saved
from planner.fitting_kits import OTHER_KITS, require_others
from planner.household import Catheter
from planner.items import HOLDS_A_BOTTLE, ItemKind, SupplyItem
from planner.supply import AuthorizedQuantity

_KINDS = (
    (ItemKind.KIT.value, "Kit: one bottle with its dressing pack"),
    (ItemKind.BOTTLE.value, "Loose bottle"),
    (ItemKind.DRESSING.value, "Dressing pack"),
    (ItemKind.OTHER.value, "Something else"),
)


def item_fields(_parts: Parts, key: str) -> tuple[Field, ...]:
    """An item; its kind and its bottle stay what they are."""
    new = (
        Field(kind="radio", name="kind", label="What is it?", short="Kind", choices=_KINDS),
        Field(
            kind="number",
            name="capacity_ml",
            label="How much does its bottle hold, in mL?",
            short="Bottle size",
            hint="It is printed on the bottle. Leave it empty where there is no bottle.",
        ),
        Field(
            kind="text",
            name="code",
            label="The supplier's number for it",
            short="Number",
            hint="It may stay empty.",
        ),
    )
    return (
        Field(kind="text", name="name", label="What do you call it?", short="Name"),
        *(() if key else new),
        Field(
            kind="number",
            name="units_per_box",
            label="How many single pieces are in a box?",
            short="Pieces in a box",
        ),
        *((STARTS_ON,) if key else (Field(kind="hidden", name="starts_on"),)),
    )


def item_values(parts: Parts, key: str) -> dict[str, str]:
    """The item with this code; empty for a new one."""
    if not key:
        return {"name": "", "kind": ItemKind.KIT.value, "capacity_ml": "", "units_per_box": ""}
    known = _item(parts, key)
    return {"name": known.name, "units_per_box": str(known.units_per_box)}


def save_item(request: Request, reader: FormReader, parts: Parts, key: str) -> Saved:
    """Add an item, or change its name or its box."""
    name = needed(reader, "name", "write a name")
    per_box = reader.whole("units_per_box", unit="pieces", example=10, default=1)
    if key:
        _item(parts, key)
        starts_on = first_day(reader)
        values = {"name": name, "units_per_box": per_box}
        return set_fields(request, Subject.ITEM, values, starts_on=starts_on, target=key)
    kind = chosen(reader, "kind", _KINDS)
    capacity_ml = reader.optional_whole("capacity_ml", unit="mL", example=500)
    code = reader.short("code", at_most=40) or _new_code(parts)
    if code in parts.items:
        reader.fault("code", "an item with this number is there already")
    starts_on = first_day(reader)
    with as_input():
        item = SupplyItem(
            code=code,
            name=name,
            kind=ItemKind(kind),
            capacity_ml=capacity_ml if ItemKind(kind) in HOLDS_A_BOTTLE else None,
            units_per_box=per_box,
        )
    values = {
        "code": item.code,
        "name": item.name,
        "kind": item.kind,
        "capacity_ml": item.capacity_ml,
        "units_per_box": item.units_per_box,
    }
    return set_fields(request, Subject.ITEM, values, starts_on=starts_on, target=code)


def _item(parts: Parts, key: str) -> SupplyItem:
    if key not in parts.items:
        raise NotFound
    return parts.items[key]


def _new_code(parts: Parts) -> str:
    numbers = (f"ITEM-{n}" for n in range(1, len(parts.items) + 2))
    return next(one for one in numbers if one not in parts.items)


def goods_fields(parts: Parts, _key: str) -> tuple[Field, ...]:
    """Which kit is ordered, which others fit, and which loose bottle a catheter uses."""
    kits = _of_kind(parts, ItemKind.KIT)
    others = Field(
        kind="ticks",
        name=OTHER_KITS,
        label="Which other kits fit as well?",
        short="Other kits",
        hint="Tick kits that you still have and use up. They are never ordered. The kit with the "
        "soonest date is used first, whatever its size. With no date, or the same date, these "
        "go before the kit you order.",
        choices=kits,
    )
    return (
        Field(
            kind="choice",
            name="kit_code",
            label="Which kit do you order?",
            short="Kit",
            choices=kits,
        ),
        *((others,) if len(kits) > 1 else ()),
        Field(
            kind="choice",
            name="bottle_code",
            label="What is opened when its bottle is full?",
            short="Loose bottle",
            choices=(("", "Another kit"), *_of_kind(parts, ItemKind.BOTTLE)),
        ),
        STARTS_ON,
    )


def goods_values(parts: Parts, key: str) -> dict[str, str]:
    """What the catheter uses now."""
    catheter = catheter_of(parts, key)
    ticked = {f"{OTHER_KITS}_{code}": "yes" for code in catheter.other_kit_codes}
    return {"kit_code": catheter.kit_code, "bottle_code": catheter.bottle_code or ""} | ticked


def save_goods(request: Request, reader: FormReader, parts: Parts, key: str) -> Saved:
    """Change what the catheter uses from a day on."""
    catheter = catheter_of(parts, key)
    kits = _of_kind(parts, ItemKind.KIT)
    kit = chosen(reader, "kit_code", kits)
    bottles = (("", ""), *_of_kind(parts, ItemKind.BOTTLE))
    bottle = chosen(reader, "bottle_code", bottles)
    starts_on = first_day(reader)
    ticked = [code for code, _ in kits if reader.text(f"{OTHER_KITS}_{code}")]
    # Those named before keep their order; what is ticked anew comes after them.
    named = [code for code in catheter.other_kit_codes if code in ticked]
    others = tuple(dict.fromkeys((*named, *ticked)))
    with as_input():
        require_others(kit, others)
    values = {"kit_code": kit, "other_kit_codes": others, "bottle_code": bottle or None}
    return set_fields(request, Subject.CATHETER, values, starts_on=starts_on, target=catheter.id)


def catheter_of(parts: Parts, key: str) -> Catheter:
    """The catheter with this id; without one the first.

    Raises:
        NotFound: when there is none.
    """
    key = key or next(iter(parts.catheters))
    if key not in parts.catheters:
        raise NotFound
    return parts.catheters[key]


def _of_kind(parts: Parts, kind: ItemKind) -> Choices:
    return tuple((one.code, one.name) for one in parts.items.values() if one.kind is kind)


def allowed_fields(parts: Parts, _key: str) -> tuple[Field, ...]:
    """How many units of an item may be had in a period."""
    return (
        Field(
            kind="choice",
            name="item_code",
            label="Which item?",
            short="Item",
            choices=tuple((one.code, one.name) for one in parts.items.values()),
        ),
        Field(
            kind="number",
            name="units",
            label="How many single pieces are allowed?",
            short="Number of pieces",
        ),
        Field(
            kind="number",
            name="per_days",
            label="In how many days?",
            short="Number of days",
            hint="A month is 30.",
        ),
        STARTS_ON,
    )


def allowed_values(parts: Parts, key: str) -> dict[str, str]:
    """The limit with this key; empty for a new one."""
    if not key:
        return {"item_code": next(iter(parts.items)), "units": "", "per_days": "30"}
    known = parts.authorized.get(key)
    if known is None:
        raise NotFound
    return {
        "item_code": known.item_code,
        "units": as_text(known.units),
        "per_days": as_text(known.per_days),
        "starts_on": known.starts_on.isoformat(),
    }


def save_allowed(request: Request, reader: FormReader, parts: Parts, key: str) -> Saved:
    """Write down or correct how much is allowed."""
    item = chosen(reader, "item_code", tuple((code, code) for code in parts.items))
    units = reader.whole("units", unit="pieces", example=30, default=1)
    per_days = reader.whole("per_days", unit="days", example=30, default=1)
    starts_on = first_day(reader)
    with as_input():
        limit = AuthorizedQuantity(
            item_code=item, units=units, per_days=per_days, starts_on=starts_on
        )
    return set_authorized(request, limit, key)
