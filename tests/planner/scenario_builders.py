"""A small valid scenario file, and ways to spoil it."""

from __future__ import annotations

from planner.scenario import InvalidScenario, parse_scenario

SMALL = """\
format = 1
as_of = 2026-03-08

[household]
id = "hw-1"
name = "Odile Marchmont"
time_zone = "Europe/London"

[supplier]
name = "Tarnbrook Home Supplies"
phone = "01632 960104"
lead_business_days = 3

[care_team]
name = "the Larkfield nurses"
phone = "01632 960220"

[[items]]
code = "K5"
name = "500 mL kit"
kind = "kit"
capacity_ml = 500
units_per_box = 10

[[catheters]]
id = "c"
label = "chest"
site = "chest"
kit = "K5"

[[catheters.regimens]]
starts_on = 2026-02-01
every_n_days = 1
session_limit_ml = 500

[[receipts]]
at = 2026-03-01
item = "K5"
units = 30
lot = "A1"
expires_on = 2027-06-30

[[sessions]]
at = 2026-03-06T09:30:00
ml = [180]

[[sessions]]
at = 2026-03-07T09:15:00
ml = [210]
stop = "ran-dry"
"""


def spoilt(old: str, new: str) -> str:
    """The small file with one piece of it replaced."""
    assert SMALL.count(old) == 1, f"{old!r} stands there {SMALL.count(old)} times"
    return SMALL.replace(old, new)


def with_more(text: str) -> str:
    """The small file with something added at the end."""
    return SMALL + text


def faults_of(text: str | bytes) -> list[str]:
    """The sentences with which a file is refused; empty when it is not."""
    try:
        parse_scenario(text)
    except InvalidScenario as error:
        return [fault.sentence for fault in error.faults]
    return []
