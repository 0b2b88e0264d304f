"""Pages of the demo in a browser, for whoever is signed in."""

from __future__ import annotations

from playwright.sync_api import Browser, Page

from app.settings import DEFAULTS
from tests.browser.every_page import Demo, Visit, distinct


def open_page(running: Browser, demo: Demo, who: str, *, scripts: bool = True) -> Page:
    """An empty page of a phone's width, its browser signed in as this person."""
    context = running.new_context(
        base_url=demo.base,
        viewport={"width": 360, "height": 800},
        java_script_enabled=scripts,
    )
    context.set_default_timeout(60_000)
    if who in demo.cookies:
        secret = demo.cookies[who]
        cookie = {"name": DEFAULTS.cookie_name, "value": secret, "url": demo.base}
        context.add_cookies([cookie])  # type: ignore[list-item]
    return context.new_page()


def pages_of(who: str, visits: list[Visit]) -> list[Visit]:
    """Pages that nobody before this person saw in the same way."""
    assert any(one.who == who for one in visits)
    return [one for one in distinct(visits) if one.who == who]
