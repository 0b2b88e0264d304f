"""Typed numbers: marks between thousands are those of the reader's language."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from app import display
from app.forms import FormReader


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    yield
    display.begin_request()


@pytest.mark.parametrize(
    ("language", "typed", "wanted"),
    [
        ("en", "1,250", 1250),
        ("en", "1,250,000", 1_250_000),
        ("en", "1 250 mL", 1250),
        ("en", "1'250", 1250),
        ("en", "-3", -3),
        ("de", "1.250", 1250),
        ("de", "1.250 ml", 1250),
        ("de", "450", 450),
    ],
)
def test_thousands_are_read_with_their_marks(language: str, typed: str, wanted: int) -> None:
    display.begin_request(language)
    reader = FormReader({"volume_ml": typed})
    assert reader.whole("volume_ml", unit="mL") == wanted
    assert reader.faults == []


@pytest.mark.parametrize(
    ("language", "typed"),
    [
        ("en", "450,5"),
        ("en", "4,50"),
        ("en", "1.250"),
        ("en", "12,3456"),
        ("de", "450,5"),
        ("de", "1,250"),
        ("de", "4.50"),
        ("de", "mL"),
    ],
)
def test_a_decimal_number_is_not_taken_for_a_larger_one(language: str, typed: str) -> None:
    display.begin_request(language)
    reader = FormReader({"volume_ml": typed})
    reader.whole("volume_ml", unit="mL")
    assert [(one.field, one.value) for one in reader.faults] == [("volume_ml", typed)]
