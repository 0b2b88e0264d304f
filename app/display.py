"""How the person of a request wants to see days and volumes, and in which language.

It changes what pages show and nothing that is stored. Calendars and e-mail follow the language
of the person whose they are, and write days in the usual way, as the command does.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum

US_FLUID_OUNCE_ML = 29.5735295625
"""One US fluid ounce: 231 cubic inches make a gallon of 128 of them. [mL]

References:
    NIST Handbook 44, appendix C, units of liquid volume: 1 fluid ounce = 29.573 529 56 mL
    (figure from the project's notes); NIST SP 811 (2008), appendix B.8: 2.957 353 E+01 mL
    (from memory).
"""


class DateStyle(StrEnum):
    """How a day is written."""

    USUAL = "usual"
    LONG = "long"
    SHORT = "short"
    MONTH_FIRST = "month-first"
    ISO = "iso"


class VolumeUnit(StrEnum):
    """In which unit a volume is shown."""

    ML = "ml"
    FLUID_OUNCE = "fl-oz"


@dataclass(frozen=True, slots=True, kw_only=True)
class Display:
    """One person's choices; `language` is one of the catalogue's."""

    date_style: DateStyle = DateStyle.USUAL
    volume_unit: VolumeUnit = VolumeUnit.ML
    language: str = "en"


@dataclass(slots=True)
class _Seat:
    """Who looks at this request. Threads that serve it share the seat."""

    display: Display


USUAL = Display()
_seat: ContextVar[_Seat | None] = ContextVar("seat", default=None)


def begin_request(language: str = USUAL.language) -> None:
    """A new request, of nobody yet, whose browser asks for a language."""
    _seat.set(_Seat(Display(language=language)))


def show_as(display: Display) -> None:
    """From now on this request is shown so; without a request it does nothing."""
    seat = _seat.get()
    if seat is not None:
        seat.display = display


def current() -> Display:
    """How to show things now."""
    seat = _seat.get()
    return USUAL if seat is None else seat.display


def to_fluid_ounces(volume_ml: float) -> float:
    """A volume in US fluid ounces. [fl oz]"""
    return volume_ml / US_FLUID_OUNCE_ML


def to_ml(volume_fl_oz: float) -> float:
    """A volume given in US fluid ounces. [mL]"""
    return volume_fl_oz * US_FLUID_OUNCE_ML
