"""Time zones by place, and the country whose public holidays are usual there.

References:
    IANA time zone database, files zone.tab and iso3166.tab, as packed in `tzdata`.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from holidays import list_supported_countries

from app import display
from app.german.places import CITIES, COUNTRIES

UTC = "UTC"

NAMES: dict[str, tuple[Mapping[str, str], Mapping[str, str]]] = {"de": (COUNTRIES, CITIES)}
"""By language, countries by code and cities by time zone that have another name there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place of the time zone database.

    Attributes:
        zone: IANA name of the time zone.
        country: ISO 3166-1 alpha-2 code.
        name: country and city, for people.
    """

    zone: str
    country: str
    name: str


@cache
def places(language: str = "en") -> tuple[Place, ...]:
    """Every place with its name in a language, by country and city."""
    named, cities = _country_names(language), NAMES.get(language, ({}, {}))[1]
    found = []
    for code, _, zone, *_ in _rows("zone.tab"):
        city = cities.get(zone) or zone.rpartition("/")[2].replace("_", " ")
        found.append(Place(zone=zone, country=code, name=f"{named[code]}: {city}"))
    return tuple(sorted(found, key=lambda one: _sort_key(one.name)))


@cache
def country_of(zone: str) -> str | None:
    """The country of a time zone when its public holidays are known here."""
    country = next((one.country for one in places() if one.zone == zone), None)
    return country if country in list_supported_countries() else None


def countries() -> tuple[tuple[str, str], ...]:
    """Code and name of every country whose public holidays are known, for whoever looks."""
    known = list_supported_countries()
    named = _country_names(display.current().language)
    rows = ((code, name) for code, name in named.items() if code in known)
    return tuple(sorted(rows, key=lambda one: _sort_key(one[1])))


def zone_choices(chosen: str = "") -> list[tuple[str, str]]:
    """Time zones to choose from, for whoever looks; one in use already is always among them."""
    choices = [(one.zone, one.name) for one in places(display.current().language)]
    if chosen and chosen not in {zone for zone, _ in choices}:
        choices.insert(0, (chosen, chosen))
    return choices


@cache
def _country_names(language: str) -> dict[str, str]:
    other = NAMES.get(language, ({}, {}))[0]
    return {code: other.get(code, name) for code, name in _rows("iso3166.tab")}


def _sort_key(name: str) -> str:
    """Letters with marks among those without."""
    apart = unicodedata.normalize("NFKD", name)
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).casefold()


def _rows(name: str) -> list[list[str]]:
    text = files("tzdata").joinpath("zoneinfo", name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]
