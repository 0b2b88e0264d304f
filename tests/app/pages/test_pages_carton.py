"""Reading the code on a box into the form for a delivery, without scripts."""

from __future__ import annotations

import html

import httpx
import pytest
from sqlmodel import Session, select

from app.convert import read_household
from app.models_shelf import CartonCodeRow
from planner.ledger import Receipt
from tests.app.data_builders import BOTTLE, KIT
from tests.app.pages.visitor import PageForm, Visitor, faults_of, forms_of, text_of

RECEIVE = "/h/home/shelf/receive"
NUMBER, OTHER = "10614141999993", "06291041500213"
CODE = f"01{NUMBER}1727063010AB-12"


def form_of(page: httpx.Response) -> PageForm:
    return next(one for one in forms_of(page) if "lines[1].units" in one.values)


def read(visitor: Visitor, form: PageForm, code: str, **more: str) -> httpx.Response:
    return visitor.post(RECEIVE, form.values | {"action": "read", "code": code, **more})


def taught(visitor: Visitor, path: str = RECEIVE, code: str = CODE, **more: str) -> httpx.Response:
    """Read a new code and say which item it is for."""
    asked = read(visitor, visitor.form(path, "lines[1].units"), code)
    return read(visitor, form_of(asked), code, code_item=KIT, **more)


def test_a_new_code_is_asked_about_and_remembered(cara: Visitor, db: Session) -> None:
    form = cara.form(RECEIVE, "lines[1].units")
    asked = read(cara, form, CODE)
    assert asked.status_code == 200
    assert "This code is new. Nothing is saved yet." in text_of(asked)
    assert form_of(asked).values["code"] == CODE
    filled = read(cara, form_of(asked), CODE, code_item=KIT)
    said = text_of(filled)
    assert (
        "Line 1 now says 10 kits (Kit, half litre), lot AB-12, use by Wed 30 June 2027. "
        "Check it with the box." in said
    )
    values = form_of(filled).values
    line = [values[f"lines[1].{name}"] for name in ("item", "units", "lot", "expires_on")]
    assert line == [KIT, "10", "AB-12", "2027-06-30"]
    assert values["code"] == ""
    (row,) = db.exec(select(CartonCodeRow)).all()
    assert (row.household_id, row.gtin, row.item_code, row.units) == ("home", NUMBER, KIT, 10)
    known = read(cara, cara.form(RECEIVE, "lines[1].units"), CODE)
    assert "Line 1 now says 10 kits" in text_of(known)


def test_read_twice_a_line_grows_and_another_lot_takes_the_next(cara: Visitor) -> None:
    page = taught(cara)
    page = read(cara, form_of(page), CODE)
    assert "Line 1 now says 20 kits" in text_of(page)
    page = read(cara, form_of(page), f"(01){NUMBER}(17)280131(10)ZZ")
    values = form_of(page).values
    assert (values["lines[1].units"], values["lines[2].units"]) == ("20", "10")
    said = cara.follow(cara.post(RECEIVE, form_of(page).values))
    assert "41 kits to use" in said
    assert "AB-12 Wed 30 June 2027 20 kits usable" in said


def test_the_line_of_an_order_gets_its_lot_and_date(cara: Visitor, db: Session) -> None:
    page = taught(cara, f"{RECEIVE}?order=o1", code_units="5")
    values = form_of(page).values
    assert (values["lines[1].units"], values["lines[1].lot"]) == ("5", "AB-12")
    assert values["lines[2].units"] == ""
    cara.follow(cara.post(RECEIVE, values))
    db.rollback()
    household = read_household(db, "home")
    assert household is not None
    entry = household.ledger[-1]
    assert isinstance(entry, Receipt)
    assert (entry.units, entry.lot, entry.order_id) == (5, "AB-12", "o1")


def test_numbers_in_the_code_go_before_the_usual_box(cara: Visitor) -> None:
    page = taught(cara, code=f"02{NUMBER}373\x1d10Q", code_units="10")
    assert "Line 1 now says 30 kits" in text_of(page)
    page = read(cara, form_of(page), f"01{NUMBER}307\x1d10R")
    assert "Line 2 now says 7 kits" in text_of(page)


