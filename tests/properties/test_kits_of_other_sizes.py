"""Kits of other sizes on one shelf: nothing appears or vanishes, in whatever order it is typed."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.household import Household
from planner.ledger import LedgerEntry, Recall, Receipt, Waste
from planner.sessions import BottleUse, Session
from planner.stock import shelf_on
from tests.builders import CATHETER, KIT, TODAY, day, make_household, make_kit, moment

LARGE, MIDDLE = "KIT-1000", "KIT-700"
SIZES = {KIT: 500, MIDDLE: 700, LARGE: 1000}
CODES = st.sampled_from(sorted(SIZES))
ITEMS = tuple(
    make_kit(code=code, name=f"Kit of {size_ml} mL", capacity_ml=size_ml)
    for code, size_ml in SIZES.items()
)


@st.composite
def entries(draw: st.DrawFn) -> LedgerEntry:
    code, offset = draw(CODES), draw(st.integers(-30, 0))
    at = moment(offset, hour=draw(st.integers(0, 23)))
    kind = draw(st.sampled_from([Receipt, Receipt, Waste, Recall]))
    if kind is Waste:
        return Waste(id="later", at=at, item_code=code, units=1, reason="dropped")
    if kind is Recall:
        return Recall(id="later", at=at, item_code=code, lot="A")
    life = draw(st.none() | st.integers(0, 40))
    return Receipt(
        id="later",
        at=at,
        item_code=code,
        units=draw(st.integers(1, 5)),
        lot=draw(st.sampled_from(["", "A"])),
        expires_on=None if life is None else day(offset + life),
    )


@st.composite
def bottles(draw: st.DrawFn) -> BottleUse:
    code = draw(st.none() | CODES)
    return BottleUse(volume_ml=draw(st.integers(0, SIZES.get(code or LARGE, 0))), item_code=code)


@st.composite
def drains(draw: st.DrawFn) -> Session:
    return Session(
        id="later",
        catheter_id=CATHETER,
        started_at=moment(draw(st.integers(-30, 0)), hour=draw(st.integers(0, 23))),
        bottles=tuple(draw(st.lists(bottles(), min_size=1, max_size=3))),
    )


Typed = tuple[tuple[LedgerEntry, ...], tuple[Session, ...]]


@st.composite
def typed(draw: st.DrawFn) -> Typed:
    written = draw(st.lists(entries(), max_size=10))
    drained = draw(st.lists(drains(), max_size=8))
    return (
        tuple(replace(one, id=f"e{n}") for n, one in enumerate(written)),
        tuple(replace(one, id=f"s{n}") for n, one in enumerate(drained)),
    )


def home_of(record: Typed) -> Household:
    return make_household(
        items=ITEMS,
        ledger=record[0],
        sessions=record[1],
        catheter={"kit_code": LARGE, "other_kit_codes": (KIT, MIDDLE)},
    )


@settings(max_examples=150, deadline=None, derandomize=True)
@given(typed(), st.randoms(use_true_random=False))
def test_late_entries_give_the_same_shelf(record: Typed, shuffler: object) -> None:
    usual = shelf_on(home_of(record), TODAY)
    late = (list(record[0]), list(record[1]))
    for one in late:
        shuffler.shuffle(one)  # type: ignore[attr-defined]
    assert shelf_on(home_of((tuple(late[0]), tuple(late[1]))), TODAY) == usual


@settings(max_examples=150, deadline=None, derandomize=True)
@given(typed())
def test_every_bottle_takes_one_kit(record: Typed) -> None:
    shelf = shelf_on(home_of(record), TODAY)
    received = sum(one.units for one in record[0] if isinstance(one, Receipt))
    wasted = sum(isinstance(one, Waste) for one in record[0])
    used = sum(len(one.bottles) for one in record[1])
    here = sum(one.units for one in shelf.lots)
    assert here - sum(shelf.missing.values()) + used + wasted == received


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(entries(), max_size=10), st.integers(1, 6))
def test_kits_leave_in_the_order_that_the_shelf_names(
    written: list[LedgerEntry], sessions: int
) -> None:
    """What is opened later today is what the shelf named first this morning."""
    goods = tuple(replace(one, id=f"e{n}", at=moment(-30)) for n, one in enumerate(written))
    drained = tuple(
        Session(
            id=f"s{n}",
            catheter_id=CATHETER,
            started_at=moment(0, hour=n + 1),
            bottles=(BottleUse(volume_ml=100),),
        )
        for n in range(sessions)
    )
    named, after = (
        [
            (one.item_code, one.expires_on, one.lot)
            for one in shelf_on(home_of((goods, some)), TODAY).kits_in_order(LARGE, (KIT, MIDDLE))
            for _ in range(one.units)
        ]
        for some in ((), drained)
    )
    assert after == named[sessions:]
