"""The lock files agree with each other and with what the project asks for."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RUN, DEV = "requirements.txt", "requirements-dev.txt"

Pins = set[tuple[str, str, str]]


def pins(lock: str) -> Pins:
    """Name, version and condition of every locked package."""
    text = (ROOT / lock).read_text(encoding="utf-8")
    found = re.findall(r"^([\w.-]+)==(\S+?)(?: ; ([^\\\n]+?))? \\$", text, re.MULTILINE)
    return {(name, version, condition) for name, version, condition in found}


def asked_for(*tables: list[str]) -> set[str]:
    return {
        re.split(r"[\[>=<; ]", wish, maxsplit=1)[0].lower() for table in tables for wish in table
    }


def test_the_run_time_lock_is_part_of_the_development_lock() -> None:
    # A condition may be wider in the larger lock, so it is not compared.
    run, dev = ({(name, version) for name, version, _ in pins(lock)} for lock in (RUN, DEV))
    assert run
    assert run <= dev


@pytest.mark.parametrize("lock", [RUN, DEV])
def test_every_locked_package_has_hashes_and_no_place_of_its_own(lock: str) -> None:
    text = (ROOT / lock).read_text(encoding="utf-8")
    packages = [line for line in text.splitlines() if line and line[0] not in " #"]
    assert len(packages) == len(pins(lock))
    for block in re.split(r"\n(?=[\w-]+==)", text)[1:]:
        assert "--hash=sha256:" in block, block
    assert "--index-url" not in text
    assert not re.search(r"\b(https?|file)://", text)


def test_the_locks_hold_what_the_project_asks_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = project["project"]["dependencies"]
    groups = project["dependency-groups"]
    run, dev = ({name for name, _, _ in pins(lock)} for lock in (RUN, DEV))
    assert asked_for(wanted, groups["build"]) <= run
    assert asked_for(wanted, groups["build"], groups["dev"]) <= dev
