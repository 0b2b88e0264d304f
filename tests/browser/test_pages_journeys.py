"""The main journeys of the three users, on a phone and a desk, without scripts, by keyboard."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.app.data_builders import UTC_NOW
from tests.browser.conftest import SignIn

pytestmark = pytest.mark.browser

BOTH = pytest.mark.parametrize("width", [360, 1280])


def press(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=name).click()


@BOTH
def test_the_patient_sees_the_answer_at_once_and_records_a_session(
    width: int, browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "pat", width, scripts=False)
    heading = page.get_by_role("heading", level=1)
    expect(heading).to_have_text(re.compile(r"^Supplies for \d+ days$"))
    for seen in (heading, page.get_by_role("link", name="Record a session")):
        box = seen.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 800
    page.get_by_role("link", name="Record a session").click()
    page.get_by_label("Time").fill("12:34" if width == 360 else "12:35")
    second = page.get_by_label("Bottle 2 (mL)")
    expect(second).to_be_hidden()
    page.get_by_label("Bottle 1 (mL)").fill("500")
    expect(second).to_be_visible()
    second.fill("120")
    page.get_by_label("The bottle was full").check()
    press(page, "Save")
    expect(page.get_by_role("status")).to_contain_text("Your session is written down.")
    press(page, "Take back")
    expect(page.get_by_role("status")).to_contain_text("That entry was taken back.")


@BOTH
def test_the_carer_counts_orders_and_receives(
    width: int, browser: Browser, sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    hours = 1 if width == 360 else 2
    monkeypatch.setenv("EBBSTOCK_NOW", (UTC_NOW + timedelta(hours=hours)).isoformat())
    page = sign_in(browser, "cara", width, scripts=False)
    page.get_by_role("link", name="Shelf").click()
    page.get_by_role("link", name="Count Kit, half litre").click()
    page.get_by_label("How many are there?").fill("7")
    press(page, "Save the count")
    if page.locator("#difference").is_visible():
        page.get_by_label("I do not know").check()
        press(page, "Save the count")
    expect(page.locator("main")).to_contain_text("7 kits to use")

    page.get_by_role("link", name="Order", exact=True).click()
    page.get_by_label("Kit, half litre, boxes").fill("2")
    press(page, "Confirm the order")
    expect(page.get_by_role("alert")).to_contain_text("Tick the box to say")
    expect(page.get_by_label("Kit, half litre, boxes")).to_have_value("2")
    page.get_by_label("Yes, we need these supplies").check()
    press(page, "Confirm the order")
    expect(page.get_by_role("status")).to_contain_text("Your yes is written down.")
    page.get_by_role("link", name="Write down that it is placed").click()
    page.get_by_label("I have placed it with the supplier").check()
    press(page, "Write it down")
    expect(page.locator("main")).to_contain_text("This order is placed.")
    page.get_by_role("link", name="All orders").click()

    page.get_by_role("link", name="It has come: the order of Wed 11 March").first.click()
    expect(page.get_by_label("Units in line 1")).to_have_value("20")
    # Counted and received within one minute, the delivery comes on top of the count.
    moment = UTC_NOW + timedelta(hours=hours, seconds=20)
    monkeypatch.setenv("EBBSTOCK_NOW", moment.isoformat())
    page.get_by_label("Lot in line 1").fill(f"W{width}")
    page.get_by_label("Use-by date in line 1").fill("2027-05-31")
    press(page, "Put it on the shelf")
    expect(page.locator("main")).to_contain_text("27 kits to use")
    expect(page.locator("main")).to_contain_text(f"W{width}")


@BOTH
def test_the_coordinator_finds_a_household_and_the_combined_order(
    width: int, browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "cody", width, scripts=False)
    expect(page.get_by_role("heading", level=1)).to_have_text("Who needs something this week?")
    page.get_by_label("Find a household by name").fill("tests")
    press(page, "Find")
    assert "tests" not in page.url
    page.get_by_role("link", name="Combined order").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Combined order")
    page.goto("/agency/ours")
    page.get_by_role("link", name="Household of the tests").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Supplies for")


def test_a_session_is_recorded_with_the_keyboard_alone(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 1280)
    page.goto("/h/home/sessions/new")
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.textContent") == "Skip to the page"
    assert page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle") == "solid"
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        name = page.evaluate("() => document.activeElement.name || ''")
        reached.add(name)
        if name == "bottles[1].volume_ml":
            page.keyboard.type("210")
        if name == "time":
            break_at = page.evaluate("() => document.activeElement.value")
            assert break_at == "14:00"
        if page.evaluate("() => document.activeElement.textContent.trim()") == "Save":
            break
    assert {"day", "time", "bottles[1].volume_ml", "bottles[2].volume_ml"} <= reached
    assert "stop_reason" in reached
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Your session is written down.")


def test_the_order_prints_without_buttons(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 1280)
    page.goto("/h/home/order")
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="Confirm the order")).to_be_hidden()
    expect(page.locator("main")).to_contain_text("Supplier:")
    expect(page.locator("footer")).to_contain_text("Follow your own plan.")
    assert page.pdf().startswith(b"%PDF")
