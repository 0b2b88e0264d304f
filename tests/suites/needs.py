"""What the suites with special needs look for on this machine."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.suites.postgres import PostgresMissing, find_programs

BROWSER_PACKAGES = Path(__file__).parents[1] / "browser" / "node_modules"
AXE = BROWSER_PACKAGES / "axe-core" / "axe.min.js"
HTML_VALIDATE = BROWSER_PACKAGES / "html-validate" / "bin" / "html-validate.mjs"
CALENDARS = Path(__file__).parents[1] / "calendars"
CALENDAR_PROGRAMS = ("calcurse", "khal", "node")
CALENDAR_PACKAGES = ("ical.js", "node-ical")


def chromium_path() -> str | None:
    """Debian's Chromium, under either of its names."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def missing_for_browser() -> str:
    """What the browser suite lacks here, or nothing."""
    path = chromium_path()
    if path is None:
        return "chromium is missing"
    # Some systems put a notice where the browser should be.
    if not _starts([path, "--version"]):
        return "chromium does not start"
    # It needs a library that a bare system lacks.
    if not _starts([sys.executable, "-m", "playwright", "--version"]):
        return "Playwright's driver does not start"
    if not AXE.exists():
        return "axe-core is missing"
    if shutil.which("node") is None or not HTML_VALIDATE.exists():
        return "html-validate is missing"
    return ""


def missing_for_postgres() -> str:
    """What the PostgreSQL suite lacks here, or nothing."""
    try:
        find_programs()
    except PostgresMissing as missing:
        return str(missing)
    return ""


def missing_for_calendars() -> str:
    """What the suite of calendar programs lacks here, or nothing."""
    missing = [name for name in CALENDAR_PROGRAMS if shutil.which(name) is None]
    packages = CALENDARS / "node_modules"
    missing += [name for name in CALENDAR_PACKAGES if not (packages / name).is_dir()]
    if not missing:
        return ""
    return f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing"


def _starts(command: list[str]) -> bool:
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


SUITES: Mapping[str, Callable[[], str]] = {
    "browser": missing_for_browser,
    "postgres": missing_for_postgres,
    "calendars": missing_for_calendars,
}
"""Each marker of a suite with special needs, and what looks for them."""
