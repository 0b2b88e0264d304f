"""A coordinator's calendar page in a browser: sound at any size, usable by keyboard alone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import SignIn
from tests.browser.looks import OVERFLOW, SMALL_TARGETS, axe_finds

pytestmark = pytest.mark.browser

PATH = "/agency/ours/calendar"


def open_choices(page: Page) -> None:
    """The page of somebody who has an address."""
    page.goto(PATH)
    make = page.get_by_role("button", name="Make the address")
    if make.count():
        with page.expect_navigation():
            make.click()
    page.goto(PATH)


@pytest.mark.parametrize(("width", "dark"), [(320, False), (360, True), (1280, False)])
def test_the_choices_have_no_fault_before_and_after_a_bad_value(
    width: int, dark: bool, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cody", width, dark=dark)
    open_choices(page)
    for step in ("shown", "refused"):
        if step == "refused":
            page.get_by_label("The day to order by").uncheck()
            with page.expect_navigation():
                page.get_by_role("button", name="Save what it shows").click()
            assert page.get_by_role("alert").is_visible()
        assert axe_finds(page, axe_source) == [], step
        assert page.evaluate(OVERFLOW) <= 0, step
        assert page.evaluate(SMALL_TARGETS) == [], step


def test_a_fault_leads_to_its_field(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cody", 360, scripts=False)
    open_choices(page)
    page.get_by_label("The day to order by").uncheck()
    with page.expect_navigation():
        page.get_by_role("button", name="Save what it shows").click()
    page.get_by_role("link", name="Tick at least one kind of entry").click()
    top = page.get_by_role("group", name="Which entries?").bounding_box()
    assert top is not None
    assert 0 <= top["y"] < 800


def test_a_choice_is_made_by_keyboard_and_without_scripts(
    browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "cody", 360, scripts=False)
    open_choices(page)
    page.get_by_label("Running short only").focus()
    page.keyboard.press("Space")
    page.get_by_label("The next delivery").focus()
    page.keyboard.press("Space")
    page.get_by_role("button", name="Save what it shows").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert page.get_by_role("status").inner_text().startswith("Saved.")
    assert page.get_by_label("Running short only").is_checked()
    assert page.get_by_label("The next delivery").is_checked()
    assert page.get_by_text("This address shows: households that run short, of all").count() == 1


def test_large_text_does_not_run_over_the_edge(
    large_text_browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(large_text_browser, "cody", 360)
    open_choices(page)
    assert page.evaluate("() => parseFloat(getComputedStyle(document.body).fontSize)") == 36
    assert page.evaluate(OVERFLOW) <= 0
