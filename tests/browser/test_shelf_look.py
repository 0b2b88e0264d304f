"""A scanner at the form for a delivery, and the pages of the shelf that only a form leads to."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import SignIn
from tests.browser.looks import axe_finds, does_not_fit

pytestmark = pytest.mark.browser

NUMBER = "10614141999993"
RECEIVE = "/h/home/shelf/receive"


def press(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=name, exact=True).click()


def scan(page: Page, *parts: str) -> None:
    """Type as a hand scanner does: keys, Ctrl+] between the parts, Enter at the end."""
    code = page.get_by_label("Code on the box")
    code.focus()
    for n, part in enumerate(parts):
        if n:
            page.keyboard.press("Control+]")
        page.keyboard.type(part)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_a_scanner_fills_in_lines_and_saves_nothing_by_its_enter(
    browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", 360)
    page.goto(RECEIVE)
    scan(page, f"01{NUMBER}10AB-12", "17270630")
    expect(page.locator("#read")).to_contain_text("This code is new.")
    assert axe_finds(page, axe_source) == []
    assert does_not_fit(page) == []
    page.get_by_label("Which item is this code for?").select_option(label="Kit, half litre")
    press(page, "Fill in a line")
    expect(page.get_by_label("Lot in line 1")).to_have_value("AB-12")
    expect(page.get_by_label("Use-by date in line 1")).to_have_value("2027-06-30")
    expect(page.get_by_label("Code on the box")).to_be_focused()
    scan(page, f"01{NUMBER}10AB-12", "17270630")
    expect(page.get_by_label("Units in line 1")).to_have_value("20")
    assert page.url.endswith(RECEIVE)
    assert axe_finds(page, axe_source) == []
    assert does_not_fit(page) == []
    page.get_by_label("Lot in line 1").fill("CHANGED")
    with page.expect_navigation():
        page.get_by_label("Lot in line 1").press("Enter")
    expect(page.get_by_role("status")).to_contain_text("The delivery is on your shelf now.")
    expect(page.locator("main")).to_contain_text("CHANGED")
    press(page, "Take back")


def test_without_scripts_enter_reads_the_code_as_well(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 360, scripts=False)
    page.goto(RECEIVE)
    page.get_by_label("Lot in line 1").fill("KEPT")
    page.get_by_label("Code on the box").fill("(01)10614141999990")
    with page.expect_navigation():
        page.get_by_label("Code on the box").press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("Its last digit should be 3")
    expect(page.get_by_label("Lot in line 1")).to_have_value("KEPT")


@pytest.mark.parametrize("width", [360, 1280])
def test_nothing_is_found_where_a_count_and_the_record_differ(
    width: int, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", width)
    page.goto("/h/home/shelf/count")
    page.get_by_label("How many are there?").fill("3")
    press(page, "Save the count")
    expect(page.get_by_role("status")).to_contain_text("Your count and the record differ")
    assert axe_finds(page, axe_source) == []
    assert does_not_fit(page) == []


@pytest.mark.parametrize("with_scripts", [True, False])
def test_plus_and_minus_count_with_large_targets_and_enter_saves(
    browser: Browser, sign_in: SignIn, with_scripts: bool
) -> None:
    page = sign_in(browser, "cara", 360, scripts=with_scripts)
    page.goto("/h/home/shelf/count")
    units = page.get_by_label("How many are there?")
    for number, name in enumerate(("One more", "One more", "One more", "One less")):
        button = page.get_by_role("button", name=name, exact=True)
        box = button.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
        button.click()
        expect(units).to_have_value(str(number + 1 if name == "One more" else 2))
    units.fill("7")
    with page.expect_navigation():
        units.press("Enter")
    expect(page.locator("#difference")).to_contain_text("You counted 7")
