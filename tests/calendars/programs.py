"""Running calendar programs on folders of their own."""

from __future__ import annotations

import subprocess
from datetime import date
from pathlib import Path

_KHAL = """\
[calendars]
[[supplies]]
path = {folder}/calendar
type = calendar
[sqlite]
path = {folder}/khal.db
[locale]
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
local_timezone = UTC
default_timezone = UTC
[default]
default_calendar = supplies
"""

FROM, DAYS = "2025-12-01", 900


def write_khal_config(folder: Path) -> Path:
    """Settings for a khal that keeps everything below one folder."""
    (folder / "calendar").mkdir(exist_ok=True)
    config = folder / "khal.conf"
    config.write_text(_KHAL.format(folder=folder), encoding="utf-8")
    return config


def khal_lists(config: Path) -> dict[str, tuple[date, str]]:
    """First day and title of each entry that khal lists, by id."""
    shown = "{start-long}\t{uid}\t{title}"
    command = ["khal", "-c", str(config), "list", "--day-format", "", "--format", shown]
    result = subprocess.run(
        [*command, FROM, f"{DAYS}d"], capture_output=True, text=True, check=False, timeout=300
    )
    assert (result.returncode, result.stderr) == (0, "")
    found: dict[str, tuple[date, str]] = {}
    for line in result.stdout.splitlines():
        if line.strip():
            day, uid, title = line.split("\t")
            found.setdefault(uid, (date.fromisoformat(day.strip()), title))
    return found
