"""What a page costs to bring: bytes, requests, and round trips before anything is seen.

References:
    RFC 6928 section 2: the first flight of a connection holds ten segments, 14,600 bytes. An
    answer within it is there after one round trip on an open connection.
"""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.browser.every_page import WHO, Demo, Visit
from tests.browser.opening import open_page, pages_of

pytestmark = pytest.mark.browser

LARGEST_BYTES = 100 * 1024
FIRST_FLIGHT_BYTES = 14_600

BLOCKING = """() => performance.getEntriesByType('resource')
  .filter(one => one.renderBlockingStatus === 'blocking').map(one => one.name)"""
PAINTED = "() => performance.getEntriesByName('first-contentful-paint').length"


@pytest.mark.parametrize("who", WHO)
def test_a_page_is_light_and_needs_nothing_but_itself_to_be_seen(
    who: str, browser: Browser, demo: Demo, visits: list[Visit]
) -> None:
    page = open_page(browser, demo, who)
    network = page.context.new_cdp_session(page)
    network.send("Network.enable")
    network.send("Network.setCacheDisabled", {"cacheDisabled": True})
    asked: list[str] = []
    received: list[float] = []

    def ask(event: dict[str, Any]) -> None:
        asked.append(event["request"]["url"])

    def receive(event: dict[str, Any]) -> None:
        received.append(event["encodedDataLength"])

    network.on("Network.requestWillBeSent", ask)
    network.on("Network.loadingFinished", receive)
    refused: list[str] = []
    page.on("console", lambda said: refused.append(said.text) if said.type == "error" else None)
    for one in pages_of(who, visits):
        asked.clear()
        received.clear()
        page.goto(one.path, wait_until="networkidle")
        assert page.evaluate(BLOCKING) == [], one.path
        assert page.evaluate(PAINTED) == 1, one.path
        # The browser's own pictures for date fields stand in addresses that begin with data.
        ours = (f"{demo.base}/", "data:")
        assert [url for url in asked if not url.startswith(ours)] == [], one.path
        assert 1000 < sum(received) <= LARGEST_BYTES, (one.path, sum(received))
        if one.route == "/h/{household}":
            assert received[0] <= FIRST_FLIGHT_BYTES, (one.path, received)
            print(f"{one.path}: {len(asked)} requests, {sum(received):.0f} bytes")
    page.context.close()
    expected = [one for one in refused if "404" not in one]
    assert expected == []
