"""The page of reminders in a browser: sound at any size, and usable by keyboard alone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import SignIn
from tests.browser.looks import OVERFLOW, SMALL_TARGETS, axe_finds

pytestmark = pytest.mark.browser

PLACES = (("cara", "/h/home/reminders"), ("cody", "/agency/ours/reminders"))


@pytest.mark.parametrize(("width", "dark"), [(320, False), (1280, False), (360, True)])
def test_the_page_of_choices_has_no_fault(
    width: int, dark: bool, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    for who, path in PLACES:
        page = sign_in(browser, who, width, dark=dark)
        page.goto(path)
        assert axe_finds(page, axe_source) == [], path
        assert page.evaluate(OVERFLOW) <= 0, path
        assert page.evaluate(SMALL_TARGETS) == [], path


def test_large_text_does_not_run_over_the_edge(
    large_text_browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(large_text_browser, "cara", 360)
    page.goto("/h/home/reminders")
    size = page.evaluate("() => parseFloat(getComputedStyle(document.body).fontSize)")
    assert size == 36
    assert page.evaluate(OVERFLOW) <= 0


def test_a_choice_is_made_by_keyboard_and_without_scripts(
    browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "cara", 360, scripts=False)
    page.goto("/h/home/calendar")
    page.get_by_role("link", name="reminders by e-mail").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.get_by_label("A delivery is late").focus()
    page.keyboard.press("Space")
    page.get_by_label("Until").focus()
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert page.get_by_role("status").inner_text() == "Your choices are saved."
    assert page.get_by_label("A delivery is late").is_checked()
    assert not page.get_by_label("Supplies may run out before new ones come").is_checked()
