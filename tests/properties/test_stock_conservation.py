"""Nothing on the shelf appears or vanishes, in whatever order it was written down."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.household import Household
from planner.ledger import LedgerEntry, Recall, Receipt, Waste
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
    entries = draw(st.lists(receipts() | wastes() | recalls(), max_size=10))
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
    wasted = sum(entry.units for entry in entries if isinstance(entry, Waste))
    used = sum(len(session.bottles) for session in sessions)
    assert units_of(shelf) - sum(shelf.missing.values()) + used + wasted == received
    for item in (KIT, BOTTLE):
        parts = shelf.usable_units(item) + shelf.expired_units(item) + shelf.recalled_units(item)
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
