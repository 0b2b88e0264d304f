"""The order page: the proposal, an explicit yes, placed, cancelled."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from sqlmodel import Session

from app.access import HouseholdAccess
from app.convert import read_household
from app.models import HouseholdRow, SupplierRow
from app.services_shelf import count_item
from app.writing import Request
from planner.household import Household
from planner.supply import OrderStatus
from tests.app.data_builders import BOTTLE, KIT, NOW, TODAY
from tests.app.pages.visitor import Visitor, faults_of, text_of

ORDER = "/h/home/order"
BOXES = ("lines[1].boxes", "lines[2].boxes", "lines[3].boxes")
YES = {"said_yes": "yes", "lines[1].boxes": "3"}


def record(db: Session) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "home")
    assert household is not None
    return household


def test_the_page_says_what_when_and_why(cara: Visitor) -> None:
    said = cara.see(ORDER)
    assert "Tidewater desk (555 0100)" in said
    assert "Nothing is sent by itself" in said
    assert "Fluid a day about" in said
    assert re.search(r"Sessions learned from 1\d ", said)
    assert "The chance of running out before then is" in said
    assert "Mon 9 March 1 box of Kit, half litre placed" in said


def test_an_order_needs_a_name_and_an_explicit_yes(cara: Visitor, db: Session) -> None:
    form = cara.form(ORDER, "version")
    assert "said_yes" not in form.values
    said = cara.follow(cara.send(ORDER, YES | {"lines[2].boxes": "1"}, "version"))
    assert "Your yes is written down. Now place the order with your supplier." in said
    order = record(db).orders[-1]
    assert [(one.item_code, one.boxes) for one in order.lines] == [(KIT, 3), (BOTTLE, 1)]
    assert (order.confirmed_by, order.status) == ("cara", OrderStatus.CONFIRMED)
    assert "and 1 box of Bottle, half litre confirmed, not placed yet cara" in said
    assert "Until then it does not count as on its way." in said
    assert "First place or cancel the order that waits." in said


def test_an_order_placed_already_counts_at_once(cara: Visitor, db: Session) -> None:
    said = cara.follow(cara.send(ORDER, YES | {"placed": "yes"}, "version"))
    assert "Your order is written down as placed." in said
    assert record(db).orders[-1].status is OrderStatus.PLACED


def test_a_no_is_kept_and_shown(cara: Visitor, db: Session) -> None:
    said = cara.follow(cara.send(ORDER, {"declined_by": "Pat"}, "declined_by"))
    assert "Your answer is written down. Nothing was ordered." in said
    assert re.search(r"Wed 11 March, Pat: No, not needed now\. The plan had proposed", said)
    assert len(record(db).orders) == 1
    page = cara.send(ORDER, {"declined_by": ""}, "declined_by")
    assert page.status_code == 422
    assert faults_of(page) == ["Your name is empty. Give a short text."]


def test_a_refill_rule_asks_whether_supplies_are_needed(cara: Visitor, db: Session) -> None:
    assert "what is at home will run out" not in cara.see(ORDER)
    row = db.get_one(HouseholdRow, "home")
    row.refill_rule, row.input_version = "us-medicare", row.input_version + 1
    db.commit()
    page = cara.send(ORDER, YES, "version")
    assert page.status_code == 422
    assert any("The box that supplies are needed is not ticked" in one for one in faults_of(page))
    cara.follow(cara.send(ORDER, YES | {"said_needed": "yes"}, "version"))
    answer = record(db).orders[-1].steps[0].note
    assert answer.startswith("Yes, we need these supplies")
    assert "We use these supplies as planned" in answer


def test_a_second_yes_is_refused_while_the_first_order_waits(cara: Visitor, db: Session) -> None:
    form = cara.form(ORDER, "version").values
    cara.follow(cara.post(ORDER, form | YES))
    later = {"version": str(int(form["version"]) + 1), "submission": "another"}
    page = cara.post(ORDER, form | YES | later)
    assert page.status_code == 422
    assert any("waits to be placed; place or cancel it first" in one for one in faults_of(page))
    assert len(record(db).orders) == 2


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"said_yes": ""}, "The box for your yes is not ticked. Tick the box"),
        ({"confirmed_by": ""}, "Your name is empty. Give a short text."),
        (dict.fromkeys(BOXES, "0"), "Boxes is empty. List at least one item"),
        ({"lines[1].boxes": "-2"}, "Boxes in line 1 is -2. Give 1 to 200 boxes."),
        ({"lines[1].boxes": "0", "lines[2].boxes": "999"}, "Boxes in line 2 is 999. Give 1 to"),
        ({"lines[1].boxes": "two"}, "Boxes in line 1 is two. Give a whole number of boxes"),
        ({"promised_on": "2026-03-10"}, "Promised day is 2026-03-10. It lies in the past"),
    ],
)
def test_a_bad_value_is_named_and_nothing_is_ordered(
    changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    page = cara.send(ORDER, YES | changes, "version")
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    for name, value in changes.items():
        if name != "said_yes":
            assert f'value="{value}"' in page.text
    assert len(record(db).orders) == 1


def test_a_proposal_that_is_out_of_date_is_shown_anew(cara: Visitor, db: Session) -> None:
    form = cara.form(ORDER, "version")
    count = {"item": KIT, "units": "11"}
    cara.follow(cara.send("/h/home/shelf/count", count, "units"))
    page = cara.post(ORDER, form.values | YES)
    assert page.status_code == 409
    assert "The record has changed Nothing was ordered." in text_of(page)
    assert len(record(db).orders) == 1
    fresh = cara.form(ORDER, "version").values
    assert fresh["version"] != form.values["version"]


def test_sending_it_twice_orders_once(cara: Visitor, db: Session) -> None:
    values = cara.form(ORDER, "version").values | YES
    for _ in range(2):
        assert "Your yes is written down" in cara.follow(cara.post(ORDER, values))
    assert len(record(db).orders) == 2


def test_an_order_with_the_day_the_supplier_named(cara: Visitor, db: Session) -> None:
    day = TODAY + timedelta(days=5)
    cara.follow(cara.send(ORDER, YES | {"promised_on": day.isoformat()}, "version"))
    assert record(db).orders[-1].promised_on == day


@pytest.mark.parametrize("path", [ORDER, f"{ORDER}/decline"])
def test_an_answer_that_does_not_say_which_page_it_saw_counts_as_old(
    path: str, cara: Visitor, db: Session
) -> None:
    values = cara.form(ORDER, "version").values | YES | {"declined_by": "Cara"}
    for version in ("", "no number", "²", "9" * 12):
        page = cara.post(path, values | {"version": version})
        assert page.status_code == 409, version
    assert len(record(db).orders) == 1


def offer_express(db: Session) -> None:
    supplier, household = db.get_one(SupplierRow, "home"), db.get_one(HouseholdRow, "home")
    supplier.express_business_days = 1
    household.input_version += 1
    db.commit()


def test_an_order_is_written_down_as_express_only_where_that_is_offered(
    cara: Visitor, db: Session
) -> None:
    assert "express" not in cara.form(ORDER, "version").values
    assert 'name="express"' not in cara.get(ORDER).text
    page = cara.send(ORDER, YES | {"express": "yes"}, "version")
    assert page.status_code == 422
    assert faults_of(page) == [
        (
            "Express is ticked. The supplier's terms name no express; take the tick out, or "
            "enter its days first."
        )
    ]
    offer_express(db)
    assert 'name="express"' in cara.get(ORDER).text
    cara.follow(cara.send(ORDER, YES | {"express": "yes", "placed": "yes"}, "version"))
    order = record(db).orders[-1]
    assert order.is_express
    assert "placed, express" in cara.see(ORDER)
    own = f"/h/home/orders/{order.id}"
    assert "It goes by express." in cara.see(own)
    assert "Delivery Express" in cara.see(f"{own}/print")
    assert "usual" not in cara.see(f"{own}/print")
    assert '"priority": "urgent"' in cara.get(f"{own}/order.fhir.json").text
    assert "Express" not in cara.see("/h/home/orders/o1/print")


def test_an_order_without_the_tick_is_a_usual_one(cara: Visitor, db: Session) -> None:
    offer_express(db)
    cara.follow(cara.send(ORDER, YES | {"placed": "yes"}, "version"))
    assert not record(db).orders[-1].is_express


def test_the_pages_name_the_day_of_express_where_the_shelf_runs_short(
    cara: Visitor, db: Session, carer: HouseholdAccess
) -> None:
    offer_express(db)
    cara.follow(cara.send("/h/home/orders/o1", {"step": "cancelled"}, "on"))
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=1, at=NOW)
    db.commit()
    for page in (ORDER, "/h/home"):
        said = cara.see(page)
        assert "Ask for the whole order by express." in said, page
        assert "Express goods should come on Thu 12 March." in said, page
        assert "Sent the usual way, goods ordered today should come on Mon 16 March." in said
