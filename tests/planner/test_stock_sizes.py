"""Kits of several sizes on one shelf: which one a session opened."""

from __future__ import annotations

from datetime import date

from planner.household import Household, Pause
from planner.ledger import LedgerEntry, Place, Recall, Receipt, Transfer
from planner.sessions import BottleUse, Session
from planner.stock import Shelf, shelf_on
from tests.builders import (
    BOTTLE,
    KIT,
    TODAY,
    day,
    make_bottle,
    make_catheter,
    make_household,
    make_kit,
    make_session,
    moment,
    receipt,
)

LARGE = "KIT-1000"
MIDDLE = "KIT-700"
ITEMS = (
    make_kit(),
    make_bottle(),
    make_kit(code=LARGE, name="Drainage kit, litre", capacity_ml=1000),
    make_kit(code=MIDDLE, name="Drainage kit, 0.7 litre", capacity_ml=700),
)


def home(
    *entries: LedgerEntry,
    sessions: tuple[Session, ...] = (),
    others: tuple[str, ...] = (KIT,),
    kit: str = LARGE,
    loose: bool = False,
) -> Household:
    """A household that orders litre kits and has half-litre kits left over."""
    catheter = make_catheter(
        kit_code=kit, other_kit_codes=others, bottle_code=BOTTLE if loose else None
    )
    return make_household(items=ITEMS, catheters=(catheter,), ledger=entries, sessions=sessions)


def put(units: int, item: str, expires: int | None = None, **changes: object) -> Receipt:
    expires_on = None if expires is None else day(expires)
    whole = {"at": moment(-30), "id": f"{item}/{expires}", "expires_on": expires_on}
    return receipt(units, item, **{**whole, **changes})


def left(household: Household, on: date = TODAY) -> dict[str, int]:
    shelf = shelf_on(household, on)
    return {code: shelf.usable_units(code) for code in (KIT, MIDDLE, LARGE)}


def order_of(shelf: Shelf, kit: str, *others: str) -> list[tuple[str, int]]:
    return [(one.item_code, one.units) for one in shelf.kits_in_order(kit, others)]


def drained(*days_ago: int, ml: int = 300) -> tuple[Session, ...]:
    return tuple(make_session(moment(-n), ml) for n in days_ago)


def test_the_first_to_expire_is_opened_first_whatever_its_size() -> None:
    goods = (put(2, LARGE, 20), put(5, KIT, 60), put(5, LARGE, 90))
    assert left(home(*goods, sessions=drained(3, 2, 1))) == {KIT: 4, MIDDLE: 0, LARGE: 5}


def test_without_dates_the_others_go_first_in_the_order_of_their_names() -> None:
    goods = (put(5, LARGE), put(1, KIT), put(1, MIDDLE))
    for others, first in (((MIDDLE, KIT), MIDDLE), ((KIT, MIDDLE), KIT)):
        once = left(home(*goods, others=others, sessions=drained(1)))
        assert once == {KIT: 1, MIDDLE: 1, LARGE: 5} | {first: 0}
        thrice = left(home(*goods, others=others, sessions=drained(3, 2, 1)))
        assert thrice == {KIT: 0, MIDDLE: 0, LARGE: 4}


def test_the_same_date_is_no_date_and_a_date_goes_before_none() -> None:
    same = (put(5, LARGE, 30), put(1, KIT, 30))
    assert left(home(*same, sessions=drained(2, 1))) == {KIT: 0, MIDDLE: 0, LARGE: 4}
    dated = (put(1, LARGE, 30), put(5, KIT))
    assert left(home(*dated, sessions=drained(2, 1))) == {KIT: 4, MIDDLE: 0, LARGE: 0}


def test_what_has_expired_or_is_recalled_is_passed_over() -> None:
    goods = (put(5, LARGE), put(2, KIT, -10), put(2, MIDDLE, 50, lot="R"))
    recall = Recall(id="rc", at=moment(-5), item_code=MIDDLE, lot="R")
    found = home(*goods, recall, others=(KIT, MIDDLE), sessions=drained(2, 1))
    assert left(found) == {KIT: 0, MIDDLE: 0, LARGE: 3}
    assert shelf_on(found, TODAY).missing == {}


