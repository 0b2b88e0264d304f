"""How long a person with a phone takes from the first page to a session that is written down.

Every tap, typed character, swipe and decision on the real page is counted and turned into seconds
by the Keystroke-Level Model; the time that the program and the browser take is measured and added.

References:
    Card, Moran and Newell (1980), The keystroke-level model for user performance time with
    interactive systems, Communications of the ACM 23 (7). Values from memory. The model was made
    for a desk; here a tap is its pointing, and a swipe one pointing more.
"""

from __future__ import annotations

import math
import re
import time
from collections import Counter
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.app.data_builders import UTC_NOW
from tests.browser.conftest import SignIn

pytestmark = pytest.mark.browser

MOST_SECONDS = 30.0
WIDTH, HEIGHT = 360, 640
SECONDS = {"key": 0.28, "point": 1.1, "home": 0.4, "think": 1.35}
"""A key of a person who does not type for a living, pointing, moving the hand to the keyboard, and
making up one's mind. [s]"""

SLOWEST_KEY = 1.2
"""A key of the worst typist of the same paper; reported, since two bottles then take 30 s. [s]"""

SWIPE = 0.6
"""Part of the screen that one swipe moves."""

SLOW_LINE = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1_600_000 / 8,
    "uploadThroughput": 750_000 / 8,
}
"""A slow mobile line: 150 ms there and back, 1.6 Mbit/s down (common practice, no source)."""

SLOW_PHONE = 4
"""How many times slower than this machine the phone computes (common practice, no source)."""


class Person:
    """Somebody at a small phone, whose acts are counted."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.acts: Counter[str] = Counter()
        self.waited_seconds = 0.0
        page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
        slow = page.context.new_cdp_session(page)
        slow.send("Network.emulateNetworkConditions", SLOW_LINE)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOW_PHONE})

    def find(self, what: Locator) -> None:
        """Think what to do next, and swipe until it is in sight."""
        self.acts["think"] += 1
        expect(what).to_be_visible()
        box = what.bounding_box()
        assert box is not None
        below = box["y"] + box["height"] - HEIGHT
        away = max(below, -box["y"], 0.0)
        self.acts["point"] += math.ceil(away / (SWIPE * HEIGHT))
        what.scroll_into_view_if_needed()

    def tap(self, what: Locator) -> None:
        self.find(what)
        self.acts["point"] += 1
        what.click()

    def write(self, what: Locator, text: str) -> None:
        """Look at the bottle, tap the field, type; the keyboard covers what is below."""
        self.acts["think"] += 1
        self.tap(what)
        self.acts["home"] += 1
        self.acts["key"] += len(text)
        self.page.keyboard.type(text)

    def go(self, what: Locator) -> None:
        """Tap, and wait until the next page is drawn, which a picture of it makes sure of."""
        self.find(what)
        self.acts["point"] += 1
        began = time.perf_counter()
        with self.page.expect_navigation(wait_until="load"):
            what.click()
        self.page.screenshot()
        self.waited_seconds += time.perf_counter() - began

    def seconds(self, **others: float) -> float:
        prices = SECONDS | others
        return self.waited_seconds + sum(n * prices[act] for act, n in self.acts.items())


def record(person: Person, volumes_ml: tuple[int, ...], reason: str) -> None:
    """From the first page to the answer that the session is written down."""
    page = person.page
    person.go(page.get_by_role("link", name="Record a session"))
    for n, volume_ml in enumerate(volumes_ml, 1):
        person.write(page.get_by_label(f"Bottle {n} (mL)"), str(volume_ml))
    person.tap(page.get_by_label(reason))
    person.go(page.get_by_role("button", name="Save"))
    person.acts["think"] += 1
    answer = page.get_by_role("status")
    expect(answer).to_contain_text("Your session is written down.")
    box = answer.bounding_box()
    assert box is not None
    assert 0 <= box["y"] <= HEIGHT - box["height"], "the answer is in sight"


SESSIONS = {
    "one bottle": ((450,), "No more fluid came"),
    "two bottles": ((500, 180), "No more fluid came"),
}


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
@pytest.mark.parametrize("kind", SESSIONS)
def test_a_session_is_recorded_within_half_a_minute(
    kind: str, scripts: bool, browser: Browser, sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    hours = 1 + 2 * list(SESSIONS).index(kind) + scripts
    monkeypatch.setenv("EBBSTOCK_NOW", (UTC_NOW + timedelta(hours=hours)).isoformat())
    page = sign_in(browser, "pat", WIDTH, scripts=scripts)
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^Supplies for \d+"))
    person = Person(page)
    record(person, *SESSIONS[kind])
    usual, slow = person.seconds(), person.seconds(key=SLOWEST_KEY)
    print(f"\n{kind}: {dict(person.acts)}, waited {person.waited_seconds:.1f} s")
    print(f"{kind}: {usual:.1f} s; with the slowest keys {slow:.1f} s")
    assert person.acts["key"] == sum(len(str(one)) for one in SESSIONS[kind][0])
    assert usual < MOST_SECONDS
