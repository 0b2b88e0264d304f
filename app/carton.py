"""Reading the code on a carton: GS1 element strings, as scanned, pasted or typed.

References:
    GS1 General Specifications: figure 7.8.5-2 (element strings of predefined length), section
    7.9 (check digit), section 7.12 (century and day 00 of dates), figure 7.11-1 (characters of
    a lot), symbology identifiers in section 5. Section numbers from memory.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from planner.errors import InvalidValue

GTIN, CONTENT, LOT, EXPIRY, UNITS, COUNT = "01", "02", "10", "17", "30", "37"
LONGEST_LOT = 20
LONGEST_CODE = 400

_SEPARATOR = "\x1d"
_SHOWN_SEPARATORS = re.compile(r"<GS>|\{GS\}|\[GS\]|\^\]|\u241d", re.IGNORECASE)
_GS1_SYMBOLS = ("]C1", "]d2", "]Q3", "]e0", "]J1")
_ITEM_NUMBER_SYMBOLS = ("]E0", "]E4")
_IN_BRACKETS = re.compile(r"\((\d{2,4})\)")
_LOT_LETTERS = re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]*""")

_IDENTIFIER_DIGITS = {
    **dict.fromkeys(("23", "24", "25", "40", "41", "42", "71"), 3),
    **dict.fromkeys(
        ("31", "32", "33", "34", "35", "36", "39", "43", "70", "72", "80", "81", "82"), 4
    ),
    **dict.fromkeys(("00", "01", "02", "03", "10", "11", "12", "13", "15", "16", "17", "20"), 2),
    **dict.fromkeys(("21", "22", "30", "37", *map(str, range(90, 100))), 2),
}
"""Digits of an application identifier, by its first two."""

_FIXED = {
    **dict.fromkeys(("11", "12", "13", "14", "15", "16", "17", "18", "19"), 6),
    **dict.fromkeys(("31", "32", "33", "34", "35", "36"), 6),
    "00": 18,
    "01": 14,
    "02": 14,
    "03": 14,
    "04": 16,
    "20": 2,
    "41": 13,
}
"""Characters of the data after an identifier that begins so; all others end at a separator."""

