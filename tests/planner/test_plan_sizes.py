"""A plan of a shelf with kits of another size: they are supply, and are never ordered."""

from __future__ import annotations

from functools import cache

from planner.ledger import LedgerEntry
from planner.plan import make_plan
from planner.results import ItemOnHand, Plan, ReasonCode
from tests.builders import (
    KIT,
    TODAY,
    day,
    make_household,
    make_kit,
    make_order,
    moment,
    receipt,
    sessions_every,
)

LARGE = "KIT-1000"
TWIN = "KIT-500-OLD"
ITEMS = (
    make_kit(),
    make_kit(code=LARGE, name="Drainage kit, litre", capacity_ml=1000),
    make_kit(code=TWIN, name="Drainage kit, half litre, older", capacity_ml=500),
)


def planned(
    *goods: LedgerEntry,
    kit: str = LARGE,
    others: tuple[str, ...] = (KIT,),
    ordered: str | None = None,
    **settings: object,
) -> Plan:
    household = make_household(
        items=ITEMS,
        sessions=sessions_every(1, 30, 400, 460, 430),
        ledger=goods,
        catheter={"kit_code": kit, "other_kit_codes": others},
        orders=(make_order([(ordered, 1)]),) if ordered else (),
        settings={"horizon_days": 60, **settings},
    )
    return make_plan(household, TODAY)


def later(units: int, code: str, expires: int | None = None) -> LedgerEntry:
    """Goods that came after all recorded sessions."""
    expires_on = None if expires is None else day(expires)
    return receipt(units, code, id=f"{code}/{expires}", at=moment(0, hour=0), expires_on=expires_on)


def here(one: Plan, code: str) -> ItemOnHand:
    return next(item for item in one.on_hand if item.item_code == code)


@cache
def plain() -> Plan:
    return planned(*_used_up(), later(20, LARGE), others=())


def _used_up() -> tuple[LedgerEntry, ...]:
    """What the recorded sessions opened, all of the ordered kit."""
    return (receipt(30, LARGE),)


def test_kits_of_every_size_count_as_supply_at_home() -> None:
    mixed = planned(*_used_up(), later(20, LARGE), later(8, KIT))
    shelf = mixed.shelves[0]
    assert (shelf.kit_code, shelf.other_kit_codes) == (LARGE, (KIT,))
    assert (shelf.usable_kits, plain().shelves[0].usable_kits) == (28, 20)
    assert (here(mixed, KIT).usable, here(mixed, LARGE).usable) == (8, 20)
    with_them, without = mixed.run_out.expected_days, plain().run_out.expected_days
    assert with_them is not None
    assert without is not None
    assert with_them > without


def test_kits_of_the_same_size_under_another_name_change_no_date() -> None:
    used = receipt(30, KIT)
    one = planned(used, later(20, KIT), kit=KIT, others=(TWIN,))
    two = planned(used, later(12, KIT), later(8, TWIN), kit=KIT, others=(TWIN,))
    assert two.run_out == one.run_out
    assert two.order == one.order
    assert two.shelves[0].usable_kits == one.shelves[0].usable_kits


def test_they_are_never_ordered_even_where_nothing_else_is_left() -> None:
    bare = planned(*_used_up(), later(12, KIT))
    assert {line.item_code for line in bare.order.lines} == {LARGE}
    assert (here(bare, LARGE).usable, bare.shelves[0].usable_kits) == (0, 12)


def test_another_kit_on_its_way_is_counted_on_only_if_it_holds_as_much() -> None:
    used = receipt(30, KIT)
    coming = {
        code: planned(used, later(8, KIT), kit=KIT, others=(TWIN, LARGE), ordered=code)
        for code in (KIT, TWIN, LARGE)
    }
    expected = coming[KIT].run_out_with_coming
    at_home = coming[KIT].run_out.expected_days
    assert at_home is not None
    assert expected.expected_days is not None
    assert expected.expected_days > at_home
    assert coming[TWIN].run_out_with_coming == coming[LARGE].run_out_with_coming == expected
    smaller = planned(*_used_up(), later(8, LARGE), ordered=KIT)
    assert smaller.run_out_with_coming == smaller.run_out


def test_what_passes_its_date_is_told_by_item() -> None:
    many = planned(*_used_up(), later(20, LARGE), later(30, KIT, 9))
    assert here(many, KIT).expiring_before_use > 5
    assert here(many, LARGE).expiring_before_use == 0
    said = [one.facts["item"] for one in many.reasons if one.code is ReasonCode.EXPIRES_BEFORE_USE]
    assert said == [KIT]


def test_dated_kits_of_two_sizes_share_what_passes_its_date() -> None:
    both = planned(*_used_up(), later(20, LARGE, 9), later(20, KIT, 9))
    alone = planned(*_used_up(), later(20, LARGE, 9), later(20, TWIN, 9), others=(TWIN,))
    for one, other in ((both, KIT), (alone, TWIN)):
        assert here(one, other).expiring_before_use == here(one, LARGE).expiring_before_use > 5


def test_they_take_up_room_at_home() -> None:
    roomy = planned(*_used_up(), later(6, LARGE), later(8, KIT))
    assert roomy.reason(ReasonCode.NO_ROOM_AT_HOME) is None
    units = sum(line.units for line in roomy.order.lines)
    with_them = planned(*_used_up(), later(6, LARGE), later(8, KIT), most_units_at_home=units)
    reason = with_them.reason(ReasonCode.NO_ROOM_AT_HOME)
    assert reason is not None
    assert sum(line.units for line in with_them.order.lines) < units
