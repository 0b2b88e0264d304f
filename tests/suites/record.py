"""Leaves out suites that this machine cannot run, and says so in the run's last line."""

from __future__ import annotations

import os
from collections.abc import Generator

import pytest

from tests.suites.needs import SUITES

BRING = "sudo make test-tools"


class SuiteRecord:
    """A pytest plugin that remembers which suites ran and which were left out."""

    def __init__(self) -> None:
        self._left_out: dict[str, str] = {}
        self._ran: set[str] = set()

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Leave out what cannot run; browser tests come last.

        Playwright keeps an event loop in this thread, in which no other may be started.
        """
        for suite, look in SUITES.items():
            members = [item for item in items if item.get_closest_marker(suite)]
            reason = look() if members else ""
            if reason:
                for item in members:
                    item.add_marker(pytest.mark.skip(reason=_skipped(suite, reason)))
        items.sort(key=lambda item: item.get_closest_marker("browser") is not None)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A suite ran when the body of one of its tests did.

        All is read off the reports, since tests may run in other processes.
        """
        for suite in SUITES:
            if suite not in report.keywords:
                continue
            if report.when == "call" and not report.skipped:
                self._ran.add(suite)
            if report.skipped and isinstance(report.longrepr, tuple):
                _, found, reason = str(report.longrepr[2]).partition(_skipped(suite, ""))
                if found:
                    self._left_out[suite] = reason

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> Generator[None]:
        """Below pytest's own last line, say what did not run; fail where all is required."""
        if hasattr(session.config, "workerinput"):  # one of several processes; the first one tells
            yield
            return
        required = os.environ.get("EBBSTOCK_REQUIRE_ALL_SUITES") == "1"
        idle: set[str] = set()
        if required and not session.config.option.collectonly:
            idle = SUITES.keys() - self._ran - self._left_out.keys()
        if required and (self._left_out or idle) and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED
        yield
        reporter = session.config.pluginmanager.get_plugin("terminalreporter")
        if reporter is not None:
            for line in closing_lines(self._left_out, idle, required=required):
                reporter.write_line(line)


def _skipped(suite: str, reason: str) -> str:
    return f"{suite} suite: {reason}"


def closing_lines(left_out: dict[str, str], idle: set[str], *, required: bool) -> list[str]:
    """Name the suites that did not run, why, and the one command that brings what is missing.

    Args:
        left_out: suites whose programs are missing, with what is missing.
        idle: suites that were required, yet none of their tests was asked for or finished.
        required: whether leaving out a suite fails the run.
    """
    lines = []
    if required and (left_out or idle):
        lines.append("Every suite is required here, so this run has failed.")
    if idle:
        lines.append(f"Suites of which no test ran: {', '.join(sorted(idle))}.")
    if left_out:
        suites = ", ".join(f"{suite} ({reason})" for suite, reason in sorted(left_out.items()))
        lines.append(f"Suites that did not run: {suites}. To bring what is missing: {BRING}")
    return lines
