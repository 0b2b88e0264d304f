"""An order for a spreadsheet: whole boxes, and no text that a program takes for a formula."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from app.order_documents import ORDER_HEAD, order_csv
from app.spreadsheets import csv_text, plain_cell
from tests.app.data_builders import KIT, make_household


def test_an_order_is_one_line_for_each_item() -> None:
    home = make_household()
    (row,) = csv.DictReader(io.StringIO(order_csv(home, home.orders[0])))
    assert tuple(row) == ORDER_HEAD
    assert (row["order"], row["household"], row["item"]) == ("o1", "home", KIT)
    assert (row["boxes"], row["units_per_box"], row["units"]) == ("1", "10", "10")
    assert (row["confirmed_on"], row["state"], row["delivery_named"]) == (
        "2026-03-09",
        "placed",
        "",
    )
    assert home.name not in order_csv(home, home.orders[0])
    assert row["express"] == "no"
    (row,) = csv.DictReader(io.StringIO(order_csv(home, replace(home.orders[0], is_express=True))))
    assert row["express"] == "yes"


# Source: OWASP, CSV Injection, starts of cells that spreadsheets take for formulas (from memory).
@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "\nx", "  =1", "\N{FULLWIDTH EQUALS SIGN}1"],
)
def test_a_text_like_a_formula_is_led_by_an_apostrophe(text: str) -> None:
    assert plain_cell(text) == "'" + text
    read = list(csv.reader(io.StringIO(csv_text(("a", "b"), [(text, -5)]), newline="")))
    assert read == [["a", "b"], ["'" + text, "-5"]]


@pytest.mark.parametrize("text", ["", "Kit, half litre", 'say "so"', "2=2", "a\nb"])
def test_any_other_text_stays_as_it_is(text: str) -> None:
    read = list(csv.reader(io.StringIO(csv_text(("a",), [(text, "end")]), newline="")))
    assert read[1] == [text, "end"]


def test_names_from_the_record_are_made_safe() -> None:
    home = make_household()
    named = replace(
        home,
        items=(replace(home.items[0], name="=cmd"), *home.items[1:]),
        supplier=replace(home.supplier, name="@evil"),
    )
    (row,) = csv.DictReader(io.StringIO(order_csv(named, named.orders[0])))
    assert (row["item_name"], row["supplier"]) == ("'=cmd", "'@evil")