def test_the_second_code_of_a_box_completes_its_line(cara: Visitor) -> None:
    page = taught(cara, code=f"01{NUMBER}")
    page = read(cara, form_of(page), "1727063010AB-12")
    values = form_of(page).values
    line = [values[f"lines[1].{name}"] for name in ("units", "lot", "expires_on")]
    assert line == ["10", "AB-12", "2027-06-30"]


def test_a_wrong_item_is_forgotten_and_asked_again(cara: Visitor, db: Session) -> None:
    page = taught(cara)
    page = cara.post(RECEIVE, form_of(page).values | {"action": "again"})
    said = text_of(page)
    assert "Choose the item again." in said
    assert form_of(page).values["lines[1].lot"] == ""
    assert db.exec(select(CartonCodeRow)).all() == []
    page = read(cara, form_of(page), form_of(page).values["code"], code_item=BOTTLE)
    assert "Line 1 now says 5 loose bottles" in text_of(page)


def test_enter_in_another_field_saves_nothing_and_keeps_all(cara: Visitor, db: Session) -> None:
    before = read_household(db, "home")
    form = cara.form(RECEIVE, "lines[1].units")
    page = read(cara, form, "", **{"lines[2].units": "4", "lines[2].lot": "K"})
    assert "Nothing is saved yet." in text_of(page)
    assert form_of(page).values["lines[2].lot"] == "K"
    db.rollback()
    assert read_household(db, "home") == before


@pytest.mark.parametrize(
    ("code", "fault"),
    [
        (f"01{NUMBER[:-1]}4", "The item number in the code is 10614141999994. Its last digit"),
        (f"01{NUMBER}17271332", "The use-by date in the code is 271332. There is no such date"),
        (f"01{NUMBER}10{'A' * 21}", "The lot in the code is AAAAAAAAAAAAAAAAAAAAA. A lot has at"),
        (f"01{NUMBER}1727", "The use-by date in the code is 27. (17) breaks off"),
        ("rubbish", "The code on the box is rubbish. At rubbis it cannot be read as a GS1 code"),
        ("10ONLY", "The item number in the code is empty. The code has none; read the other"),
    ],
)
def test_a_code_that_cannot_be_read_is_named_and_entries_are_kept(
    code: str, fault: str, cara: Visitor
) -> None:
    form = cara.form(RECEIVE, "lines[1].units")
    page = read(cara, form, code, **{"lines[3].units": "", "lines[3].lot": ""})
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    assert form_of(page).values["code"] == code


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"code_item": "X"}, "The item that the code is for is X. No such item"),
        ({"code_item": KIT, "code_units": "0"}, "The number of pieces in the box is 0. Give 1 to"),
        ({"code_item": KIT, "code_units": "few"}, "The number of pieces in the box is few. Give a"),
    ],
)
def test_a_bad_answer_about_a_code_is_named(
    more: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    form = cara.form(RECEIVE, "lines[1].units")
    page = read(cara, form, CODE, **more)
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    assert db.exec(select(CartonCodeRow)).all() == []


def test_a_full_form_says_so(cara: Visitor) -> None:
    page = taught(cara)
    more = {f"lines[{n}].units": "1" for n in range(1, 7)}
    more |= {f"lines[{n}].lot": f"L{n}" for n in range(1, 7)}
    page = read(cara, form_of(page), CODE, **more)
    assert "Every line is taken" in html.unescape(page.text)


def test_goods_past_their_date_are_pointed_out(cara: Visitor) -> None:
    page = taught(cara, code=f"01{NUMBER}1726030110OLD")
    assert "This date has passed: write these goods under" in text_of(page)


def test_what_one_household_taught_another_does_not_know(cara: Visitor, db: Session) -> None:
    db.add(CartonCodeRow(household_id="other", gtin=OTHER, item_code=KIT, units=10))
    db.commit()
    page = read(cara, cara.form(RECEIVE, "lines[1].units"), f"01{OTHER}")
    assert "This code is new." in text_of(page)
