"""The shelf: what is told apart, counts, deliveries, losses, taking back."""

from __future__ import annotations

from datetime import date, datetime

import httpx
import pytest
from sqlmodel import Session

from app.access import Role
from app.convert import read_household, write_household
from app.models import AccountRow
from app.services_accounts import add_member
from planner.household import Household
from planner.ledger import Count, DifferenceCause, Recall, Receipt
from planner.stock import shelf_on
from planner.supply import OrderStatus
from tests.app.data_builders import BOTTLE, KIT, TODAY, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

COUNT, RECEIVE, WASTE = (f"/h/home/shelf/{name}" for name in ("count", "receive", "waste"))


def record(db: Session) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "home")
    assert household is not None
    return household


def count(visitor: Visitor, units: str, cause: str) -> httpx.Response:
    """Count kits, see that the record differs, answer what happened."""
    asked = visitor.send(COUNT, {"item": KIT, "units": units}, "units")
    assert asked.status_code == 200
    (form,) = (one for one in forms_of(asked) if "seen" in one.values)
    return visitor.post(COUNT, form.values | {"cause": cause})


def test_a_count_sets_the_number_and_can_be_taken_back(cara: Visitor) -> None:
    answer = count(cara, "9", "not-known")
    said = cara.follow(answer)
    assert "Your count is written down." in said
    assert "9 kits to use" in said
    assert "Counted 9 kits (Kit, half litre): not known why it differed cara" in said
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert "11 kits to use" in cara.see("/h/home/shelf")


