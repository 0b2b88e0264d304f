"""Names of countries and cities in the language of whoever looks."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import available_timezones

import pytest

from app import display
from app.german.places import CITIES, COUNTRIES
from app.places import countries, places, zone_choices


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    yield
    display.begin_request()


def test_german_names_belong_to_countries_and_zones_that_there_are() -> None:
    assert COUNTRIES.keys() <= {one.country for one in places()} | {"BV", "HM"}
    assert CITIES.keys() <= available_timezones()
    assert all(COUNTRIES.values())
    assert all(CITIES.values())


def test_the_same_zones_are_offered_in_each_language() -> None:
    english = dict(zone_choices())
    display.begin_request("de")
    german = dict(zone_choices())
    assert english.keys() == german.keys()
    assert english["Europe/Vienna"] == "Austria: Vienna"
    assert german["Europe/Vienna"] == "Österreich: Wien"
    assert german["Europe/Berlin"] == "Deutschland: Berlin"


def test_countries_stand_by_their_letters() -> None:
    assert dict(countries())["EG"] == "Egypt"
    display.begin_request("de")
    names = [name for _, name in countries()]
    assert names.index("Ägypten") < names.index("Albanien") < names.index("Österreich")
    assert names.index("Österreich") < names.index("Polen")