def test_each_session_goes_by_the_shelf_of_its_own_day() -> None:
    goods = (put(5, LARGE, at=moment(-30)), put(5, KIT, at=moment(-2, hour=7)))
    assert left(home(*goods, sessions=drained(4, 3, 1))) == {KIT: 4, MIDDLE: 0, LARGE: 3}


def test_further_bottles_follow_the_rule_where_there_are_no_loose_ones() -> None:
    goods = (put(5, LARGE), put(1, KIT))
    session = (make_session(moment(-1), 500, 200),)
    assert left(home(*goods, sessions=session)) == {KIT: 0, MIDDLE: 0, LARGE: 4}
    loose = home(*goods, put(3, BOTTLE), sessions=session, loose=True)
    assert left(loose) == {KIT: 0, MIDDLE: 0, LARGE: 5}
    assert shelf_on(loose, TODAY).usable_units(BOTTLE) == 2


def test_a_bottle_that_names_its_item_is_taken_at_its_word() -> None:
    goods = (put(5, LARGE), put(2, KIT))
    uses = (BottleUse(volume_ml=200, item_code=LARGE), BottleUse(volume_ml=100))
    named = make_session(moment(-1), bottles=uses)
    assert left(home(*goods, sessions=(named,))) == {KIT: 1, MIDDLE: 0, LARGE: 4}
    both = make_session(moment(-1), bottles=(BottleUse(volume_ml=200, item_code=KIT), uses[1]))
    assert left(home(*goods, sessions=(both,))) == {KIT: 0, MIDDLE: 0, LARGE: 5}


def test_a_volume_did_not_come_from_a_bottle_that_cannot_hold_it() -> None:
    goods = (put(5, LARGE), put(2, KIT), put(2, MIDDLE))
    found = home(*goods, others=(KIT, MIDDLE), sessions=drained(2, ml=900) + drained(1, ml=600))
    assert left(found) == {KIT: 2, MIDDLE: 1, LARGE: 4}


def test_what_the_record_lacks_is_missing_of_the_ordered_kit_if_that_could_hold_it() -> None:
    found = home(put(1, KIT), sessions=drained(2, 1))
    assert shelf_on(found, TODAY).missing == {LARGE: 1}
    small = home(put(5, KIT), kit=KIT, others=(LARGE,), sessions=drained(1, ml=900))
    assert (left(small)[KIT], shelf_on(small, TODAY).missing) == (5, {LARGE: 1})


def test_days_away_use_the_bag_first() -> None:
    packed = Transfer(id="t", at=moment(-10), item_code=LARGE, units=2, to=Place.BAG)
    goods = (put(5, LARGE), put(5, KIT), packed)
    found = shelf_on(home(*goods, sessions=drained(1)), TODAY)
    assert (found.usable_units(KIT), found.away_units(LARGE)) == (4, 2)
    away = make_household(
        items=ITEMS,
        catheters=(make_catheter(kit_code=LARGE, other_kit_codes=(KIT,)),),
        ledger=goods,
        sessions=drained(1),
        pauses=(Pause(starts_on=day(-3), ends_on=day(1)),),
    )
    found = shelf_on(away, TODAY)
    assert (found.usable_units(KIT), found.away_units(LARGE)) == (5, 1)


def test_kits_in_order_lists_usable_lots_at_home_with_code_units_and_date() -> None:
    goods = (
        put(4, LARGE, 40),
        put(3, KIT, 40),
        put(2, KIT, 90, id="later"),
        put(9, KIT, -1, id="gone"),
        put(1, MIDDLE),
        put(6, LARGE, id="undated"),
    )
    shelf = shelf_on(home(*goods), TODAY)
    wanted = [(KIT, 3), (LARGE, 4), (KIT, 2), (MIDDLE, 1), (LARGE, 6)]
    assert order_of(shelf, LARGE, KIT, MIDDLE) == wanted
    assert [one.expires_on for one in shelf.kits_in_order(LARGE, (KIT,))][:2] == [day(40)] * 2
    assert order_of(shelf, LARGE) == [(LARGE, 4), (LARGE, 6)]
