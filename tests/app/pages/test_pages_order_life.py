"""The page of one order: steps with their days, late orders, undoing, bad values."""

from __future__ import annotations

import re
from datetime import datetime

import pytest
from sqlmodel import Session

from app.convert import read_household
from app.models import HouseholdRow
from planner.household import Household
from planner.supply import OrderStatus
from tests.app.data_builders import KIT
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

PAGE = "/h/home/orders/o1"


def record(db: Session) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "home")
    assert household is not None
    return household


def choices(cara: Visitor) -> list[str]:
    return re.findall(r'name="step" value="([^"]+)"', cara.get(PAGE).text)


def test_the_page_says_what_was_ordered_and_how_far_it_came(cara: Visitor) -> None:
    said = cara.see(PAGE)
    assert "Order of Mon 9 March" in said
    assert "This order is placed." in said
    assert "Kit, half litre 1 box 10 kits 0 kits 10 kits" in said
    assert "Tidewater desk (555 0100)" in said
    assert cara.get("/h/home/orders/o9").status_code == 404


def test_the_supplier_names_a_day_and_the_order_becomes_late(
    cara: Visitor, db: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    step = {"step": "acknowledged", "expected_on": "2026-03-12"}
    said = cara.follow(cara.send(PAGE, step, "on"))
    assert "The step is written down." in said
    assert "The supplier has it Wed 11 March, 14:00 cara Thu 12 March" in said
    assert record(db).orders[0].promised_on is not None
    assert "It is late" not in cara.see(PAGE)
    monkeypatch.setenv("EBBSTOCK_NOW", "2026-03-13T09:00:00+00:00")
    assert "It is late, it should have come on Thu 12 March." in cara.see(PAGE)
    assert "ask when" in cara.see(PAGE)
    assert "late, it should have come on Thu 12 March" in cara.see("/h/home/order")


def test_only_steps_that_may_follow_are_offered(cara: Visitor) -> None:
    assert choices(cara) == ["acknowledged", "on-its-way", "cancelled"]
    cara.follow(cara.send(PAGE, {"step": "on-its-way"}, "on"))
    assert choices(cara) == ["on-its-way", "cancelled"]
    values = {"item": KIT, "lines[1].units": "4", "complete": "no"}
    cara.follow(cara.send("/h/home/shelf/receive?order=o1", values, "complete"))
    assert choices(cara) == ["on-its-way", "received"]
    said = cara.see(PAGE)
    assert "This order is received in part." in said
    assert "10 kits 4 kits 6 kits" in said
    said = cara.follow(cara.send(PAGE, {"step": "received"}, "on"))
    assert "This order is received." in said
    assert "The rest will not come" in said
    assert choices(cara) == []


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"step": ""}, "What happened is empty. Choose one of the steps."),
        ({"step": "lost"}, "What happened is lost. Choose one of the steps on the page."),
        ({"step": "placed"}, "What happened is placed. An order that is placed cannot be placed"),
        ({"step": "received"}, "What happened is received. Write down the goods that came"),
        ({"on": "soon"}, "Day it happened is soon. Give a day of the calendar"),
        ({"on": "2026-03-12"}, "Day it happened is 2026-03-12. It lies in the future"),
        ({"on": "2026-03-01"}, "Day it happened is 2026-03-01. It lies before the step before it"),
        ({"expected_on": "2026-03-10"}, "Delivery day the supplier named is 2026-03-10. It lies"),
        ({"expected_on": "Friday"}, "Delivery day the supplier named is Friday. Give a day"),
    ],
)
def test_a_bad_value_is_named_and_the_order_stays(
    changes: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    page = cara.send(PAGE, {"step": "on-its-way"} | changes, "on")
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    for name, value in changes.items():
        if name != "step":
            assert f'value="{value}"' in page.text
    assert record(db).orders[0].steps == ()


def test_a_step_sent_twice_is_written_once(cara: Visitor, db: Session) -> None:
    values = cara.form(PAGE, "on").values | {"step": "acknowledged"}
    for _ in range(2):
        cara.follow(cara.post(f"{PAGE}/step", values))
    assert len(record(db).orders[0].steps) == 2


def test_the_last_step_can_be_taken_back_once(cara: Visitor, db: Session) -> None:
    assert not any("number" in one.values for one in forms_of(cara.get(PAGE)))
    cara.follow(cara.send(PAGE, {"step": "cancelled"}, "on"))
    assert record(db).orders[0].status is OrderStatus.CANCELLED
    form = cara.form(PAGE, "number")
    said = cara.follow(cara.post(form.action, form.values))
    assert "The last step was taken back." in said
    assert "Cancelled Taken back on Wed 11 March, 14:00 by cara" in said
    assert record(db).orders[0].status is OrderStatus.PLACED
    again = cara.post(form.action, form.values | {"submission": "another"})
    assert again.status_code == 409
    bad = cara.post(form.action, form.values | {"submission": "third", "number": "x"})
    assert bad.status_code == 422
    first = cara.post(form.action, form.values | {"submission": "fourth", "number": "1"})
    assert first.status_code == 422
    assert "It is the first step and stays; cancel the order instead." in text_of(first)


def test_a_confirmed_order_is_placed_from_its_page(cara: Visitor, db: Session) -> None:
    yes = {"said_yes": "yes", "lines[1].boxes": "3"}
    cara.follow(cara.send("/h/home/order", yes, "version"))
    key = record(db).orders[-1].id
    said = cara.see(f"/h/home/orders/{key}")
    assert "This order is confirmed, not placed yet." in said
    assert "Yes, we need these supplies and want this order placed." in said
    cara.follow(cara.send(f"/h/home/orders/{key}", {"step": "placed"}, "on"))
    assert record(db).orders[-1].is_open


def test_the_papers_of_an_order(cara: Visitor) -> None:
    said = cara.see(f"{PAGE}/print")
    assert "To Tidewater desk (555 0100)" in said
    assert "K-HALF Kit, half litre 1 box 10 kits" in said
    assert "Household of the tests" not in said
    sheet = cara.get(f"{PAGE}/order.csv")
    assert sheet.headers["content-type"] == "text/csv; charset=utf-8"
    assert sheet.headers["content-disposition"] == 'attachment; filename="order.csv"'
    assert sheet.text.splitlines()[1].startswith("o1,home,Tidewater Supplies,2026-03-09,placed,")
    bundle = cara.get(f"{PAGE}/order.fhir.json")
    assert bundle.headers["content-type"] == "application/fhir+json"
    assert bundle.json()["entry"][0]["resource"]["status"] == "active"
    for path in ("print", "order.csv", "order.fhir.json"):
        assert cara.get(f"/h/home/orders/o9/{path}").status_code == 404


def test_an_order_is_placed_by_the_household_s_own_clock(cara: Visitor, db: Session) -> None:
    """14:00 UTC on 11 March is 03:00 on the 12th in Auckland, which keeps UTC+13 in March."""
    row = db.get_one(HouseholdRow, "home")
    row.time_zone, row.input_version = "Pacific/Auckland", row.input_version + 1
    db.commit()
    yes = {"said_yes": "yes", "lines[1].boxes": "1", "placed": "yes"}
    cara.follow(cara.send("/h/home/order", yes, "version"))
    assert record(db).orders[-1].placed_at == datetime(2026, 3, 12, 3, 0)
