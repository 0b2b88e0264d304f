"""The shelf ledger: what a person writes down and what then lies there."""

from __future__ import annotations

from datetime import date

import pytest

from planner.errors import InvalidHousehold, InvalidValue
from planner.ledger import Count, LedgerEntry, Recall, Receipt, Reversal, Waste
from planner.sessions import BottleUse, Session
from planner.stock import Shelf, shelf_on
from tests.builders import (
    BOTTLE,
    KIT,
    TODAY,
    day,
    make_household,
    make_session,
    moment,
    receipt,
)


def shelf(
    *entries: LedgerEntry, sessions: tuple[Session, ...] = (), on: date = TODAY, loose: bool = False
) -> Shelf:
    catheter = {"bottle_code": BOTTLE} if loose else {}
    return shelf_on(make_household(ledger=entries, sessions=sessions, catheter=catheter), on)


def lots_left(found: Shelf, item: str = KIT) -> dict[str, int]:
    return {lot.lot: lot.units for lot in found.lots if lot.item_code == item}


def put(units: int, lot: str, expires: int | None, item: str = KIT, at: int = -30) -> Receipt:
    expires_on = None if expires is None else day(expires)
    return receipt(
        units, item, lot=lot, expires_on=expires_on, at=moment(at), id=f"{item}{lot}{at}"
    )


def test_first_expired_goes_first_and_undated_last() -> None:
    sessions = tuple(make_session(moment(-n)) for n in range(1, 4))
    found = shelf(
        put(2, "undated", None), put(2, "late", 90), put(2, "soon", 20), sessions=sessions
    )
    assert lots_left(found) == {"late": 1, "undated": 2}


def test_a_use_by_date_is_the_last_day_of_use() -> None:
    goods = put(3, "A", 0)
    assert shelf(goods).usable_units(KIT) == 3
    tomorrow = shelf(goods, on=day(1))
    assert (tomorrow.usable_units(KIT), tomorrow.expired_units(KIT)) == (0, 3)


def test_further_bottles_are_loose_ones_until_they_are_gone_and_then_kits() -> None:
    sessions = tuple(make_session(moment(-n), 500, 200) for n in range(1, 4))
    found = shelf(put(10, "", None), put(2, "", None, BOTTLE), sessions=sessions, loose=True)
    assert (found.usable_units(KIT), found.usable_units(BOTTLE)) == (10 - 4, 0)


def test_an_expired_loose_bottle_is_not_opened_when_a_kit_is_there() -> None:
    found = shelf(
        put(5, "", None),
        put(2, "", -10, BOTTLE),
        sessions=(make_session(moment(-1), 500, 200),),
        loose=True,
    )
    assert (found.usable_units(KIT), found.expired_units(BOTTLE)) == (3, 2)


def test_a_bottle_that_names_its_item_is_taken_at_its_word() -> None:
    uses = (BottleUse(volume_ml=500), BottleUse(volume_ml=100, item_code=KIT))
    found = shelf(
        put(5, "", None),
        put(2, "", None, BOTTLE),
        sessions=(make_session(moment(-1), bottles=uses),),
        loose=True,
    )
    assert (found.usable_units(KIT), found.usable_units(BOTTLE)) == (3, 2)


def test_a_recall_reaches_goods_there_and_goods_that_come_later() -> None:
    recall = Recall(id="recall", at=moment(-10), item_code=KIT, lot="A")
    found = shelf(put(4, "A", 90), put(5, "B", 90), recall, put(6, "A", 90, at=-3))
    assert (found.usable_units(KIT), found.recalled_units(KIT)) == (5, 10)


def test_a_recall_concerns_one_item_and_one_lot() -> None:
    recall = Recall(id="recall", at=moment(-10), item_code=BOTTLE, lot="A")
    found = shelf(put(4, "A", 90), recall)
    assert (found.usable_units(KIT), found.recalled_units(KIT)) == (4, 0)


def test_what_was_used_without_being_there_is_said_and_a_count_clears_it() -> None:
    sessions = tuple(make_session(moment(-n)) for n in range(2, 7))
    short = shelf(put(3, "", None), sessions=sessions)
    assert (short.usable_units(KIT), short.missing) == (0, {KIT: 2})
    count = Count(id="count", at=moment(-1), item_code=KIT, units=7)
    counted = shelf(put(3, "", None), count, sessions=sessions)
    assert (counted.usable_units(KIT), counted.missing) == (7, {})


def test_units_found_by_a_count_expire_with_the_soonest_known_lot() -> None:
    count = Count(id="count", at=moment(-1), item_code=KIT, units=6)
    found = shelf(put(2, "A", 30), put(2, "B", 60), count)
    assert found.usable_units(KIT) == 6
    assert shelf(put(2, "A", 30), put(2, "B", 60), count, on=day(31)).usable_units(KIT) == 2


def test_a_count_that_agrees_is_no_difference() -> None:
    count = Count(id="count", at=moment(-1), item_code=KIT, units=4)
    found = shelf(put(4, "", None), count)
    assert found.differences == ()
    assert found.counted_items == {KIT}


def test_a_named_lot_is_thrown_away_first() -> None:
    waste = Waste(id="w", at=moment(-1), item_code=KIT, units=3, reason="torn", lot="late")
    found = shelf(put(4, "soon", 10), put(2, "late", 90), waste)
    assert lots_left(found) == {"soon": 3}


@pytest.mark.parametrize("what", ["kits", "s1", "waste", "count", "recall"])
def test_a_reversal_takes_back_exactly_one_entry(what: str) -> None:
    entries: dict[str, LedgerEntry] = {
        "kits": receipt(10, id="kits", at=moment(-30), lot="A"),
        "waste": Waste(id="waste", at=moment(-9), item_code=KIT, units=2, reason="torn"),
        "count": Count(id="count", at=moment(-5), item_code=KIT, units=3),
        "recall": Recall(id="recall", at=moment(-4), item_code=KIT, lot="A"),
    }
    session = make_session(moment(-8), id="s1")
    reversal = Reversal(id="x", at=moment(-1), reverses_id=what)
    reversed_ = shelf(*entries.values(), reversal, sessions=(session,))
    kept = [entry for key, entry in entries.items() if key != what]
    never = shelf(*kept, sessions=() if what == "s1" else (session,))
    assert reversed_ == never


def test_a_reversal_of_nothing_is_refused_by_name() -> None:
    reversal = Reversal(id="x", at=moment(-1), reverses_id="s99")
    with pytest.raises(InvalidHousehold, match="s99"):
        make_household(ledger=(reversal,))


def test_the_shelf_of_an_earlier_day_knows_nothing_of_later_ones() -> None:
    sessions = (make_session(moment(-2)),)
    assert shelf(put(5, "", None), sessions=sessions, on=day(-3)).usable_units(KIT) == 5


def test_goods_cannot_be_expired_when_they_arrive() -> None:
    with pytest.raises(InvalidValue, match="expires_on is 2026-01-01"):
        receipt(3, at=moment(0), expires_on=date(2026, 1, 1))
