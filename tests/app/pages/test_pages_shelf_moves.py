"""Goods that go elsewhere, recalls, wrong deliveries, deliveries that came twice."""

from __future__ import annotations

import pytest
from sqlmodel import Session

from app.convert import read_household
from planner.household import Household
from planner.ledger import Recall, Receipt, WrongDelivery, WrongKept, WrongReturn
from planner.stock import shelf_on
from planner.supply import OrderStatus
from tests.app.data_builders import BOTTLE, KIT, TODAY
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

SHELF = "/h/home/shelf"
MOVE, RECALL, RECEIVE, COUNT, WRONG = (
    f"{SHELF}/{name}" for name in ("move", "recall", "receive", "count", "wrong")
)


def record(db: Session) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "home")
    assert household is not None
    return household


def move(visitor: Visitor, where: str, units: str, **more: str) -> str:
    changes = {"where": where, "item": KIT, "units": units, **more}
    return visitor.follow(visitor.send(MOVE, changes, "units"))


def test_goods_are_packed_told_apart_and_unpacked(cara: Visitor) -> None:
    said = move(cara, "bag", "4")
    assert "That is written down. Take back" in said
    assert "7 kits to use" in said
    assert "4 kits in the travel bag" in said
    assert "L1 Sun 31 January 2027 4 kits in the travel bag" in said
    assert "Packed in the travel bag: 4 kits (Kit, half litre)" in said
    values = cara.form(f"{MOVE}?where=home&item={KIT}&units=4", "units").values
    assert (values["where"], values["units"]) == ("home", "4")
    back = move(cara, "home", "4")
    assert "11 kits to use" in back
    assert "kits in the travel bag" not in back


def test_what_is_in_the_bag_has_to_come_back_before_it_leaves(cara: Visitor) -> None:
    move(cara, "bag", "4")
    page = cara.send(MOVE, {"where": "returned", "item": KIT, "units": "11"}, "units")
    (fault,) = faults_of(page)
    assert fault.endswith("has only 7 to take; correct the number, or unpack the bag first.")


@pytest.mark.parametrize(
    ("where", "said"),
    [
        ("clinic", "To a clinic: 3 kits"),
        ("returned", "Sent back: 3 kits"),
        ("disposed", "Disposed of: 3 kits"),
        ("given-away", "Given away: 3 kits"),
    ],
)
def test_what_leaves_for_good_is_off_the_shelf_and_can_be_taken_back(
    where: str, said: str, cara: Visitor
) -> None:
    answer = cara.send(MOVE, {"where": where, "item": KIT, "units": "3"}, "units")
    page = cara.follow(answer)
    assert "8 kits to use" in page
    assert said in page
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert "11 kits to use" in cara.see(SHELF)


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({}, "What happens is empty. Choose what happens with the goods."),
        ({"where": "moon"}, "What happens is moon. Choose one of home, bag"),
        ({"where": "bag", "units": "0"}, "Number of units is 0. Give 1 to 10000 units."),
        ({"where": "bag", "units": "12"}, "Number of units is 12. The record has only 11 to take"),
        ({"where": "home", "units": "1"}, "Number of units is 1. The record has only 0 to take"),
        (
            {"where": "clinic", "units": "12", "lot": "L1"},
            "Number of units is 12. The record has only 11 of lot L1 to take",
        ),
        ({"where": "clinic", "units": "1", "lot": "Q"}, "Lot is Q. The record has no such lot"),
        ({"where": "clinic", "item": "X"}, "Item is X. No such item"),
        ({"where": "bag", "day": "2026-04-01"}, "Day and time is 2026-04-01 12:00. It lies in the"),
    ],
)
def test_a_bad_move_is_named_and_nothing_is_saved(
    changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    before = record(db)
    page = cara.send(MOVE, {"item": KIT, "units": "2"} | changes, "units")
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    assert record(db) == before


def test_a_recalled_lot_is_shown_on_top_until_it_has_left(cara: Visitor, db: Session) -> None:
    said = cara.follow(cara.send(RECALL, {"item": KIT, "lot": " L1 "}, "lot"))
    assert "The lot is marked as recalled." in said
    assert (
        "Recalled – do not use. Kit, half litre, lot L1: 11 kits. "
        "Call Tidewater desk (555 0100) and ask what to do with it." in said
    )
    assert "0 kits to use" in said
    twice = cara.send(RECALL, {"item": KIT, "lot": "L1"}, "lot")
    assert faults_of(twice) == ["Lot is L1. It is marked as recalled already; nothing to do."]
    path = f"{MOVE}?where=returned&item={KIT}&units=11&lot=L1"
    said = cara.follow(cara.send(path, {}, "units"))
    assert "Recalled – do not use." not in said
    assert shelf_on(record(db), TODAY).recalled_units(KIT) == 0


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"lot": ""}, "Lot is empty. Give a short text."),
        ({"lot": "x" * 41}, "Use at most 40 characters."),
        ({"lot": "A", "item": "X"}, "Item is X. No such item"),
    ],
)
def test_a_bad_recall_is_named(changes: dict[str, str], fault: str, cara: Visitor) -> None:
    page = cara.send(RECALL, changes, "lot")
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)