_FIELDS = {GTIN: "gtin", CONTENT: "gtin", LOT: "lot", EXPIRY: "expires_on"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CartonCode:
    """What a carton says of itself.

    Attributes:
        gtin: item number, 14 digits; empty when the code has none.
        expires_on: last day of use.
        contained: how many packs with this item number the carton holds; None when not said.
        pieces: how many pieces a pack holds whose content varies; None when not said.
    """

    gtin: str = ""
    lot: str = ""
    expires_on: date | None = None
    contained: int | None = None
    pieces: int | None = None


def read_carton(text: str, today: date) -> CartonCode:
    """Read a carton's code.

    Args:
        text: with or without symbology prefix, in raw or in bracket form, or an item number.
        today: decides the century of two-digit years.

    Raises:
        InvalidValue: fields `code`, `gtin`, `lot`, `expires_on`, `count`.
    """
    cleaned = _SHOWN_SEPARATORS.sub(_SEPARATOR, text.strip(" \t\r\n"))
    if not cleaned.strip(_SEPARATOR):
        raise InvalidValue("code", None, "scan, paste or type the code on the box")
    if len(cleaned) > LONGEST_CODE:
        raise InvalidValue("code", text, f"use at most {LONGEST_CODE} characters")
    found: dict[str, str] = {}
    for identifier, data in _elements(cleaned):
        if found.setdefault(identifier, data) != data:
            fix = f"({identifier}) stands there twice and differs; scan one box at a time"
            raise InvalidValue("code", text, fix)
    number = found.get(GTIN) or found.get(CONTENT, "")
    return CartonCode(
        gtin=_checked_number(number) if number else "",
        lot=_checked_lot(found.get(LOT, "")),
        expires_on=_day(found[EXPIRY], today) if EXPIRY in found else None,
        contained=_checked_count(found, COUNT),
        pieces=_checked_count(found, UNITS),
    )


def check_digit(digits: str) -> int:
    """The GS1 check digit that belongs after these digits.

    Examples:
        >>> check_digit("629104150021")
        3
    """
    total = sum(int(one) * (3 if n % 2 == 0 else 1) for n, one in enumerate(reversed(digits)))
    return -total % 10


def _elements(code: str) -> Iterator[tuple[str, str]]:
    """Application identifiers with their data."""
    symbol, rest = (code[:3], code[3:]) if code.startswith("]") else ("", code)
    if symbol and symbol not in (*_GS1_SYMBOLS, *_ITEM_NUMBER_SYMBOLS):
        fix = "it is not a GS1 code; look for another code on the box, or fill in the line by hand"
        raise InvalidValue("code", code, fix)
    if symbol in _ITEM_NUMBER_SYMBOLS or _is_bare_number(rest):
        yield GTIN, rest.zfill(14)
    elif rest.startswith("("):
        yield from _in_brackets(rest)
    else:
        yield from _raw(rest)


def _is_bare_number(code: str) -> bool:
    """Whether it is an item number alone; eight digits from 17 on are a use-by date.

    No item number of eight digits begins with 17 (GS1-8 prefixes, from memory).
    """
    if not (code.isascii() and code.isdigit()) or (len(code) == 8 and code.startswith(EXPIRY)):
        return False
    return len(code) in (8, 12, 13, 14)


def _in_brackets(code: str) -> Iterator[tuple[str, str]]:
    parts = _IN_BRACKETS.split(code)
    for identifier, data in zip(parts[1::2], parts[2::2], strict=True):
        value = data.strip().strip(_SEPARATOR)
        _check_complete(identifier, value, _FIXED.get(identifier[:2]))
        yield identifier, value
    if len(parts) == 1:
        raise InvalidValue("code", code, "it breaks off; scan it again")


def _raw(code: str) -> Iterator[tuple[str, str]]:
    rest = code.lstrip(_SEPARATOR)
    while rest:
        digits = _IDENTIFIER_DIGITS.get(rest[:2])
        identifier = rest[:digits]
        if digits is None or not identifier.isdigit() or len(identifier) < digits:
            where = f"at {rest[:6].split(_SEPARATOR)[0]}"
            fix = f"{where} it cannot be read as a GS1 code; scan it again, or fill in the line"
            raise InvalidValue("code", code.replace(_SEPARATOR, " "), fix)
        body = rest[digits:]
        fixed = _FIXED.get(identifier[:2])
        value = body.split(_SEPARATOR)[0] if fixed is None else body[:fixed]
        _check_complete(identifier, value.split(_SEPARATOR)[0], fixed)
        yield identifier, value
        rest = body[len(value) :].lstrip(_SEPARATOR)


def _check_complete(identifier: str, value: str, fixed: int | None) -> None:
    """Refuse data that breaks off, or digits that are too many."""
    field = _FIELDS.get(identifier, "code")
    if not value:
        fix = f"the code breaks off after ({identifier}); scan it again"
        raise InvalidValue(field, None, fix)
    if fixed is not None and len(value) != fixed:
        short = "breaks off" if len(value) < fixed else "is too long"
        fix = f"({identifier}) {short}: it has {fixed} characters, here are {len(value)}"
        raise InvalidValue(field, value, f"{fix}; scan it again")


def _checked_number(number: str) -> str:
    if not (number.isascii() and number.isdigit() and len(number) == 14):
        raise InvalidValue("gtin", number, "an item number has 14 digits; scan it again")
    right = check_digit(number[:-1])
    if int(number[-1]) != right:
        fix = f"its last digit should be {right}, so one digit is wrong; scan or type it again"
        raise InvalidValue("gtin", number, fix)
    return number


def _checked_lot(lot: str) -> str:
    if len(lot) > LONGEST_LOT:
        fix = (
            f"a lot has at most {LONGEST_LOT} characters; the end of the lot was not marked, "
            "so fill in the line by hand"
        )
        raise InvalidValue("lot", lot, fix)
    if not _LOT_LETTERS.fullmatch(lot):
        raise InvalidValue("lot", lot, "it has a sign that no lot may have; scan it again")
    return lot


def _checked_count(found: dict[str, str], identifier: str) -> int | None:
    text = found.get(identifier)
    if text is None:
        return None
    if not re.fullmatch(r"[0-9]{1,8}", text) or not 1 <= int(text) <= 10_000:
        fix = f"({identifier}) gives a whole number of pieces from 1 to 10000; scan it again"
        raise InvalidValue("count", text, fix)
    return int(text)


def _day(text: str, today: date) -> date:
    """The day of YYMMDD; day 00 is the last of its month.

    The year is the one within 49 years back and 50 ahead.
    """
    if not re.fullmatch(r"[0-9]{6}", text):
        raise InvalidValue("expires_on", text, "it should be six digits, YYMMDD; scan it again")
    year, month, day = today.year - today.year % 100 + int(text[:2]), int(text[2:4]), int(text[4:])
    if year - today.year >= 51:
        year -= 100
    elif year - today.year <= -50:
        year += 100
    if 1 <= month <= 12:
        last = calendar.monthrange(year, month)[1]
        if day <= last:
            return date(year, month, day or last)
    raise InvalidValue("expires_on", text, "there is no such date; look at the box and type it in")
