"""Every page by keyboard alone, and on paper.

References:
    WCAG 2.2: 2.1.1 Keyboard, 2.4.3 Focus Order, 2.4.7 Focus Visible, 2.4.11 Focus Not Obscured.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.every_page import WHO, Demo, Visit
from tests.browser.looks import OPEN_DETAILS, OVERFLOW, TEXT_PAST_ITS_BOX
from tests.browser.opening import open_page, pages_of

pytestmark = pytest.mark.browser

PRINTED = (
    ("cara", "/h/{household}"),
    ("cara", "/h/{household}/order"),
    ("cara", "/h/{household}/shelf"),
    ("cara", "/h/{household}/sessions"),
    ("cody", "/agency/{agency}"),
    ("cody", "/agency/{agency}/order"),
    ("nobody", "/when-to-call"),
)

STOPS = """() => [...document.querySelectorAll(
  'a[href], button, summary, select, textarea, input:not([type=hidden])')]
  .filter(one => one.checkVisibility() && !one.disabled)
  .filter(one => one.type !== 'radio' || one.checked
    || !document.querySelector(`input[type=radio][name="${CSS.escape(one.name)}"]:checked`)
      && one === document.querySelector(`input[type=radio][name="${CSS.escape(one.name)}"]`))
  .map(one => { one.dataset.stop = one.dataset.stop || Math.random().toString(36).slice(2);
    return one.dataset.stop })"""
FOCUSED = """() => {
  const one = document.activeElement;
  const look = getComputedStyle(one), box = one.getBoundingClientRect();
  const seen = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
  return {stop: one.dataset.stop || '', outlined: look.outlineStyle !== 'none', seen: seen,
    several: ['date', 'time'].includes(one.type), html: one.outerHTML.slice(0, 120)};
}"""


def go_through(page: Page) -> tuple[list[str], list[str]]:
    """Press Tab until the page is left; the stops in order, and what is wrong with any."""
    order: list[str] = []
    wrong: list[str] = []
    for _ in range(400):
        page.keyboard.press("Tab")
        at: dict[str, Any] = page.evaluate(FOCUSED)
        if not at["stop"] or (order and at["stop"] == order[0]):
            break
        # A date field is one stop with several parts, which draw their own focus.
        if order and order[-1] == at["stop"]:
            continue
        order.append(at["stop"])
        if not at["seen"] or not (at["outlined"] or at["several"]):
            wrong.append(at["html"])
    return order, wrong


@pytest.mark.parametrize("who", WHO)
def test_tab_reaches_everything_in_order_and_shows_where_it_is(
    who: str, browser: Browser, demo: Demo, visits: list[Visit]
) -> None:
    page = open_page(browser, demo, who)
    known = set()
    for one in pages_of(who, visits):
        if one.route in known:
            continue
        known.add(one.route)
        page.goto(one.path)
        page.evaluate(OPEN_DETAILS)
        wanted = page.evaluate(STOPS)
        order, wrong = go_through(page)
        assert wrong == [], one.path
        assert order == wanted, one.path
        assert not re.search(r'tabindex="[1-9]', one.html), one.path
    page.context.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_the_focus_moves_to_the_list_of_faults(scripts: bool, browser: Browser, demo: Demo) -> None:
    page = open_page(browser, demo, "cara", scripts=scripts)
    page.goto(f"/h/{demo.households[0]}/sessions/new")
    page.get_by_label("Bottle 1 (mL)").fill("lots")
    with page.expect_navigation():
        page.get_by_role("button", name="Save").click()
    assert page.evaluate("() => document.activeElement.id") == "faults"
    page.keyboard.press("Tab")
    first = page.evaluate("() => document.activeElement.textContent")
    assert first.startswith("Volume in bottle 1 is lots.")
    page.context.close()
    page = open_page(browser, demo, "nobody", scripts=scripts)
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill("somebody@test.example")
    page.get_by_label("Password").fill("not the password")
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in").click()
    assert page.evaluate("() => document.activeElement.id") == "faults"
    page.context.close()


def test_main_pages_print(browser: Browser, demo: Demo) -> None:
    for who, route in PRINTED:
        page = open_page(browser, demo, who)
        # The width that A4 paper leaves at the usual margins.
        page.set_viewport_size({"width": 718, "height": 1000})
        page.goto(demo.paths(route, who)[0])
        page.emulate_media(media="print")
        assert page.evaluate(OVERFLOW) <= 0, route
        assert page.evaluate(TEXT_PAST_ITS_BOX) == [], route
        shown = "() => [...document.querySelectorAll('button, .button, input, select, nav')]"
        left = page.evaluate(
            f"{shown}.filter(one => one.checkVisibility()).map(one => one.outerHTML)"
        )
        assert left == [], route
        assert page.get_by_role("heading", level=1).is_visible(), route
        assert page.get_by_text("Follow your own plan.").is_visible(), route
        paper = page.pdf(format="A4", tagged=True)
        assert paper.startswith(b"%PDF"), route
        assert len(paper) > 10_000, route
        page.context.close()