def test_a_delivery_of_a_recalled_lot_is_flagged(cara: Visitor, db: Session) -> None:
    cara.follow(cara.send(RECALL, {"item": BOTTLE, "lot": "B9"}, "lot"))
    changes = {"lines[1].item": BOTTLE, "lines[1].units": "5", "lines[1].lot": "B9"}
    said = cara.follow(cara.send(RECEIVE, changes, "lines[1].units"))
    assert "A lot in it is recalled: do not use it." in said
    assert "Bottle, half litre, lot B9: 5 loose bottles." in said
    assert shelf_on(record(db), TODAY).usable_units(BOTTLE) == 0


def test_wrong_goods_are_kept_apart_until_they_have_left(cara: Visitor, db: Session) -> None:
    changes = {
        "order": "o1",
        "complete": "no",
        "wrong[1].what": "One litre bottle",
        "wrong[1].units": "5",
        "wrong[1].lot": "W1",
    }
    said = cara.follow(cara.send(RECEIVE, changes, "lines[1].units"))
    assert "Wrong goods – not stock. 5 pieces of One litre bottle, came on Wed 11 March." in said
    assert "11 kits to use" in said
    assert "10 kits on the way" in said
    assert record(db).orders[0].status is OrderStatus.PLACED
    (form,) = (one for one in forms_of(cara.get(SHELF)) if one.action.endswith("/wrong"))
    answer = cara.post(form.action, form.values)
    said = cara.follow(answer)
    assert "The wrong goods are off the list. Take back" in said
    assert "not stock. 5 pieces" not in said
    assert isinstance(record(db).ledger[-1], WrongReturn)
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert "not stock. 5 pieces" in cara.see(SHELF)


def wrong_goods_here(visitor: Visitor) -> None:
    """Five pieces that nobody ordered."""
    changes = {"wrong[1].what": "Kits", "wrong[1].units": "5", "wrong[1].lot": "W1"}
    visitor.follow(visitor.send(RECEIVE, changes, "lines[1].units"))


def test_a_part_of_wrong_goods_stays_and_the_rest_leaves(cara: Visitor, db: Session) -> None:
    wrong_goods_here(cara)
    values = cara.form(WRONG, "units").values
    assert (values["units"], values["lot"]) == ("5", "W1")
    changes = {"goes": "stays", "units": "2", "item": KIT, "expires_on": "2027-01-31"}
    answer = cara.send(WRONG, changes, "units")
    said = cara.follow(answer)
    assert "The goods are on your shelf now. Take back" in said
    assert "13 kits to use" in said
    assert "Wrong goods – not stock. 3 pieces of Kits" in said
    assert "Came by mistake and stays: 2 kits (Kit, half litre), lot W1" in said
    said = cara.follow(cara.send(WRONG, {"goes": "left", "units": "1"}, "units"))
    assert "not stock. 2 pieces of Kits" in said
    assert "Wrong goods have left: 1 piece" in said
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    said = cara.see(SHELF)
    assert "11 kits to use" in said
    assert "not stock. 4 pieces of Kits" in said
    kept = next(one for one in record(db).ledger if isinstance(one, WrongKept))
    assert kept.id in record(db).taken_back_ids


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"goes": "left", "units": "6"}, "Number of units is 6. Only 5 of these goods are here"),
        ({"goes": "stays", "units": "6"}, "Number of units is 6. Only 5 of these goods are here"),
        ({"units": "2"}, "What happens with them is empty. Choose what happens with the goods."),
        ({"goes": "left", "units": "none"}, "Number of units is none. Give a whole number"),
        ({"goes": "stays", "expires_on": "2026-01-01"}, "Use by is 2026-01-01. It lies before"),
        ({"goes": "stays", "item": "NO"}, "Item is NO. "),
    ],
)
def test_what_cannot_be_of_wrong_goods_is_refused(
    cara: Visitor, db: Session, changes: dict[str, str], fault: str
) -> None:
    wrong_goods_here(cara)
    before = record(db)
    page = cara.send(WRONG, changes, "units")
    assert page.status_code == 422
    (said,) = faults_of(page)
    assert said.startswith(fault)
    assert record(db) == before


