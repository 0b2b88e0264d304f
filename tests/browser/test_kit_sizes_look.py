"""Kits of several sizes: set by ticking, asked about when recording, shown on the shelf."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import SignIn
from tests.browser.looks import axe_finds, does_not_fit

pytestmark = pytest.mark.browser

HALF, LITRE = "Kit, half litre", "Kit, litre"


def press_save(page: Page) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).click()


def order_litre_kits(page: Page) -> None:
    """From now on litre kits are ordered, and half-litre kits are used up."""
    page.goto("/h/home/settings")
    if LITRE not in page.inner_text("main"):
        page.goto("/h/home/settings/item")
        page.get_by_label("What do you call it?").fill(LITRE)
        page.get_by_label("Kit: one bottle with its dressing pack").check()
        page.get_by_label("How much does its bottle hold, in mL?").fill("1000")
        page.get_by_label("How many single pieces are in a box?").fill("5")
        press_save(page)
    page.goto("/h/home/settings/goods")
    page.get_by_label("Which kit do you order?").select_option(label=LITRE)
    page.get_by_role("checkbox", name=HALF).check()
    press_save(page)
    expect(page.locator("main")).to_contain_text(f"Fit as well, and are used up: {HALF}")


@pytest.mark.parametrize("width", [320, 1280])
def test_nothing_is_found_on_the_pages_that_show_them(
    width: int, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", width)
    order_litre_kits(page)
    shown = {
        "settings/goods": "Which other kits fit as well?",
        "sessions/new": "Which kit did you open?",
        "shelf": f"Fits as well as {LITRE}",
    }
    for path, text in shown.items():
        page.goto(f"/h/home/{path}")
        expect(page.locator("main")).to_contain_text(text)
        assert axe_finds(page, axe_source) == []
        assert does_not_fit(page) == []


def test_the_kit_of_a_further_bottle_is_asked_with_its_line(
    browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", 360)
    order_litre_kits(page)
    page.goto("/h/home/sessions/new")
    first = page.get_by_label("Which kit did you open?")
    assert first.evaluate("one => one.selectedOptions[0].text") == HALF
    second, third = (page.get_by_label(f"Bottle {n} came from") for n in (2, 3))
    expect(second).to_be_hidden()
    page.get_by_label("Bottle 1 (mL)").fill("480")
    expect(second).to_be_visible()
    expect(second).to_have_value("")
    expect(third).to_be_hidden()
    assert axe_finds(page, axe_source) == []
    assert does_not_fit(page) == []