@pytest.mark.parametrize(
    ("path", "changes", "fault"),
    [
        (COUNT, {"units": ""}, "Number of units is empty. Give a whole number of units"),
        (COUNT, {"units": "-1"}, "Number of units is -1. Give 0 to 10000 units."),
        (COUNT, {"item": "X", "units": "1"}, "Item is X. No such item"),
        (WASTE, {"units": "0", "reason": "wet"}, "Number of units is 0. Give 1 to 10000 units."),
        (WASTE, {"reason": " "}, "Reason is"),
        (
            WASTE,
            {"reason": "wet", "day": "2026-04-01"},
            "Day and time is 2026-04-01 12:00. It lies in",
        ),
        (WASTE, {"reason": "wet", "lot": "x" * 41}, "Use at most 40 characters."),
        (RECEIVE, {}, "Units in line 1 is empty. Write how many came."),
        (RECEIVE, {"lines[1].units": "ten"}, "Units in line 1 is ten. Give a whole number"),
        (RECEIVE, {"lines[1].lot": "A1"}, "Units in line 1 is empty. Give a whole number"),
        (
            RECEIVE,
            {"lines[3].units": "5", "lines[3].expires_on": "2026-03-01"},
            "Use-by date in line 3 is 2026-03-01. It lies before the receipt",
        ),
        (WASTE, {"units": "12", "reason": "wet"}, "Number of units is 12. The record has only 11"),
        (WASTE, {"reason": "wet", "lot": "ZZ"}, "Lot is ZZ. The record has no such lot"),
        (RECEIVE, {"wrong[2].what": "Caps"}, "How many came by mistake (2) is empty. Give"),
        (RECEIVE, {"wrong[2].units": "3"}, "What came by mistake (2) is empty. Give a short text."),
        (
            RECEIVE,
            {"lines[2].units": "5", "lines[2].item": "X"},
            "Item in line 2 is X. No such item",
        ),
        (
            RECEIVE,
            {"lines[1].units": "5", "order": "o9"},
            "Order is o9. It is not on its way; choose an open order.",
        ),
        (
            RECEIVE,
            {"lines[1].units": "5", "order": "o1", "day": "2026-03-08"},
            "Day is 2026-03-08. It lies before the order of 2026-03-09.",
        ),
    ],
)
def test_a_bad_value_is_named_and_nothing_is_saved(
    path: str, changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    before = record(db)
    field = "lines[1].units" if path == RECEIVE else "units"
    page = cara.send(path, changes, field)
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    for name, value in changes.items():
        if name not in ("item", "order", "lines[2].item") and value.strip():
            assert f'value="{value}"' in page.text
    assert record(db) == before


def test_a_count_that_agrees_is_saved_at_once(cara: Visitor, db: Session) -> None:
    said = cara.follow(cara.send(COUNT, {"item": KIT, "units": "11"}, "units"))
    assert "Your count is written down." in said
    entry = record(db).ledger[-1]
    assert isinstance(entry, Count)
    assert entry.cause is None


def test_a_count_that_differs_is_shown_before_it_is_saved(cara: Visitor, db: Session) -> None:
    before = record(db)
    asked = cara.send(COUNT, {"item": KIT, "units": "8"}, "units")
    said = text_of(asked)
    assert "You counted 8 kits. The record says 11 kits. That is 3 fewer." in said
    assert "A session is not written down yet" in said
    assert "A delivery is not written down yet" not in said
    assert record(db) == before
    more = text_of(cara.send(COUNT, {"item": KIT, "units": "14"}, "units"))
    assert "That is 3 more." in more
    assert "A delivery is not written down yet" in more
    assert "A session is not written down yet" not in more


def test_another_number_than_the_one_that_was_shown_is_asked_about_again(
    cara: Visitor, db: Session
) -> None:
    asked = cara.send(COUNT, {"item": KIT, "units": "8"}, "units")
    (form,) = (one for one in forms_of(asked) if "seen" in one.values)
    again = cara.post(COUNT, form.values | {"units": "7", "cause": "not-known"})
    assert "You counted 7 kits." in text_of(again)
    right = cara.post(COUNT, form.values | {"units": "11"})
    assert "Your count is written down." in cara.follow(right)
    entry = record(db).ledger[-1]
    assert isinstance(entry, Count)
    assert (entry.units, entry.cause) == (11, None)


def test_what_was_never_written_down_is_counted_without_a_question(cara: Visitor) -> None:
    said = cara.follow(cara.send(COUNT, {"item": BOTTLE, "units": "4"}, "units"))
    assert "4 loose bottles to use" in said


@pytest.mark.parametrize(
    ("units", "cause", "page"),
    [
        ("9", "sessions-not-written", "/h/home/sessions/new"),
        ("9", "bottle-lost", WASTE),
        ("9", "taken-along", "/h/home/shelf/move"),
        ("9", "not-known", "/h/home/shelf"),
        ("13", "delivery-not-entered", RECEIVE),
    ],
)
def test_the_answer_is_kept_with_the_count_and_leads_on(
    units: str, cause: str, page: str, cara: Visitor, db: Session
) -> None:
    answer = count(cara, units, cause)
    assert answer.headers["location"].partition("?")[0] == page
    said = cara.follow(answer)
    assert "Your count is written down. Take back" in said
    entry = record(db).ledger[-1]
    assert isinstance(entry, Count)
    assert (entry.units, entry.cause) == (int(units), DifferenceCause(cause))


def test_a_loss_that_explains_a_count_is_not_taken_off_twice(cara: Visitor, db: Session) -> None:
    answer = count(cara, "9", "bottle-lost")
    path = answer.headers["location"]
    values = cara.form(path, "reason").values
    assert (values["item"], values["units"]) == (KIT, "2")
    said = cara.follow(cara.send(path, {"reason": "dropped"}, "reason"))
    assert "9 kits to use" in said
    assert "Thrown away 2 kits (Kit, half litre): dropped" in said
    found = shelf_on(record(db), TODAY).differences
    assert [one for one in found if one.at.date() == TODAY] == []


def test_a_delivery_that_explains_a_count_is_not_added_twice(cara: Visitor) -> None:
    path = count(cara, "16", "delivery-not-entered").headers["location"]
    changes = {"lines[1].item": KIT, "lines[1].units": "5", "lines[1].lot": "LATE"}
    said = cara.follow(cara.send(path, changes, "lines[1].units"))
    assert "16 kits to use" in said
    assert "LATE" in said


def test_a_session_that_explains_a_count_has_to_say_when_it_was(cara: Visitor) -> None:
    path = count(cara, "10", "sessions-not-written").headers["location"]
    values = cara.form(path, "bottles[1].volume_ml").values
    assert (values["day"], values["time"]) == ("", "")
    changes = {"day": "2026-03-11", "time": "08:00", "bottles[1].volume_ml": "300"}
    cara.follow(cara.send(path, changes, "bottles[1].volume_ml"))
    assert "10 kits to use" in cara.see("/h/home/shelf")


def test_an_order_that_has_come_fills_in_the_form_and_lands_on_the_shelf(
    cara: Visitor, db: Session
) -> None:
    path = f"{RECEIVE}?order=o1"
    values = cara.form(path, "lines[1].units").values
    assert (values["order"], values["lines[1].item"], values["lines[1].units"]) == ("o1", KIT, "10")
    changes = {"lines[1].lot": "N7", "lines[1].expires_on": "2027-06-30"}
    answer = cara.send(path, changes, "lines[1].units")
    said = cara.follow(answer)
    assert "The delivery is on your shelf now." in said
    assert "21 kits to use" in said
    assert "N7 Wed 30 June 2027 10 kits usable" in said
    assert record(db).orders[0].status is OrderStatus.RECEIVED

    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert record(db).orders[0].status is OrderStatus.PLACED


def test_a_delivery_of_two_items_in_part(cara: Visitor, db: Session) -> None:
    changes = {
        "order": "o1",
        "lines[1].item": KIT,
        "lines[1].units": "5",
        "lines[4].item": BOTTLE,
        "lines[4].units": "5",
        "complete": "no",
        "excess": "yes",  # the bottles were not ordered
    }
    said = cara.follow(cara.send(RECEIVE, changes, "lines[1].units"))
    assert "16 kits to use" in said
    assert "5 loose bottles to use" in said
    assert record(db).orders[0].status is OrderStatus.RECEIVED_IN_PART


def test_a_loss_is_taken_off(cara: Visitor) -> None:
    said = cara.follow(cara.send(WASTE, {"item": KIT, "reason": "Box got wet"}, "reason"))
    assert "10 kits to use" in said
    assert "Thrown away 1 kit (Kit, half litre): Box got wet" in said


def test_the_form_to_count_starts_with_the_item_it_was_opened_for(cara: Visitor) -> None:
    assert cara.form(f"{COUNT}?item={BOTTLE}", "units").values["item"] == BOTTLE


def test_expired_recalled_and_coming_goods_are_told_apart(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    put = datetime(2026, 2, 1)
    ledger = (
        Receipt(id="r1", at=put, item_code=KIT, units=9, lot="OK", expires_on=date(2027, 1, 31)),
        Receipt(id="r2", at=put, item_code=KIT, units=4, lot="OLD", expires_on=date(2026, 3, 10)),
        Receipt(id="r3", at=put, item_code=KIT, units=3, lot="BACK", expires_on=date(2027, 2, 1)),
        Recall(id="k1", at=datetime(2026, 3, 1), item_code=KIT, lot="BACK"),
    )
    write_household(db, make_household(id="mixed", ledger=ledger, sessions=()))
    add_member(db, people["cara"], "mixed", Role.CARER)
    db.commit()
    said = enter("cara").see("/h/mixed/shelf")
    assert "9 kits to use" in said
    assert "4 kits past the use-by date – do not use" in said
    assert "3 kits recalled – do not use" in said
    assert "10 kits on the way, not counted yet" in said
    assert "BACK Mon 1 February 2027 3 kits recalled – do not use" in said
    assert "OLD Tue 10 March 2026 4 kits past its date – do not use" in said


def counted_units(page: httpx.Response) -> str:
    (form,) = (one for one in forms_of(page) if "units" in one.values)
    return form.values["units"]


@pytest.mark.parametrize(
    ("typed", "step", "shown"),
    [
        ("", "more", "1"),
        ("", "less", "0"),
        ("7", "more", "8"),
        ("7", "less", "6"),
        ("0", "less", "0"),
    ],
)
def test_plus_and_minus_change_the_count_and_save_nothing(
    cara: Visitor, db: Session, typed: str, step: str, shown: str
) -> None:
    before = read_household(db, "home")
    page = cara.send(COUNT, {"units": typed, "step": step}, "units")
    assert page.status_code == 200
    assert counted_units(page) == shown
    assert read_household(db, "home") == before


def test_plus_beside_what_is_no_number_says_so_and_keeps_it(cara: Visitor) -> None:
    page = cara.send(COUNT, {"units": "many", "step": "more"}, "units")
    assert page.status_code == 422
    assert counted_units(page) == "many"
