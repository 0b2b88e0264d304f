"""An order printed to a file: one sheet with every line and nothing to click."""

from __future__ import annotations

import io

import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from tests.browser.conftest import SignIn

pytestmark = pytest.mark.browser


def printed(page_bytes: bytes) -> tuple[int, str]:
    """Number of sheets and all their text, white space joined."""
    reader = PdfReader(io.BytesIO(page_bytes))
    return len(reader.pages), " ".join(" ".join(one.extract_text() for one in reader.pages).split())


@pytest.mark.parametrize("width", [360, 1280])
def test_an_order_prints_on_one_sheet_without_navigation(
    width: int, browser: Browser, sign_in: SignIn
) -> None:
    page = sign_in(browser, "cara", width)
    page.goto("/h/home/orders/o1/print")
    sheets, text = printed(page.pdf(format="A4"))
    assert sheets == 1
    for part in ("Tidewater desk (555 0100)", "K-HALF", "Kit, half litre", "1 box", "10 kits"):
        assert part in text, part
    assert "Follow your own plan." in text
    for part in ("Overview", "Sessions", "Sign out", "Back to the order", "Print this page"):
        assert part not in text, part


def test_the_combined_order_prints_every_line(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cody", 1280)
    page.goto("/agency/ours/order")
    said = page.locator("main").inner_text()
    _, text = printed(page.pdf(format="A4"))
    for part in ("Download for", "Households", "Sign out"):
        assert part not in text, part
    if "No order is due" not in said:
        assert "Household of the tests" in text
