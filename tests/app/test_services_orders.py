"""An order is placed by a person's yes to what they saw, once."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from app.access import HouseholdAccess
from app.convert import read_household
from app.db import open_session
from app.errors import InvalidInput, NotFound, OutOfDate
from app.models import HouseholdRow, OrderRow
from app.models_orders import DeclinedOrderRow, OrderStepRow
from app.services import DeliveryEntry, DeliveryLine, count_item, receive_delivery, undo
from app.services_orders import (
    OrderConfirmation,
    Refusal,
    StepEntry,
    confirm_order,
    decline_order,
    move_order,
    undo_order_step,
)
from app.writing import Request
from planner.household import Household
from planner.supply import OrderLine, OrderStatus
from tests.app.data_builders import BOTTLE, KIT, NOW, TODAY, UTC_NOW

YES = OrderConfirmation(
    lines=((KIT, 2), (BOTTLE, 0)),
    confirmed_by="Cara",
    said_yes=True,
    answer="Yes, I want this order.",
    input_version=1,
)


@pytest.fixture
def ask(db: Session, carer: HouseholdAccess) -> Request:
    return Request(db=db, access=carer, now=NOW)


def orders(db: Session) -> list[OrderRow]:
    return list(db.exec(select(OrderRow).where(OrderRow.household_id == "home")))


def test_trap_17_a_confirmed_order_keeps_who_when_what_and_the_yes(
    db: Session, ask: Request
) -> None:
    key = confirm_order(ask, YES).key
    household = read_household(db, "home")
    assert household is not None
    order = household.orders[-1]
    assert (order.id, order.placed_at, order.confirmed_by) == (key, NOW, "Cara")
    assert order.lines == (OrderLine(item_code=KIT, boxes=2),)
    assert [(one.kind, one.by, one.note) for one in order.steps] == [
        (OrderStatus.CONFIRMED, "Cara", "Yes, I want this order.")
    ]
    row = orders(db)[-1]
    assert (row.confirmed_account_id, row.confirmed_at) == (ask.access.account_id, UTC_NOW)
    assert (row.answer, row.proposal_version) == ("Yes, I want this order.", 1)


def test_an_order_made_from_an_old_page_is_refused(db: Session, ask: Request) -> None:
    count_item(ask, item_code=KIT, units=30, at=NOW)
    with pytest.raises(OutOfDate, match="Look again"):
        confirm_order(ask, YES)
    assert len(orders(db)) == 1


REFUSED: dict[str, tuple[Callable[[OrderConfirmation], OrderConfirmation], str]] = {
    "no yes": (
        lambda yes: replace(yes, said_yes=False),
        "said_yes is not ticked: tick the box to say that you want this order.",
    ),
    "no name": (
        lambda yes: replace(yes, confirmed_by=""),
        "confirmed_by is empty: give a short text.",
    ),
    "nothing ordered": (
        lambda yes: replace(yes, lines=((KIT, 0),)),
        "lines is empty: list at least one item with its boxes.",
    ),
    "unknown item": (
        lambda yes: replace(yes, lines=(("NOPE", 1),)),
        (
            "lines[1].item is NOPE: no such item; correct the code or add it "
            "(known: B-HALF, GLOVES, K-HALF)."
        ),
    ),
    "too many boxes": (
        lambda yes: replace(yes, lines=((KIT, 201),)),
        "lines[1].boxes is 201: give 1 to 200 boxes.",
    ),
    "promised in the past": (
        lambda yes: replace(yes, promised_on=date(2026, 3, 10)),
        "promised_on is 2026-03-10: it lies in the past; check the day.",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_bad_confirmation_is_refused_and_nothing_is_saved(
    case: str, db: Session, ask: Request
) -> None:
    change, sentence = REFUSED[case]
    with pytest.raises(InvalidInput) as refusal:
        confirm_order(ask, change(YES))
    assert str(refusal.value) == sentence
    assert len(orders(db)) == 1


def household_of(db: Session) -> Household:
    found = read_household(db, "home")
    assert found is not None
    return found


def test_a_second_yes_waits_until_the_first_order_is_placed(db: Session, ask: Request) -> None:
    key = confirm_order(ask, YES).key
    with pytest.raises(InvalidInput) as refusal:
        confirm_order(ask, replace(YES, input_version=2))
    assert str(refusal.value) == (
        "order is that of 2026-03-11: it was confirmed and waits to be placed; "
        "place or cancel it first."
    )
    move_order(ask, key, StepEntry(kind="placed", on=TODAY))
    assert confirm_order(ask, replace(YES, input_version=3)).key != key


def test_trap_17_a_refill_rule_wants_to_hear_that_supplies_are_needed(
    engine: Engine, ask: Request
) -> None:
    with open_session(engine) as db:
        db.get_one(HouseholdRow, "home").refill_rule = "us-medicare"
        db.commit()
    with pytest.raises(InvalidInput, match="said_needed is not ticked"):
        confirm_order(ask, replace(YES, said_needed=False))
    key = confirm_order(ask, replace(YES, answer="Yes. They are needed.")).key
    row = next(one for one in orders(ask.db) if one.key == key)
    assert row.answer == "Yes. They are needed."


def test_trap_17_a_no_is_kept_and_orders_nothing(db: Session, ask: Request) -> None:
    no = Refusal(
        declined_by=" Pat ", asked=((KIT, 2),), answer="No, not needed now.", input_version=1
    )
    key = decline_order(ask, no).key
    row = db.exec(select(DeclinedOrderRow)).one()
    assert (row.key, row.declined_by, row.asked) == (key, "Pat", f"{KIT} 2")
    assert (row.account_id, row.recorded_at) == (ask.access.account_id, UTC_NOW)
    assert (row.answer, row.proposal_version) == ("No, not needed now.", 1)
    assert len(orders(db)) == 1
    with pytest.raises(InvalidInput, match="declined_by is empty: give a short text"):
        decline_order(ask, replace(no, declined_by=""))


def test_an_order_goes_from_step_to_step_with_day_and_person(db: Session, ask: Request) -> None:
    thursday = date(2026, 3, 12)
    move_order(ask, "o1", StepEntry(kind="acknowledged", on=TODAY, expected_on=thursday))
    order = household_of(db).orders[0]
    assert (order.status, order.promised_on) == (OrderStatus.ACKNOWLEDGED, thursday)
    assert [one.by for one in order.steps] == ["", "cara"]
    row = db.exec(select(OrderStepRow).where(OrderStepRow.number == 2)).one()
    assert (row.recorded_by, row.recorded_at) == (ask.access.account_id, UTC_NOW)


def test_an_open_order_can_be_cancelled_once(db: Session, ask: Request) -> None:
    move_order(ask, "o1", StepEntry(kind="cancelled", on=TODAY))
    assert orders(db)[0].status == OrderStatus.CANCELLED
    with pytest.raises(InvalidInput) as refusal:
        move_order(ask, "o1", StepEntry(kind="cancelled", on=TODAY))
    assert str(refusal.value) == (
        "step is cancelled: the order is cancelled, so nothing follows; undo its last step first."
    )
    with pytest.raises(NotFound):
        move_order(ask, "o9", StepEntry(kind="cancelled", on=TODAY))


BAD_STEPS = {
    "no such step": (StepEntry(kind="teleported", on=TODAY), "step is teleported: choose one"),
    "the future": (
        StepEntry(kind="on-its-way", on=date(2026, 3, 12)),
        "on is 2026-03-12: it lies in the future; today is 2026-03-11.",
    ),
    "before the order": (
        StepEntry(kind="on-its-way", on=date(2026, 3, 8)),
        "at is 2026-03-08: it lies before the step before it, 2026-03-09; check the day.",
    ),
    "a day named that is past": (
        StepEntry(kind="on-its-way", on=TODAY, expected_on=date(2026, 3, 10)),
        "expected_on is 2026-03-10: it lies before the day of this step, 2026-03-11; check",
    ),
    "goods without a delivery": (
        StepEntry(kind="received", on=TODAY),
        "step is received: write down the goods that came instead.",
    ),
}


@pytest.mark.parametrize("case", BAD_STEPS)
def test_a_step_that_cannot_be_is_refused_and_nothing_is_saved(
    case: str, db: Session, ask: Request
) -> None:
    entry, sentence = BAD_STEPS[case]
    with pytest.raises(InvalidInput) as refusal:
        move_order(ask, "o1", entry)
    assert sentence in str(refusal.value)
    assert household_of(db).orders[0].steps == ()


def test_undoing_a_delivery_takes_its_goods_back(db: Session, ask: Request) -> None:
    lines = (DeliveryLine(item_code=KIT, units=6), DeliveryLine(item_code=KIT, units=4, lot="B"))
    delivery = DeliveryEntry(received_at=NOW, lines=lines, order_id="o1")
    receive_delivery(ask, delivery)
    assert household_of(db).orders[0].status is OrderStatus.RECEIVED
    with pytest.raises(OutOfDate):
        undo_order_step(ask, "o1", 1)
    undo_order_step(ask, "o1", 2)
    home = household_of(db)
    assert home.orders[0].status is OrderStatus.PLACED
    assert not any(getattr(one, "order_id", None) for one in home.valid_entries)
    with pytest.raises(InvalidInput, match="it is the first step and stays; cancel the order"):
        undo_order_step(ask, "o1", 1)


def test_the_same_step_sent_twice_is_one_step(db: Session, ask: Request) -> None:
    entry = StepEntry(kind="acknowledged", on=TODAY)
    for _ in range(2):
        move_order(replace(ask, submission="once"), "o1", entry)
    assert len(household_of(db).orders[0].steps) == 2


def test_a_receipt_taken_back_on_the_shelf_opens_the_order(db: Session, ask: Request) -> None:
    lines = (DeliveryLine(item_code=KIT, units=10),)
    key = receive_delivery(ask, DeliveryEntry(received_at=NOW, lines=lines, order_id="o1")).key
    undo(ask, key)
    order = household_of(db).orders[0]
    assert order.status is OrderStatus.PLACED
    assert [one.stands for one in order.steps] == [True, False]


def test_many_confirmations_at_once_place_one_order(engine: Engine, ask: Request) -> None:
    """Two people, or one impatient finger: the proposal is used up by the first yes."""
    ask.db.commit()

    def confirm(n: int) -> str:
        with open_session(engine) as db:
            try:
                return confirm_order(replace(ask, db=db, submission=f"f{n % 2}"), YES).key
            except OutOfDate:
                return "out of date"

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(confirm, range(16)))
    placed = {answer for answer in answers if answer != "out of date"}
    assert len(placed) == 1
    assert len(orders(ask.db)) == 2


def test_counts_at_the_same_time_are_all_saved(engine: Engine, ask: Request) -> None:
    ask.db.commit()

    def count(n: int) -> str:
        with open_session(engine) as db:
            return count_item(replace(ask, db=db), item_code=KIT, units=n, at=NOW).key

    with ThreadPoolExecutor(8) as pool:
        keys = set(pool.map(count, range(20)))
    assert len(keys) == 20
    household = read_household(ask.db, "home")
    assert household is not None
    assert keys <= {entry.id for entry in household.ledger}
