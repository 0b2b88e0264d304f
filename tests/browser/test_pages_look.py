"""What a browser finds on every page: accessibility, overflow, targets, large text.

References:
    WCAG 2.2 (W3C Recommendation, 5 October 2023): 1.4.4 Resize Text, 1.4.10 Reflow, and what
    axe-core checks at levels A and AA. 44 px targets are a rule of our own (2.5.5, AAA).
"""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import SignIn

pytestmark = pytest.mark.browser

CARER_PAGES = (
    "/h/home",
    "/h/home/sessions",
    "/h/home/sessions/new",
    "/h/home/shelf",
    "/h/home/shelf/count",
    "/h/home/shelf/receive?order=o1",
    "/h/home/shelf/waste",
    "/h/home/order",
    "/h/home/calendar",
    "/when-to-call",
    "/nowhere",
)
COORDINATOR_PAGES = ("/agency/ours", "/agency/ours/order", "/agency/ours/calendar")

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
RUN_AXE = "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}})"
OVERFLOW = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
SMALL_TARGETS = """() => [...document.querySelectorAll(`button, .button, .places a, summary,
  select, input:not([type=hidden], [type=radio], [type=checkbox])`)]
  .filter(one => one.checkVisibility() && one.getBoundingClientRect().height < 44)
  .map(one => one.outerHTML)"""


def axe_finds(page: Page, axe_source: str) -> list[str]:
    page.evaluate(axe_source)
    found: dict[str, Any] = page.evaluate(RUN_AXE, RULES)
    assert len(found["passes"]) > 5
    return [f"{one['id']}: {one['nodes'][0]['html']}" for one in found["violations"]]


def open_details(page: Page) -> None:
    page.evaluate("() => document.querySelectorAll('details').forEach(one => one.open = true)")


@pytest.mark.parametrize(("width", "dark"), [(360, False), (1280, False), (360, True)])
def test_axe_finds_nothing_on_any_page(
    width: int, dark: bool, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    for who, paths in (("cara", CARER_PAGES), ("cody", COORDINATOR_PAGES)):
        page = sign_in(browser, who, width, dark=dark)
        for path in paths:
            page.goto(path)
            open_details(page)
            assert axe_finds(page, axe_source) == [], path


def test_axe_finds_nothing_on_a_form_with_faults_and_on_the_sign_in(
    browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", 360)
    page.goto("/h/home/sessions/new")
    page.get_by_label("Bottle 1 (mL)").fill("lots")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").click()
    assert page.get_by_role("alert").is_visible()
    assert axe_finds(page, axe_source) == []
    page.context.clear_cookies()
    page.goto("/sign-in")
    assert axe_finds(page, axe_source) == []


def test_axe_would_find_a_fault(browser: Browser, sign_in: SignIn, axe_source: str) -> None:
    page = sign_in(browser, "cara", 360)
    page.evaluate("() => document.querySelector('main').append(document.createElement('input'))")
    assert any(one.startswith("label:") for one in axe_finds(page, axe_source))


@pytest.mark.parametrize("width", [320, 360])
def test_no_page_is_wider_than_a_phone_and_targets_are_large(
    width: int, browser: Browser, sign_in: SignIn
) -> None:
    for who, paths in (("cara", CARER_PAGES), ("cody", COORDINATOR_PAGES)):
        page = sign_in(browser, who, width)
        for path in paths:
            page.goto(path)
            open_details(page)
            assert page.evaluate(OVERFLOW) <= 0, path
            assert page.evaluate(SMALL_TARGETS) == [], path


@pytest.mark.parametrize("width", [360, 1280])
def test_text_at_200_percent_still_fits(
    width: int, large_text_browser: Browser, sign_in: SignIn
) -> None:
    for who, paths in (("cara", CARER_PAGES), ("cody", COORDINATOR_PAGES)):
        page = sign_in(large_text_browser, who, width)
        for path in paths:
            page.goto(path)
            size = page.evaluate("() => parseFloat(getComputedStyle(document.body).fontSize)")
            assert size == 36
            assert page.evaluate(OVERFLOW) <= 0, path


def test_text_is_at_least_18_px(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "pat", 360)
    assert page.evaluate("() => parseFloat(getComputedStyle(document.body).fontSize)") >= 18
