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
from app.models import OrderRow
from app.services import count_item
from app.services_orders import OrderConfirmation, cancel_order, confirm_order
from app.writing import Request
from planner.supply import OrderLine, OrderStatus
from tests.app.data_builders import BOTTLE, KIT, NOW, UTC_NOW

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


def test_a_confirmed_order_keeps_who_when_what_and_the_yes(db: Session, ask: Request) -> None:
    key = confirm_order(ask, YES).key
    household = read_household(db, "home")
    assert household is not None
    order = household.orders[-1]
    assert (order.id, order.placed_at, order.confirmed_by) == (key, NOW, "Cara")
    assert order.lines == (OrderLine(item_code=KIT, boxes=2),)
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


def test_an_open_order_can_be_cancelled_once(db: Session, ask: Request) -> None:
    cancel_order(ask, "o1")
    assert orders(db)[0].status == OrderStatus.CANCELLED
    with pytest.raises(OutOfDate):
        cancel_order(ask, "o1")
    with pytest.raises(NotFound):
        cancel_order(ask, "o9")


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
