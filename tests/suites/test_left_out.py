"""A suite that cannot run is named in the last line, never passed over."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SUITE = """\
import pytest


def test_plain():
    pass


@pytest.mark.browser
def test_page():
    pass
"""


def run_where_nothing_is_installed(folder: Path, **settings: str) -> tuple[int, list[str]]:
    """Run a small suite that asks for a browser, with no program on the path."""
    (folder / "test_small.py").write_text(SUITE, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-p", "tests.conftest", "-p", "no:cacheprovider"]
    place = ["-c", str(ROOT / "pyproject.toml"), f"--rootdir={folder}", str(folder)]
    kept = {name: value for name, value in os.environ.items() if not name.startswith("EBBSTOCK_")}
    result = subprocess.run(
        [*command, *place],
        cwd=ROOT,
        env={**kept, "PATH": str(folder), **settings},
        capture_output=True,
        text=True,
        check=False,
    )
    return result.returncode, result.stdout.splitlines()


LAST_LINE = "Suites that did not run: browser (chromium is missing). To bring what is missing: "


def test_the_last_line_names_the_suite_and_the_command_and_the_run_passes(tmp_path: Path) -> None:
    status, lines = run_where_nothing_is_installed(tmp_path)
    assert status == pytest.ExitCode.OK
    assert "1 passed, 1 skipped" in lines[-2]
    assert lines[-1] == LAST_LINE + "sudo make test-tools"


def test_where_every_suite_is_required_one_left_out_fails_the_run(tmp_path: Path) -> None:
    status, lines = run_where_nothing_is_installed(tmp_path, EBBSTOCK_REQUIRE_ALL_SUITES="1")
    assert status == pytest.ExitCode.TESTS_FAILED
    assert lines[-3:] == [
        "Every suite is required here, so this run has failed.",
        "Suites of which no test ran: calendars, postgres.",
        LAST_LINE + "sudo make test-tools",
    ]
