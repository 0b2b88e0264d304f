"""How a person sees days and volumes: their own choice, which changes no record."""

from __future__ import annotations

import pytest

from app import display
from app.display import US_FLUID_OUNCE_ML, to_fluid_ounces, to_ml
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of

SESSIONS = "/h/home/sessions"


@pytest.mark.parametrize(
    ("style", "shown"),
    [
        ("usual", "Mon 9 March"),
        ("long", "Monday 9 March"),
        ("short", "9 Mar"),
        ("month-first", "Mar 9"),
        ("iso", "2026-03-09"),
    ],
)
def test_days_are_written_as_chosen(style: str, shown: str, cara: Visitor) -> None:
    said = cara.follow(cara.send("/display", {"date_style": style}, "date_style"))
    assert "Your change is saved." in said
    assert f"{shown}, 09:00" in cara.see(SESSIONS)
    assert cara.see("/h/home")


def test_volumes_are_shown_in_fluid_ounces_and_written_in_ml(cara: Visitor) -> None:
    assert "320 mL" in cara.see(SESSIONS)
    cara.send("/display", {"volume_unit": "fl-oz"}, "volume_unit")
    said = cara.see(SESSIONS)
    assert "10.8 fl oz" in said
    assert " mL" not in said
    assert "Bottle 1 (mL)" in cara.see("/h/home/sessions/new")


def test_a_choice_is_one_persons_own(cara: Visitor, enter: Enter) -> None:
    cara.send("/display", {"volume_unit": "fl-oz"}, "volume_unit")
    assert "320 mL" in enter("pat").see(SESSIONS)


def test_only_languages_that_exist_are_offered(cara: Visitor) -> None:
    page = cara.get("/display").text
    assert '<option value="en" selected>English</option>' in page


@pytest.mark.parametrize("name", ["date_style", "volume_unit", "language"])
def test_a_choice_that_does_not_exist_is_named(name: str, cara: Visitor) -> None:
    label = {"date_style": "Days", "volume_unit": "Volumes", "language": "Language"}[name]
    answer = cara.send("/display", {name: "x"}, name)
    assert answer.status_code == 422
    assert faults_of(answer) == [f"{label} is x. Choose one of those on the page."]


def test_a_fluid_ounce_is_that_of_the_standard() -> None:
    # NIST Handbook 44, appendix C: 1 US fluid ounce = 29.573 529 56 mL.
    assert to_ml(1) == pytest.approx(29.57352956, abs=5e-9)
    # The same from its definition: 231 cubic inches of (2.54 cm)^3 to a gallon of 128.
    assert pytest.approx(231 * 2.54**3 / 128, rel=1e-15) == US_FLUID_OUNCE_ML


@pytest.mark.parametrize("volume_ml", [0, 1, 50, 320, 500, 1000, 4999])
def test_there_and_back_is_the_same_volume(volume_ml: int) -> None:
    assert round(to_ml(to_fluid_ounces(volume_ml)), 9) == volume_ml


def test_outside_of_a_request_everything_is_shown_the_usual_way() -> None:
    display.show_as(display.Display(language="xx"))
    assert display.current() == display.USUAL