def test_without_wrong_goods_the_page_says_so(cara: Visitor) -> None:
    assert "No wrong goods are here." in cara.see(WRONG)


def test_right_and_wrong_goods_come_in_one_delivery_and_are_taken_back_together(
    cara: Visitor, db: Session
) -> None:
    before = record(db)
    changes = {
        "order": "o1",
        "lines[1].item": KIT,
        "lines[1].units": "10",
        "wrong[2].what": "Caps",
        "wrong[2].units": "2",
    }
    answer = cara.send(RECEIVE, changes, "lines[1].units")
    assert "21 kits to use" in cara.follow(answer)
    added = record(db).ledger[len(before.ledger) :]
    assert [type(one) for one in added] == [Receipt, WrongDelivery]
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    said = cara.see(SHELF)
    assert "11 kits to use" in said
    assert "Wrong goods" not in said
    assert record(db).orders[0].status is OrderStatus.PLACED
    again = cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert "That entry was taken back before." in again


def test_the_same_delivery_on_one_day_is_asked_about(cara: Visitor, db: Session) -> None:
    changes = {"lines[1].item": KIT, "lines[1].units": "5", "lines[1].lot": "N7"}
    cara.follow(cara.send(RECEIVE, changes, "lines[1].units"))
    asked = cara.send(RECEIVE, changes, "lines[1].units")
    assert asked.status_code == 422
    (fault,) = faults_of(asked)
    assert fault.startswith("The delivery is 5 of Kit, half litre, lot N7. The same is written")
    (form,) = (one for one in forms_of(asked) if "lines[1].units" in one.values)
    assert form.values["lines[1].lot"] == "N7"
    assert "It came twice" in text_of(asked)
    said = cara.follow(cara.post(RECEIVE, form.values | {"twice": "yes"}))
    assert "21 kits to use" in said


def test_more_than_an_order_asked_for_is_asked_about(cara: Visitor, db: Session) -> None:
    part = {"order": "o1", "complete": "no", "lines[1].item": KIT, "lines[1].units": "4"}
    cara.follow(cara.send(RECEIVE, part, "lines[1].units"))
    assert cara.form(f"{RECEIVE}?order=o1", "order").values["lines[1].units"] == "6"
    more = part | {"lines[1].units": "9", "lines[1].lot": "N7"}
    asked = cara.send(RECEIVE, more, "lines[1].units")
    assert asked.status_code == 422
    (fault,) = faults_of(asked)
    assert fault.startswith("The delivery is 13 of Kit, half litre. The order asked for 10;")
    (form,) = (one for one in forms_of(asked) if "lines[1].units" in one.values)
    assert (form.values["lines[1].units"], form.values["lines[1].lot"]) == ("9", "N7")
    said = cara.follow(cara.post(RECEIVE, form.values | {"excess": "yes"}))
    assert "24 kits to use" in said
    assert "13 kits, 3 more than ordered" in cara.see("/h/home/orders/o1")


def test_without_an_open_order_none_is_asked_about(cara: Visitor) -> None:
    assert "Which order is it?" in cara.see(RECEIVE)
    cara.follow(cara.send(RECEIVE, {"order": "o1", "lines[1].units": "10"}, "lines[1].units"))
    said = cara.see(RECEIVE)
    assert "Which order is it?" not in said
    assert "Is the order complete now?" not in said


def test_taking_back_leads_to_the_shelf(cara: Visitor) -> None:
    answer = cara.send(COUNT, {"item": BOTTLE, "units": "4"}, "units")
    back = cara.send(answer.headers["location"], {}, "entry")
    assert back.headers["location"] == "/h/home/shelf?done=undone"


def test_an_order_is_not_received_twice(cara: Visitor, db: Session) -> None:
    first = {"order": "o1", "lines[1].item": KIT, "lines[1].units": "10"}
    cara.follow(cara.send(RECEIVE, first, "lines[1].units"))
    page = cara.send(RECEIVE, first | {"lines[1].lot": "other"}, "lines[1].units")
    (fault,) = faults_of(page)
    assert fault.startswith("Order is o1. It is marked as received on 2026-03-11 already;")


def test_a_viewer_sees_the_shelf_and_may_move_nothing(
    enter: Enter, db: Session, cara: Visitor
) -> None:
    cara.follow(cara.send(RECALL, {"item": KIT, "lot": "L1"}, "lot"))
    viewer = enter("vic")
    assert "Recalled – do not use." in viewer.see(SHELF)
    assert "It has left" not in viewer.see(SHELF)
    assert viewer.get(MOVE).status_code == 404
    assert isinstance(record(db).ledger[-1], Recall)
