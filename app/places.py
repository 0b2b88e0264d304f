"""Time zones by place, and the country whose public holidays are usual there.

References:
    IANA time zone database, files zone.tab and iso3166.tab, as packed in `tzdata`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from holidays import list_supported_countries

UTC = "UTC"


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
def places() -> tuple[Place, ...]:
    """Every place, by country and city."""
    countries = {row[0]: row[1] for row in _rows("iso3166.tab")}
    found = []
    for code, _, zone, *_ in _rows("zone.tab"):
        city = zone.rpartition("/")[2].replace("_", " ")
        found.append(Place(zone=zone, country=code, name=f"{countries[code]}: {city}"))
    return tuple(sorted(found, key=lambda one: one.name))


@cache
def country_of(zone: str) -> str | None:
    """The country of a time zone when its public holidays are known here."""
    country = next((one.country for one in places() if one.zone == zone), None)
    return country if country in list_supported_countries() else None


@cache
def countries() -> tuple[tuple[str, str], ...]:
    """Code and name of every country whose public holidays are known here."""
    known = list_supported_countries()
    rows = ((code, name) for code, name in _rows("iso3166.tab") if code in known)
    return tuple(sorted(rows, key=lambda one: one[1]))


def zone_choices(chosen: str = "") -> list[tuple[str, str]]:
    """Time zones to choose from; one that is in use already is always among them."""
    choices = [(one.zone, one.name) for one in places()]
    if chosen and chosen not in {zone for zone, _ in choices}:
        choices.insert(0, (chosen, chosen))
    return choices


def _rows(name: str) -> list[list[str]]:
    text = files("tzdata").joinpath("zoneinfo", name).read_text(encoding="utf-8")
    return [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]
