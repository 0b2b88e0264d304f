"""Codes on cartons against published examples, and against rules taken apart.

References:
    Check digits: GS1 General Specifications, section 7.9, by way of the worked examples named
    beside each. Dates: section 7.12. Element strings: section 3 and figure 7.8.5-2. Section
    numbers and the rules of dates are from memory; the examples in brackets are our own.
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.carton import CartonCode, check_digit, read_carton
from planner.errors import InvalidValue

TODAY = date(2026, 3, 11)
GS = "\x1d"
NUMBER = "10614141999993"


@pytest.mark.parametrize(
    ("digits", "expected"),
    [
        ("629104150021", 3),  # GS1's page on check digits, worked example of a GTIN-13
        ("890400021003", 7),  # GS1 India's page on check digits
        ("9638507", 4),  # GTIN-8 96385074, public test tables
        ("61414199999", 6),  # GTIN-12 614141999996, public test tables
        ("1061414199999", 3),  # GTIN-14 10614141999993, public test tables
        ("3842587609507", 4),  # python-stdnum, documentation of gs1_128
        ("37610425002123456", 9),  # SSCC 376104250021234569, worked example, from memory
    ],
)
def test_check_digits_of_published_examples(digits: str, expected: int) -> None:
    assert check_digit(digits) == expected


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.text("0123456789", min_size=13, max_size=13), st.integers(0, 13), st.integers(1, 9))
def test_any_single_wrong_digit_is_found(payload: str, place: int, by: int) -> None:
    right = payload + str(check_digit(payload))
    assert read_carton(f"(01){right}", TODAY).gtin == right
    wrong = right[:place] + str((int(right[place]) + by) % 10) + right[place + 1 :]
    with pytest.raises(InvalidValue, match="gtin is"):
        read_carton(f"(01){wrong}", TODAY)


@pytest.mark.parametrize(
    ("today", "digits", "expected"),
    [
        # Within 49 years back and 50 ahead of the current year.
        (2026, "760101", date(2076, 1, 1)),
        (2026, "770101", date(1977, 1, 1)),
        (2026, "000101", date(2000, 1, 1)),
        (2060, "090101", date(2109, 1, 1)),
        (2060, "100101", date(2110, 1, 1)),
        (2060, "110101", date(2011, 1, 1)),
        (1998, "480101", date(2048, 1, 1)),
        (1998, "490101", date(1949, 1, 1)),
        # Day 00 is the last day of the month.
        (2026, "270200", date(2027, 2, 28)),
        (2026, "280200", date(2028, 2, 29)),
        (2026, "261200", date(2026, 12, 31)),
    ],
)
def test_the_century_and_the_end_of_the_month(today: int, digits: str, expected: date) -> None:
    assert read_carton(f"17{digits}", date(today, 6, 1)).expires_on == expected


WHOLE = CartonCode(gtin=NUMBER, lot="AB-12", expires_on=date(2027, 6, 30), contained=6)


@pytest.mark.parametrize(
    "text",
    [
        f"(01){NUMBER}(17)270630(10)AB-12(37)6",
        f"(01) {NUMBER} (17) 270630 (10) AB-12 (37) 6",
        f"02{NUMBER}1727063037 6{GS}10AB-12".replace(" ", ""),
        f"01{NUMBER}1727063010AB-12{GS}376",
        f"]C101{NUMBER}1727063010AB-12{GS}376",
        f"]d201{NUMBER}1727063010AB-12{GS}376",
        f"]Q3{GS}01{NUMBER}1727063010AB-12{GS}376{GS}",
        f"01{NUMBER}1727063010AB-12<GS>376",
        f"01{NUMBER}21SERIAL9{GS}1727063010AB-12{GS}376",
        f"01{NUMBER}112501311727063010AB-12{GS}376",
        f"  01{NUMBER}{GS}17270630{GS}376{GS}10AB-12\r\n",
        f"01{NUMBER}310200012517270630376{GS}10AB-12{GS}240X{GS}",
    ],
)
def test_one_carton_read_in_every_form(text: str) -> None:
    assert read_carton(text, TODAY) == WHOLE


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("96385074", "00000096385074"),
        ("614141999996", "00614141999996"),
        ("6291041500213", "06291041500213"),
        (NUMBER, NUMBER),
        ("]E06291041500213", "06291041500213"),
    ],
)
def test_an_item_number_alone_is_a_code_as_well(text: str, number: str) -> None:
    assert read_carton(text, TODAY) == CartonCode(gtin=number)


def test_pieces_in_a_pack_of_varying_content() -> None:
    assert read_carton(f"01{NUMBER}3012{GS}10Q", TODAY).pieces == 12


def test_a_lot_of_twenty_characters_is_the_longest() -> None:
    assert read_carton("10" + "A" * 20, TODAY).lot == "A" * 20


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "code is empty: scan, paste or type the code on the box."),
        ("  \x1d ", "code is empty: scan, paste or type the code on the box."),
        (
            "(01)10614141999994",
            (
                "gtin is 10614141999994: its last digit should be 3, so one digit is wrong; "
                "scan or type it again."
            ),
        ),
        (
            "(01)1061414199999",
            "gtin is 1061414199999: (01) breaks off: it has 14 characters, here are 13; scan it",
        ),
        ("0110614141", "gtin is 10614141: (01) breaks off: it has 14 characters, here are 8;"),
        (f"01{NUMBER}17", "expires_on is empty: the code breaks off after (17); scan it again."),
        (f"01{NUMBER}1727{GS}10A", "expires_on is 27: (17) breaks off: it has 6 characters"),
        ("17271332", "expires_on is 271332: there is no such date; look at the box and type it"),
        ("17270230", "expires_on is 270230: there is no such date; look at the box"),
        ("1727AB30", "expires_on is 27AB30: it should be six digits, YYMMDD; scan it again."),
        ("10" + "A" * 21, "lot is AAAAAAAAAAAAAAAAAAAAA: a lot has at most 20 characters;"),
        ("(10)A#B", "lot is A#B: it has a sign that no lot may have; scan it again."),
        ("(01)1061414199999X", "gtin is 1061414199999X: an item number has 14 digits"),
        (f"01{NUMBER}37x", "count is x: (37) gives a whole number of pieces from 1 to 10000"),
        (f"01{NUMBER}370", "count is 0: (37) gives a whole number of pieces from 1 to 10000"),
        ("]A0123", "code is ]A0123: it is not a GS1 code; look for another code on the box"),
        ("hello there", "code is hello there: at hello  it cannot be read as a GS1 code;"),
        (f"01{NUMBER}5512", f"code is 01{NUMBER}5512: at 5512 it cannot be read as a GS1 code"),
        ("(x", "code is (x: it breaks off; scan it again."),
        ("10A\x1d10B", "(10) stands there twice and differs; scan one box at a time."),
        ("9" * 401, "use at most 400 characters."),
    ],
)
def test_what_cannot_be_read_is_named_with_what_to_do(text: str, sentence: str) -> None:
    with pytest.raises(InvalidValue) as refused:
        read_carton(text, TODAY)
    assert sentence in str(refused.value)


LETTERS = st.text("ABCXYZabc0123456789-./", min_size=1, max_size=20)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    st.text("0123456789", min_size=13, max_size=13),
    LETTERS,
    st.dates(date(1977, 1, 1), date(2076, 12, 31)),
    st.integers(1, 9999),
    st.permutations(["01", "10", "17", "37", "21"]),
)
def test_any_order_of_elements_reads_the_same(
    payload: str, lot: str, day: date, count: int, order: list[str]
) -> None:
    number = payload + str(check_digit(payload))
    data = {"01": number, "10": lot, "17": f"{day:%y%m%d}", "37": str(count), "21": "S1"}
    raw = "".join(key + data[key] + (GS if key in ("10", "37", "21") else "") for key in order)
    bracketed = "".join(f"({key}){data[key]}" for key in order)
    expected = CartonCode(gtin=number, lot=lot, expires_on=day, contained=count)
    assert read_carton(raw, TODAY) == expected
    assert read_carton(bracketed, TODAY) == expected


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.text(max_size=60))
def test_no_text_at_all_breaks_the_reader(text: str) -> None:
    try:
        read_carton(text, TODAY)
    except InvalidValue as refused:
        assert refused.fault.fix  # noqa: PT017  (any other kind of error fails the test)
