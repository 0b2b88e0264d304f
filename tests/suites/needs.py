"""What the suites with special needs look for on this machine."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.suites.postgres import PostgresMissing, find_programs

AXE = Path(__file__).parents[1] / "browser" / "node_modules" / "axe-core" / "axe.min.js"


def chromium_path() -> str | None:
    """Debian's Chromium, under either of its names."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def missing_for_browser() -> str:
    """What the browser suite lacks here, or nothing."""
    path = chromium_path()
    if path is None:
        return "chromium is missing"
    # Some systems put a notice where the browser should be.
    if subprocess.run([path, "--version"], capture_output=True, check=False).returncode:
        return "chromium does not start"
    return "" if AXE.exists() else "axe-core is missing"


def missing_for_postgres() -> str:
    """What the PostgreSQL suite lacks here, or nothing."""
    try:
        find_programs()
    except PostgresMissing as missing:
        return str(missing)
    return ""


SUITES: Mapping[str, Callable[[], str]] = {
    "browser": missing_for_browser,
    "postgres": missing_for_postgres,
}
"""Each marker of a suite with special needs, and what looks for them."""
