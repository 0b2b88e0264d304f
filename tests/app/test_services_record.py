"""Writing sessions, counts, deliveries and waste: saved whole, or refused with a clear fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from sqlmodel import Session, select

from app.access import HouseholdAccess, Role
from app.convert import read_household
from app.errors import InvalidInput, NotFound
from app.models import DrainSessionRow, HouseholdRow
from app.services import (
    BottleEntry,
    DeliveryEntry,
    DeliveryLine,
    SessionEntry,
    WasteEntry,
    count_item,
    receive_delivery,
    record_session,
    report_waste,
    undo,
)
from app.writing import Request, Saved
from planner.household import Household
from planner.ledger import Count, Receipt, Reversal, Waste
from planner.sessions import LossReason, StopReason
from planner.stock import shelf_on
from planner.supply import OrderStatus
from tests.app.data_builders import BOTTLE, KIT, NOW, TODAY

SESSION = SessionEntry(
    started_at=NOW - timedelta(hours=1),
    catheter_id="right",
    bottles=(BottleEntry(volume_ml=480), BottleEntry(volume_ml=120, item_code=BOTTLE)),
    stop_reason="ran-dry",
)
DELIVERY = DeliveryEntry(
    received_at=NOW - timedelta(hours=2),
    lines=(
        DeliveryLine(item_code=KIT, units=10, lot="L2", expires_on=date(2027, 6, 30)),
        DeliveryLine(item_code=BOTTLE, units=5, lot="M1"),
    ),
    order_id="o1",
    came_in_excess=True,  # the bottles were not ordered
)


def saved_household(db: Session) -> Household:
    household = read_household(db, "home")
    assert household is not None
    return household


def version(db: Session) -> int:
    row = db.get(HouseholdRow, "home", populate_existing=True)
    assert row is not None
    return row.input_version


@pytest.fixture
def ask(db: Session, carer: HouseholdAccess) -> Request:
    return Request(db=db, access=carer, now=NOW)


def test_a_session_is_saved_with_its_bottles_and_its_author(db: Session, ask: Request) -> None:
    saved = record_session(ask, SESSION)
    session = saved_household(db).sessions[-1]
    assert (session.id, session.started_at) == (saved.key, SESSION.started_at)
    assert [bottle.volume_ml for bottle in session.bottles] == [480, 120]
    assert session.stop_reason is StopReason.RAN_DRY
    row = db.exec(select(DrainSessionRow).where(DrainSessionRow.key == saved.key)).one()
    assert row.recorded_by == ask.access.account_id


def test_a_lost_bottle_is_saved_with_its_reason(db: Session, ask: Request) -> None:
    bottles = (BottleEntry(volume_ml=0, loss="vacuum-lost"), BottleEntry(volume_ml=300))
    record_session(ask, replace(SESSION, bottles=bottles))
    assert saved_household(db).sessions[-1].bottles[0].loss is LossReason.VACUUM_LOST


def test_each_change_raises_the_version_by_one(db: Session, ask: Request) -> None:
    before = version(db)
    record_session(ask, SESSION)
    count_item(ask, item_code=KIT, units=11, at=NOW)
    assert version(db) == before + 2


def test_a_count_resets_the_shelf(db: Session, ask: Request) -> None:
    count_item(ask, item_code=KIT, units=7, at=NOW)
    household = saved_household(db)
    assert isinstance(household.ledger[-1], Count)
    assert shelf_on(household, TODAY).usable_units(KIT) == 7


def test_a_delivery_goes_on_the_shelf_and_closes_its_order(db: Session, ask: Request) -> None:
    receive_delivery(ask, DELIVERY)
    household = saved_household(db)
    receipts = [e for e in household.ledger if isinstance(e, Receipt) and e.order_id == "o1"]
    assert [(r.item_code, r.units, r.lot) for r in receipts] == [(KIT, 10, "L2"), (BOTTLE, 5, "M1")]
    assert household.orders[0].status is OrderStatus.RECEIVED
    assert household.orders[0].received_on == TODAY


def test_a_part_of_a_delivery_leaves_its_order_open(db: Session, ask: Request) -> None:
    receive_delivery(ask, replace(DELIVERY, is_complete=False))
    assert saved_household(db).orders[0].is_open


def test_a_delivery_without_an_order_goes_on_the_shelf(db: Session, ask: Request) -> None:
    receive_delivery(ask, replace(DELIVERY, order_id=None))
    household = saved_household(db)
    assert shelf_on(household, TODAY).usable_units(BOTTLE) == 5
    assert household.orders[0].is_open


def test_waste_leaves_the_shelf(db: Session, ask: Request) -> None:
    before = shelf_on(saved_household(db), TODAY).usable_units(KIT)
    report_waste(ask, WasteEntry(at=NOW, item_code=KIT, units=2, reason="torn wrapping"))
    household = saved_household(db)
    assert isinstance(household.ledger[-1], Waste)
    assert shelf_on(household, TODAY).usable_units(KIT) == before - 2


def test_undo_takes_a_session_back_and_keeps_it(db: Session, ask: Request) -> None:
    key = record_session(ask, SESSION).key
    undo(ask, key)
    household = saved_household(db)
    assert key in {session.id for session in household.sessions}
    assert key not in {session.id for session in household.valid_sessions}
    assert isinstance(household.ledger[-1], Reversal)


def test_undo_of_a_delivery_opens_its_order(db: Session, ask: Request) -> None:
    receive_delivery(ask, DELIVERY)
    first, second = (
        e.id for e in saved_household(db).ledger if isinstance(e, Receipt) and e.order_id == "o1"
    )
    undo(ask, first)
    order = saved_household(db).orders[0]
    assert (order.status, order.is_open) == (OrderStatus.RECEIVED_IN_PART, True)
    undo(ask, second)
    order = saved_household(db).orders[0]
    assert (order.status, order.received_on) == (OrderStatus.PLACED, None)


def test_undo_twice_is_refused(db: Session, ask: Request) -> None:
    key = record_session(ask, SESSION).key
    reversal = undo(ask, key).key
    for again in (key, reversal):
        with pytest.raises(InvalidInput, match="taken back already"):
            undo(ask, again)


def test_undo_of_nothing_is_not_found(ask: Request) -> None:
    with pytest.raises(NotFound):
        undo(ask, "s999")


def test_a_slip_can_be_written_again_after_it_was_taken_back(db: Session, ask: Request) -> None:
    undo(ask, record_session(ask, SESSION).key)
    record_session(ask, SESSION)
    assert len(saved_household(db).valid_sessions) == 13


Action = Callable[[Request], Saved]
LATER = NOW + timedelta(minutes=1)

REFUSED: dict[str, tuple[Action, str]] = {
    "session in the future": (
        lambda ask: record_session(ask, replace(SESSION, started_at=LATER)),
        "started_at is 2026-03-11 14:01: it lies in the future; it is now 2026-03-11 14:00.",
    ),
    "session long ago": (
        lambda ask: record_session(ask, replace(SESSION, started_at=datetime(2016, 3, 11, 9, 0))),
        "started_at is 2016-03-11 09:00: it lies more than a year back; check the date.",
    ),
    "session twice": (
        lambda ask: record_session(ask, replace(SESSION, started_at=datetime(2026, 3, 9, 9, 0))),
        (
            "started_at is 2026-03-09 09:00: a session at this moment is in the record already; "
            "take it back or change the time."
        ),
    ),
    "negative volume": (
        lambda ask: record_session(ask, replace(SESSION, bottles=(BottleEntry(volume_ml=-5),))),
        "bottles[1].volume_ml is -5: give 0 to 5000 mL.",
    ),
    "two bad volumes": (
        lambda ask: record_session(
            ask, replace(SESSION, bottles=(BottleEntry(volume_ml=-5), BottleEntry(volume_ml=9999)))
        ),
        (
            "bottles[1].volume_ml is -5: give 0 to 5000 mL.\n"
            "bottles[2].volume_ml is 9999: give 0 to 5000 mL."
        ),
    ),
    "volume above the bottle": (
        lambda ask: record_session(ask, replace(SESSION, bottles=(BottleEntry(volume_ml=600),))),
        (
            "bottles[1].volume_ml is 600: a bottle of K-HALF holds 500 mL; "
            "split the volume over the bottles that were used."
        ),
    ),
    "no bottle": (
        lambda ask: record_session(ask, replace(SESSION, bottles=())),
        "bottles is 0 lines: give 1 to 12.",
    ),
    "unknown catheter": (
        lambda ask: record_session(ask, replace(SESSION, catheter_id="left")),
        "catheter is left: no such catheter; correct the id (known: right).",
    ),
    "unknown stop reason": (
        lambda ask: record_session(ask, replace(SESSION, stop_reason="bored")),
        (
            "stop_reason is bored: choose one of ran-dry, limit-reached, bottle-full, pain, "
            "no-further-bottle, not-said."
        ),
    ),
    "unknown loss": (
        lambda ask: record_session(
            ask, replace(SESSION, bottles=(BottleEntry(volume_ml=0, loss="stolen"),))
        ),
        "bottles[1].loss is stolen: choose one of vacuum-lost, separated, dropped, other.",
    ),
    "bottle of an unknown item": (
        lambda ask: record_session(
            ask, replace(SESSION, bottles=(BottleEntry(volume_ml=10, item_code="NOPE"),))
        ),
        (
            "bottles[1].item is NOPE: no such item; correct the code or add it "
            "(known: B-HALF, GLOVES, K-HALF)."
        ),
    ),
    "count of an unknown item": (
        lambda ask: count_item(ask, item_code="NOPE", units=3, at=NOW),
        "item is NOPE: no such item; correct the code or add it (known: B-HALF, GLOVES, K-HALF).",
    ),
    "negative count": (
        lambda ask: count_item(ask, item_code=KIT, units=-1, at=NOW),
        "units is -1: give 0 to 10000 units.",
    ),
    "count in the future": (
        lambda ask: count_item(ask, item_code=KIT, units=3, at=LATER),
        "at is 2026-03-11 14:01: it lies in the future; it is now 2026-03-11 14:00.",
    ),
    "use-by date before the receipt": (
        lambda ask: receive_delivery(
            ask,
            replace(
                DELIVERY,
                lines=(
                    DELIVERY.lines[0],
                    DeliveryLine(item_code=BOTTLE, units=5, expires_on=date(2026, 3, 10)),
                ),
            ),
        ),
        (
            "lines[2].expires_on is 2026-03-10: it lies before the receipt on 2026-03-11; "
            "check the use-by date."
        ),
    ),
    "delivery of an unknown item": (
        lambda ask: receive_delivery(
            ask, replace(DELIVERY, lines=(DeliveryLine(item_code="NOPE", units=5),))
        ),
        "lines[1].item is NOPE: no such item; choose one of B-HALF, GLOVES, K-HALF.",
    ),
    "delivery of nothing": (
        lambda ask: receive_delivery(ask, replace(DELIVERY, lines=())),
        "lines is 0 lines: give 1 to 40.",
    ),
    "delivery of an unknown order": (
        lambda ask: receive_delivery(ask, replace(DELIVERY, order_id="o9")),
        "order is o9: it is not on its way; choose an open order.",
    ),
    "delivery before its order": (
        lambda ask: receive_delivery(ask, replace(DELIVERY, received_at=datetime(2026, 3, 8))),
        "received_at is 2026-03-08: it lies before the order of 2026-03-09.",
    ),
    "waste without a reason": (
        lambda ask: report_waste(ask, WasteEntry(at=NOW, item_code=KIT, units=1, reason=" ")),
        "reason is  : give a short text.",
    ),
    "waste of nothing": (
        lambda ask: report_waste(ask, WasteEntry(at=NOW, item_code=KIT, units=0, reason="wet")),
        "units is 0: give 1 to 10000 units.",
    ),
    "lot too long": (
        lambda ask: report_waste(
            ask, WasteEntry(at=NOW, item_code=KIT, units=1, reason="wet", lot="L" * 41)
        ),
        f"lot is {'L' * 41}: use at most 40 characters.",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_bad_input_is_refused_in_one_sentence_and_nothing_is_saved(
    case: str, db: Session, ask: Request
) -> None:
    action, sentence = REFUSED[case]
    before = (saved_household(db), version(db))
    with pytest.raises(InvalidInput) as refusal:
        action(ask)
    assert str(refusal.value) == sentence
    assert (saved_household(db), version(db)) == before


def test_a_viewer_cannot_write(db: Session, ask: Request) -> None:
    before = saved_household(db)
    looking = replace(ask, access=replace(ask.access, role=Role.VIEWER))
    with pytest.raises(NotFound):
        record_session(looking, SESSION)
    assert saved_household(db) == before


def test_a_form_sent_twice_is_saved_once(db: Session, ask: Request) -> None:
    form = replace(ask, submission="f1")
    first = record_session(form, SESSION)
    again = record_session(form, SESSION)
    assert (again.key, first.again, again.again) == (first.key, False, True)
    assert len(saved_household(db).sessions) == 13


def test_a_refused_form_can_be_corrected_and_sent_again(db: Session, ask: Request) -> None:
    form = replace(ask, submission="f1")
    with pytest.raises(InvalidInput):
        record_session(form, replace(SESSION, bottles=(BottleEntry(volume_ml=-1),)))
    assert not record_session(form, SESSION).again
    assert len(saved_household(db).sessions) == 13
