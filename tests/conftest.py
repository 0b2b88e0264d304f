"""Fixtures for every suite, and an honest last line about suites that could not run."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

# Before numpy is loaded: many small matrices, for which more threads only get in the way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import settings

from tests.suites.needs import AXE, chromium_path
from tests.suites.postgres import throw_away_postgres
from tests.suites.record import SuiteRecord

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Playwright

# The same examples every time: a red run is then somebody's change, not chance.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def pytest_configure(config: pytest.Config) -> None:
    config.pluginmanager.register(SuiteRecord(), "suite-record")


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """A throw-away PostgreSQL database, gone after the run."""
    with throw_away_postgres() as url:
        yield url


@pytest.fixture(scope="session")
def playwright_driver() -> Iterator[Playwright]:
    from playwright.sync_api import sync_playwright  # not needed by most runs

    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def browser(playwright_driver: Playwright) -> Iterator[Browser]:
    """Headless Chromium."""
    running = playwright_driver.chromium.launch(
        executable_path=chromium_path(), args=list(CHROMIUM_FLAGS)
    )
    yield running
    running.close()


@pytest.fixture(scope="session")
def large_text_browser(playwright_driver: Playwright) -> Iterator[Browser]:
    """Headless Chromium with text at 200 percent, as a person sets it."""
    flags = [*CHROMIUM_FLAGS, "--blink-settings=defaultFontSize=32"]
    running = playwright_driver.chromium.launch(executable_path=chromium_path(), args=flags)
    yield running
    running.close()


@pytest.fixture(scope="session")
def axe_source() -> str:
    """The accessibility checker's script, for `page.evaluate`."""
    return AXE.read_text(encoding="utf-8")
