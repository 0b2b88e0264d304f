"""Goods that leave, goods in the travel bag, and goods that came by mistake."""

from __future__ import annotations

from datetime import datetime

import pytest

from planner.errors import InvalidHousehold
from planner.household import Pause
from planner.ledger import (
    Count,
    Departure,
    LeavingEntry,
    LeavingReason,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Reversal,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.sessions import Session
from planner.stock import Shelf, shelf_at, shelf_on, units_that_can_go
from tests.builders import BOTTLE, KIT, TODAY, day, make_household, make_session, moment, receipt


def put(units: int, lot: str, expires: int | None, at: int = -30) -> Receipt:
    expires_on = None if expires is None else day(expires)
    return receipt(units, lot=lot, expires_on=expires_on, at=moment(at), id=f"{lot}{at}")


def leave(units: int, reason: LeavingReason, lot: str = "", at: int = -1) -> Departure:
    return Departure(id="d", at=moment(at), item_code=KIT, units=units, reason=reason, lot=lot)


def pack(units: int, lot: str = "", at: int = -5) -> Transfer:
    return Transfer(
        id=f"pack{at}", at=moment(at), item_code=KIT, units=units, to=Place.BAG, lot=lot
    )


def unpack(units: int, lot: str = "", at: int = -1) -> Transfer:
    return Transfer(
        id=f"unpack{at}", at=moment(at), item_code=KIT, units=units, to=Place.HOME, lot=lot
    )


def shelf(
    *entries: LedgerEntry, sessions: tuple[Session, ...] = (), pauses: tuple[Pause, ...] = ()
) -> Shelf:
    home = make_household(ledger=entries, sessions=sessions, pauses=pauses)
    return shelf_on(home, TODAY)


def lots(found: Shelf, place: Place = Place.HOME) -> dict[str, int]:
    return {one.lot: one.units for one in found.lots_of(KIT, place)}


GOODS = (put(4, "soon", 10), put(4, "late", 90), put(3, "old", -10), put(2, "back", 90))
RECALL = Recall(id="k", at=moment(-9), item_code=KIT, lot="back")


def test_expired_and_recalled_goods_go_back_first() -> None:
    found = shelf(*GOODS, RECALL, leave(5, LeavingReason.RETURNED))
    assert lots(found) == {"soon": 4, "late": 4}
    assert (found.expired_units(KIT), found.recalled_units(KIT)) == (0, 0)


def test_disposal_names_its_lot_and_touches_no_other() -> None:
    found = shelf(*GOODS, RECALL, leave(2, LeavingReason.DISPOSED, lot="back"))
    assert lots(found) == {"old": 3, "soon": 4, "late": 4}


def test_what_goes_to_the_clinic_is_usable_and_soonest_to_expire() -> None:
    found = shelf(*GOODS, RECALL, leave(6, LeavingReason.CLINIC))
    assert lots(found) == {"old": 3, "late": 2, "back": 2}
    assert found.missing == {}


def test_the_bag_takes_the_soonest_dates_and_gives_back_what_it_took() -> None:
    packed = shelf(*GOODS, RECALL, pack(6))
    assert lots(packed, Place.BAG) == {"soon": 4, "late": 2}
    assert (packed.usable_units(KIT), packed.away_units(KIT)) == (2, 6)
    assert shelf(*GOODS, RECALL, pack(6), unpack(6)).lots == shelf(*GOODS, RECALL).lots


def test_the_bag_cannot_take_what_is_not_there() -> None:
    found = shelf(put(2, "A", 90), pack(5), unpack(5))
    assert (found.usable_units(KIT), found.away_units(KIT), found.missing) == (2, 0, {})


def test_each_unit_is_told_apart_once_in_the_bag_as_well() -> None:
    goods = (put(4, "soon", -1), put(4, "late", 90), put(2, "back", 90))
    later = Recall(id="k", at=moment(-2), item_code=KIT, lot="back")
    found = shelf(*goods, pack(4), pack(2, lot="back", at=-4), later)
    parts = (
        found.usable_units(KIT),
        found.away_units(KIT),
        found.expired_units(KIT),
        found.recalled_units(KIT),
    )
    assert parts == (4, 0, 4, 2)


def test_a_session_on_a_day_away_uses_the_bag_and_otherwise_the_shelf() -> None:
    trip = Pause(starts_on=day(-4), ends_on=day(-2))
    sessions = (make_session(moment(-3)), make_session(moment(-1)))
    found = shelf(put(10, "A", 90), pack(3), sessions=sessions, pauses=(trip,))
    assert (found.usable_units(KIT), found.away_units(KIT)) == (6, 2)


def test_a_session_takes_from_the_bag_when_nothing_is_left_at_home() -> None:
    found = shelf(put(3, "A", 90), pack(3), sessions=(make_session(moment(-1)),))
    assert (found.usable_units(KIT), found.away_units(KIT), found.missing) == (0, 2, {})


def test_a_count_at_home_leaves_the_bag_alone() -> None:
    count = Count(id="c", at=moment(-1), item_code=KIT, units=5)
    found = shelf(put(10, "A", 90), pack(3), count)
    assert (found.usable_units(KIT), found.away_units(KIT)) == (5, 3)
    (difference,) = found.differences
    assert (difference.recorded, difference.counted) == (7, 5)


def test_a_wrong_delivery_is_here_until_it_goes_back_and_never_stock() -> None:
    wrong = WrongDelivery(id="x", at=moment(-5), what="One litre bottle", units=8)
    found = shelf(put(3, "A", 90), wrong)
    assert found.wrong_goods == (wrong,)
    assert sum(one.units for one in found.lots) == 3
    gone = WrongReturn(id="y", at=moment(-2), delivery_id="x")
    assert shelf(put(3, "A", 90), wrong, gone).wrong_goods == ()


def test_a_part_of_wrong_goods_stays_and_a_part_leaves() -> None:
    wrong = WrongDelivery(id="x", at=moment(-5), what="Half litre kits", units=8)
    kept = WrongKept(
        id="z", at=moment(-3), delivery_id="x", item_code=KIT, units=5, lot="W", expires_on=day(50)
    )
    gone = WrongReturn(id="y", at=moment(-2), delivery_id="x", units=2)
    found = shelf(put(3, "A", 90), wrong, kept, gone)
    assert [(one.id, one.units) for one in found.wrong_goods] == [("x", 1)]
    assert found.usable_units(KIT) == 8
    assert [(one.lot, one.units) for one in found.usable_lots(KIT)] == [("W", 5), ("A", 3)]
    back = Reversal(id="v", at=moment(-1), reverses_id="z")
    undone = shelf(put(3, "A", 90), wrong, kept, gone, back)
    assert ([one.units for one in undone.wrong_goods], undone.usable_units(KIT)) == ([6], 3)


def test_no_more_wrong_goods_are_kept_than_came() -> None:
    wrong = WrongDelivery(id="x", at=moment(-5), what="Half litre kits", units=4)
    gone = WrongReturn(id="y", at=moment(-4), delivery_id="x", units=3)
    kept = WrongKept(id="z", at=moment(-3), delivery_id="x", item_code=KIT, units=5)
    found = shelf(put(3, "A", 90), wrong, gone, kept)
    assert (found.wrong_goods, found.usable_units(KIT)) == ((), 4)
    back = Reversal(id="v", at=moment(-1), reverses_id="x")
    assert shelf(put(3, "A", 90), wrong, kept, back).usable_units(KIT) == 3


def test_kept_goods_of_a_recalled_lot_are_not_used() -> None:
    wrong = WrongDelivery(id="x", at=moment(-5), what="Half litre kits", units=4)
    recall = Recall(id="k", at=moment(-4), item_code=KIT, lot="W")
    kept = WrongKept(id="z", at=moment(-3), delivery_id="x", item_code=KIT, units=4, lot="W")
    found = shelf(put(3, "A", 90), wrong, recall, kept)
    assert (found.usable_units(KIT), found.recalled_units(KIT)) == (3, 4)


def test_a_wrong_return_of_nothing_is_refused_by_name() -> None:
    with pytest.raises(InvalidHousehold, match=r"wrongreturn\)\.delivery is x9: no such wrong"):
        make_household(ledger=(WrongReturn(id="y", at=moment(-2), delivery_id="x9"),))


WASTE = Waste(id="w", at=moment(-1), item_code=KIT, units=1, reason="torn")


@pytest.mark.parametrize(
    ("entry", "most"),
    [
        (WASTE, 13),
        (Waste(id="w", at=moment(-1), item_code=KIT, units=1, reason="torn", lot="late"), 4),
        (Waste(id="w", at=moment(-1), item_code=KIT, units=1, reason="torn", lot="none"), 0),
        (Waste(id="w", at=moment(-1), item_code=BOTTLE, units=1, reason="torn"), 0),
        (Waste(id="w", at=moment(-31), item_code=KIT, units=1, reason="torn"), 0),
        (leave(1, LeavingReason.RETURNED), 10),
        (leave(1, LeavingReason.DISPOSED, lot="old"), 3),
        (leave(1, LeavingReason.CLINIC), 5),
        (leave(1, LeavingReason.GIVEN_AWAY, lot="old"), 0),
        (pack(1, at=-1), 5),
        (unpack(1), 3),
        (unpack(1, lot="late"), 0),
    ],
)
def test_how_much_can_go_depends_on_where_it_goes(entry: LeavingEntry, most: int) -> None:
    home = make_household(ledger=(*GOODS, RECALL, pack(3, lot="soon")), sessions=())
    assert units_that_can_go(home, entry) == most


def test_the_shelf_at_a_moment_knows_what_was_written_for_that_very_moment() -> None:
    home = make_household(ledger=(put(4, "A", 90, at=-3),), sessions=())
    assert shelf_at(home, moment(-3)).usable_units(KIT) == 4
    earlier = datetime.combine(day(-3), moment(-3).time().replace(hour=8))
    assert shelf_at(home, earlier).usable_units(KIT) == 0
