"""What a browser finds where `test_every_page` cannot get by reading: forms with faults."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import SignIn
from tests.browser.looks import TEXT_SIZE, axe_finds, does_not_fit

pytestmark = pytest.mark.browser


def test_nothing_is_found_on_a_form_with_faults(
    browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", 360)
    page.goto("/h/home/sessions/new")
    page.get_by_label("Bottle 1 (mL)").fill("lots")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").click()
    assert page.get_by_role("alert").is_visible()
    assert axe_finds(page, axe_source) == []
    assert does_not_fit(page) == []


def test_axe_would_find_a_fault(browser: Browser, sign_in: SignIn, axe_source: str) -> None:
    page = sign_in(browser, "cara", 360)
    page.evaluate("() => document.querySelector('main').append(document.createElement('input'))")
    assert any(one.startswith("label:") for one in axe_finds(page, axe_source))


def test_what_does_not_fit_would_be_found(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 360)
    page.evaluate("""() => {
      const box = document.createElement('p');
      box.className = 'card';
      box.style.width = '120px';
      box.style.whiteSpace = 'nowrap';
      box.append('does not fit into its box');
      const button = document.createElement('button');
      button.style.minHeight = '0';
      button.style.padding = '0';
      document.querySelector('main').append(box, button);
    }""")
    found = " ".join(does_not_fit(page))
    assert "reaches past p" in found
    assert "small target: <button" in found


def test_text_is_at_least_18_px(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "pat", 360)
    assert page.evaluate(TEXT_SIZE) >= 18
