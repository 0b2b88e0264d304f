"""Fixtures for every suite, and an honest last line about suites that could not run."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright

from tests.suites.postgres import PostgresMissing, throw_away_postgres

AXE = Path(__file__).parent / "browser" / "node_modules" / "axe-core" / "axe.min.js"
CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
BRING = "sudo make test-tools"

_left_out: dict[str, str] = {}


def chromium_path() -> str | None:
    """Debian's Chromium, under either of its names."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out suites whose programs are missing, and remember which."""
    missing = {"browser": _missing_for_browser(), "postgres": _missing_for_postgres()}
    for item in items:
        for suite, what in missing.items():
            if what and item.get_closest_marker(suite):
                _left_out[suite] = what
                item.add_marker(pytest.mark.skip(reason=f"{suite} suite: {what} is missing"))


def _missing_for_browser() -> str:
    if chromium_path() is None:
        return "chromium"
    return "" if AXE.exists() else "axe-core"


def _missing_for_postgres() -> str:
    try:
        with throw_away_postgres(start=False):
            return ""
    except PostgresMissing as missing:
        return str(missing)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where every suite is required, one left out fails the run."""
    required = os.environ.get("EBBSTOCK_REQUIRE_ALL_SUITES") == "1"
    if required and _left_out and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say which suites did not run and how to bring what is missing."""
    if _left_out:
        suites = " and ".join(f"{suite} ({what})" for suite, what in sorted(_left_out.items()))
        terminalreporter.write_line(
            f"Did not run, because programs are missing: {suites}. To bring them: {BRING}"
        )


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """A throw-away PostgreSQL database, gone after the run."""
    with throw_away_postgres() as url:
        yield url


@pytest.fixture(scope="session")
def playwright_driver() -> Iterator[Playwright]:
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
