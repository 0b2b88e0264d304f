"""Settings and first steps in a browser: without scripts, by keyboard, faults in focus."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import SignIn

pytestmark = pytest.mark.browser

FOCUS = "() => document.activeElement.id"


@pytest.mark.parametrize("width", [360, 1280])
def test_a_setting_is_changed_and_taken_back_without_scripts(
    width: int, browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "cara", width, scripts=False)
    if width == 360:
        page.get_by_text("More", exact=True).click()
    page.get_by_role("link", name="Settings").click()
    page.get_by_role("link", name="Change the supplier").click()
    page.get_by_label("Working days from order to delivery").fill("9")
    page.get_by_label("Phone").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    said = page.get_by_role("status")
    assert "Your change is saved." in said.inner_text()
    assert page.get_by_text("9 working days from order to delivery").is_visible()
    with page.expect_navigation():
        said.get_by_role("button", name="Take back").click()
    assert page.get_by_text("3 working days from order to delivery").is_visible()


def test_a_fault_has_the_focus_and_leads_to_its_field(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 360)
    page.goto("/h/home/settings/supplier")
    page.get_by_label("Working days from order to delivery").fill("many")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").click()
    assert page.evaluate(FOCUS) == "faults"
    page.get_by_role("alert").get_by_role("link").click()
    assert page.evaluate(FOCUS) == "f-lead-business-days"
    assert page.get_by_label("Working days from order to delivery").input_value() == "many"


def test_a_household_is_set_up_without_scripts(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 360, scripts=False)
    page.goto("/start")
    page.get_by_label("A name for this household").fill("M. A.")
    page.get_by_label("How many kits are there?").fill("7")
    page.get_by_role("button", name="Show my first plan").click()
    assert page.get_by_label("How many kits are there?").input_value() == "7"
    page.get_by_label("Which place is nearest?").select_option("Europe/London")
    page.get_by_role("button", name="Show my first plan").click()
    assert "Your first plan is ready." in page.get_by_role("status").inner_text()
    assert page.get_by_role("heading", name="Supplies for").is_visible()
