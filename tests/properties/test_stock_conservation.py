"""Nothing on the shelf appears or vanishes, in whatever order it was written down."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.household import Household
from planner.ledger import (
    Departure,
    LeavingReason,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Transfer,
    Waste,
    WrongDelivery,
)
from planner.sessions import BottleUse, Session
from planner.stock import Shelf, shelf_on
from tests.builders import BOTTLE, CATHETER, KIT, TODAY, day, make_household, moment

ITEMS = st.sampled_from([KIT, BOTTLE])
LOTS = st.sampled_from(["", "A", "B"])
OFFSETS = st.integers(-40, 0)
UNITS = st.integers(1, 12)


@st.composite
def receipts(draw: st.DrawFn) -> Receipt:
    offset = draw(OFFSETS)
    life = draw(st.none() | st.integers(0, 60))
    return Receipt(
        id="numbered later",
        at=moment(offset, hour=draw(st.integers(0, 23))),
        item_code=draw(ITEMS),
        units=draw(UNITS),
        lot=draw(LOTS),
        expires_on=None if life is None else day(offset + life),
    )


@st.composite
def wastes(draw: st.DrawFn) -> Waste:
    return Waste(
        id="numbered later",
        at=moment(draw(OFFSETS), hour=draw(st.integers(0, 23))),
        item_code=draw(ITEMS),
        units=draw(st.integers(1, 3)),
        reason="dropped",
        lot=draw(LOTS),
    )


@st.composite
def recalls(draw: st.DrawFn) -> Recall:
    return Recall(
        id="numbered later",
        at=moment(draw(OFFSETS)),
        item_code=draw(ITEMS),
        lot=draw(st.sampled_from(["A", "B"])),
    )


@st.composite
def departures(draw: st.DrawFn) -> Departure:
    return Departure(
        id="numbered later",
        at=moment(draw(OFFSETS), hour=draw(st.integers(0, 23))),
        item_code=draw(ITEMS),
        units=draw(st.integers(1, 3)),
        reason=draw(st.sampled_from(LeavingReason)),
        lot=draw(LOTS),
    )


@st.composite
def transfers(draw: st.DrawFn) -> Transfer:
    return Transfer(
        id="numbered later",
        at=moment(draw(OFFSETS), hour=draw(st.integers(0, 23))),
        item_code=draw(ITEMS),
        units=draw(UNITS),
        to=draw(st.sampled_from(Place)),
        lot=draw(LOTS),
    )


@st.composite
def wrong_deliveries(draw: st.DrawFn) -> WrongDelivery:
    at = moment(draw(OFFSETS))
    return WrongDelivery(id="numbered later", at=at, what="Caps", units=draw(UNITS))


@st.composite
def drains(draw: st.DrawFn) -> Session:
    volumes = draw(st.lists(st.integers(0, 500), min_size=1, max_size=3))
    return Session(
        id="numbered later",
        catheter_id=CATHETER,
        started_at=moment(draw(OFFSETS), hour=draw(st.integers(0, 23))),
        bottles=tuple(BottleUse(volume_ml=ml) for ml in volumes),
    )


@st.composite
def records(draw: st.DrawFn) -> tuple[list[LedgerEntry], list[Session]]:
    kinds = (receipts(), wastes(), recalls(), departures(), transfers(), wrong_deliveries())
    entries = draw(st.lists(st.one_of(*kinds), max_size=12))
    sessions = draw(st.lists(drains(), max_size=8))
    numbered: list[LedgerEntry] = [replace(entry, id=f"e{n}") for n, entry in enumerate(entries)]
    drained = [replace(session, id=f"s{n}") for n, session in enumerate(sessions)]
    return numbered, drained


def home_of(entries: list[LedgerEntry], sessions: list[Session]) -> Household:
    return make_household(
        ledger=tuple(entries), sessions=tuple(sessions), catheter={"bottle_code": BOTTLE}
    )


def units_of(shelf: Shelf) -> int:
    return sum(lot.units for lot in shelf.lots)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(records())
def test_on_hand_plus_used_plus_wasted_is_received(
    record: tuple[list[LedgerEntry], list[Session]],
) -> None:
    entries, sessions = record
    shelf = shelf_on(home_of(entries, sessions), TODAY)
    received = sum(entry.units for entry in entries if isinstance(entry, Receipt))
    wasted = sum(entry.units for entry in entries if isinstance(entry, Waste | Departure))
    used = sum(len(session.bottles) for session in sessions)
    assert units_of(shelf) - sum(shelf.missing.values()) + used + wasted == received
    for item in (KIT, BOTTLE):
        parts = shelf.usable_units(item) + shelf.away_units(item)
        parts += shelf.expired_units(item) + shelf.recalled_units(item)
        assert parts == sum(lot.units for lot in shelf.lots if lot.item_code == item)
        assert parts >= 0


@settings(max_examples=100, deadline=None, derandomize=True)
@given(records(), st.randoms(use_true_random=False))
def test_any_order_of_typing_gives_the_same_shelf(
    record: tuple[list[LedgerEntry], list[Session]], shuffler: object
) -> None:
    entries, sessions = record
    usual = shelf_on(home_of(entries, sessions), TODAY)
    typed, drained = list(entries), list(sessions)
    shuffler.shuffle(typed)  # type: ignore[attr-defined]
    shuffler.shuffle(drained)  # type: ignore[attr-defined]
    assert shelf_on(home_of(typed, drained), TODAY) == usual


@settings(max_examples=100, deadline=None, derandomize=True)
@given(records())
def test_goods_of_a_recalled_lot_are_never_usable(
    record: tuple[list[LedgerEntry], list[Session]],
) -> None:
    entries, sessions = record
    shelf = shelf_on(home_of(entries, sessions), TODAY)
    recalled = {(entry.item_code, entry.lot) for entry in entries if isinstance(entry, Recall)}
    for item in (KIT, BOTTLE):
        lots = {(lot.item_code, lot.lot) for lot in shelf.usable_lots(item)}
        assert not lots & recalled


@settings(max_examples=100, deadline=None, derandomize=True)
@given(records(), UNITS, ITEMS, LOTS)
def test_packed_and_unpacked_again_nothing_has_changed(
    record: tuple[list[LedgerEntry], list[Session]], units: int, item: str, lot: str
) -> None:
    entries, sessions = record
    entries = [one for one in entries if not isinstance(one, Transfer)]
    home = home_of(entries, sessions)
    there, back = (
        Transfer(id=f"t{n}", at=moment(0, hour=23), item_code=item, units=units, to=to, lot=lot)
        for n, to in enumerate((Place.BAG, Place.HOME))
    )
    before = shelf_on(home, TODAY)
    packed = shelf_on(home_of([*entries, there], sessions), TODAY)
    assert units_of(packed) == units_of(before)
    assert packed.missing == before.missing
    moved = sum(one.units for one in packed.lots_of(item, Place.BAG))
    assert moved == min(units, before.home_units(item))
    assert shelf_on(home_of([*entries, there, back], sessions), TODAY) == before


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.lists(receipts(), min_size=1, max_size=8), st.integers(1, 6))
def test_usable_goods_leave_in_the_order_of_their_dates(goods: list[Receipt], drained: int) -> None:
    entries: list[LedgerEntry] = [
        replace(one, id=f"e{n}", item_code=KIT) for n, one in enumerate(goods)
    ]
    sessions = [
        Session(
            id=f"s{n}",
            catheter_id=CATHETER,
            started_at=moment(0, hour=n + 1),
            bottles=(BottleUse(volume_ml=100),),
        )
        for n in range(drained)
    ]
    entries = [replace(one, at=min(one.at, moment(0, hour=0))) for one in entries]
    before = shelf_on(home_of(entries, []), TODAY).usable_lots(KIT)
    after = shelf_on(home_of(entries, sessions), TODAY).usable_lots(KIT)
    queue = [one.expires_on for one in before for _ in range(one.units)]
    left = [one.expires_on for one in after for _ in range(one.units)]
    assert left == queue[drained:]


@settings(max_examples=100, deadline=None, derandomize=True)
@given(records())
def test_wrong_goods_never_touch_the_shelf(
    record: tuple[list[LedgerEntry], list[Session]],
) -> None:
    entries, sessions = record
    rest: list[LedgerEntry] = [one for one in entries if not isinstance(one, WrongDelivery)]
    found, without = (shelf_on(home_of(some, sessions), TODAY) for some in (entries, rest))
    assert (found.lots, found.missing) == (without.lots, without.missing)
    assert len(found.wrong_goods) == len(entries) - len(rest)
