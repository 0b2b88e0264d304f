"""Questions in a browser: two plans beside each other or one below the other, and the list."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import SignIn
from tests.browser.looks import axe_finds, does_not_fit

pytestmark = pytest.mark.browser

KINDS = ("travel", "stay", "supplier", "delivery", "damage", "plan")


def ask(page: Page) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name="Show what it means").click()


def sound(page: Page, axe_source: str) -> None:
    assert does_not_fit(page) == []
    assert axe_finds(page, axe_source) == []


@pytest.mark.parametrize("width", [360, 1280])
def test_a_question_is_asked_answered_and_printed(
    width: int, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", width)
    page.goto("/h/home/what-if")
    sound(page, axe_source)
    page.get_by_role("link", name="We travel").click()
    page.get_by_label("First day away").fill("2026-03-16")
    ask(page)  # the day of coming home is left out
    assert page.get_by_role("alert").is_visible()
    sound(page, axe_source)
    page.get_by_label("First day at home again").fill("2026-03-23")
    ask(page)
    assert page.url.endswith("/what-if/travel")
    sound(page, axe_source)
    now, then = (page.locator(".sides section").nth(n).bounding_box() for n in (0, 1))
    assert now is not None
    assert then is not None
    assert (now["y"] == then["y"]) is (width == 1280)
    with page.expect_navigation():
        page.get_by_role("button", name="The list alone").click()
    sound(page, axe_source)


def test_every_form_fits_a_phone(browser: Browser, sign_in: SignIn, axe_source: str) -> None:
    page = sign_in(browser, "pat", 360)
    for kind in KINDS:
        page.goto(f"/h/home/what-if/{kind}")
        sound(page, axe_source)


def test_only_the_fields_of_the_chosen_frequency_are_shown(
    browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "cara", 360, scripts=False)
    page.goto("/h/home/what-if/plan")
    days, monday = page.get_by_label("Days from one session"), page.get_by_label("Monday")
    assert days.is_visible()
    assert not monday.is_visible()
    page.get_by_label("On fixed weekdays").check()
    assert monday.is_visible()
    assert not days.is_visible()
    monday.check()
    ask(page)
    assert "With this, supplies will probably last" in page.inner_text("main")
