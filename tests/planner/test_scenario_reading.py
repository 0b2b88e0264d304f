"""What a scenario file means."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

from planner.ledger import Count, Recall, Receipt, Reversal, Waste
from planner.regimen import Pattern
from planner.scenario import parse_scenario, read_scenario
from planner.sessions import BottleUse, LossReason, StopReason
from planner.supply import Contact, OrderStatus
from tests.planner.scenario_builders import SMALL, spoilt, with_more

RECORDS = """
[[orders]]
placed_at = 2026-02-26
lines = [{ item = "K5", boxes = 3 }]
status = "received"
received_on = 2026-03-01

[[waste]]
at = 2026-03-02
item = "K5"
units = 1
reason = "dropped"

[[counts]]
at = 2026-03-05
item = "K5"
units = 28

[[recalls]]
at = 2026-03-05
item = "K5"
lot = "Z9"

[[reversals]]
at = 2026-03-06
reverses = "w1"

[[sessions]]
at = 2026-03-08
bottles = [{ ml = 0, lost = "vacuum-lost" }, { ml = 90, item = "K5" }]
"""


def test_a_file_is_read_from_disk(tmp_path: Path) -> None:
    path = tmp_path / "home.toml"
    path.write_text(SMALL, encoding="utf-8")
    file = read_scenario(path)
    assert file == parse_scenario(SMALL)
    assert file.as_of == date(2026, 3, 8)
    assert [one.id for one in file.households] == ["hw-1"]


def test_a_date_alone_stands_for_the_usual_time_of_its_kind() -> None:
    (home,) = parse_scenario(with_more(RECORDS)).households
    times = {type(entry): entry.at.time() for entry in home.ledger}
    assert times == {
        Receipt: time(0),
        Waste: time(12),
        Count: time(23, 59),
        Recall: time(0),
        Reversal: time(23, 59),
    }
    assert home.orders[0].placed_at.time() == time(0)
    assert home.sessions[2].started_at.time() == time(12)


def test_ids_left_out_are_numbered_in_the_order_of_the_file() -> None:
    (home,) = parse_scenario(with_more(RECORDS)).households
    assert [one.id for one in home.sessions] == ["s1", "s2", "s3"]
    assert [one.id for one in home.ledger] == ["r1", "w1", "c1", "k1", "v1"]
    assert [one.id for one in home.orders] == ["o1"]


def test_the_details_of_a_session_are_kept() -> None:
    (home,) = parse_scenario(with_more(RECORDS)).households
    first, second, third = home.sessions
    assert first.stop_reason is StopReason.NOT_SAID
    assert (second.stop_reason, second.started_at) == (
        StopReason.RAN_DRY,
        datetime(2026, 3, 7, 9, 15),
    )
    assert third.bottles == (
        BottleUse(volume_ml=0, loss=LossReason.VACUUM_LOST),
        BottleUse(volume_ml=90, item_code="K5"),
    )
    assert home.orders[0].status is OrderStatus.RECEIVED


def test_a_session_belongs_to_the_only_catheter_unless_there_are_two() -> None:
    assert parse_scenario(SMALL).households[0].sessions[0].catheter_id == "c"


def test_the_supplier_is_called_by_its_own_name_unless_a_contact_is_given() -> None:
    (home,) = parse_scenario(SMALL).households
    assert home.supplier.contact == Contact(name="Tarnbrook Home Supplies", phone="01632 960104")
    text = spoilt('phone = "01632 960104"', 'phone = "01632 960104"\ncontact = "Ida at the desk"')
    (home,) = parse_scenario(text).households
    assert home.supplier.contact == Contact(name="Ida at the desk", phone="01632 960104")


def test_each_way_to_write_a_frequency_is_understood() -> None:
    ways = {
        'weekdays = ["MO", "FR"]': (Pattern.RRULE, "FREQ=WEEKLY;BYDAY=MO,FR"),
        'rrule = "FREQ=MONTHLY;BYMONTHDAY=1"': (Pattern.RRULE, "FREQ=MONTHLY;BYMONTHDAY=1"),
        "as_needed = true": (Pattern.AS_NEEDED, None),
        "every_n_days = 3": (Pattern.EVERY_N_DAYS, None),
    }
    for written, meant in ways.items():
        (home,) = parse_scenario(spoilt("every_n_days = 1", written)).households
        (regimen,) = home.catheters[0].regimens
        assert (regimen.pattern, regimen.rrule) == meant


def test_shared_tables_serve_each_household_that_has_none_of_its_own() -> None:
    regimens = "regimens = [{ starts_on = 2026-01-01, every_n_days = 1 }]"
    catheters = f'catheters = [{{ id = "c", label = "c", site = "chest", kit = "K", {regimens} }}]'
    head = 'name = "N"\ntime_zone = "UTC"'
    file = parse_scenario(f"""
format = 1
as_of = 2026-03-08
supplier = {{ name = "Shared", lead_business_days = 1 }}
settings = {{ cover_days = 14 }}
items = [{{ code = "K", name = "kit", kind = "kit", capacity_ml = 500 }}]
[[households]]
id = "a"
{head}
{catheters}
[[households]]
id = "b"
{head}
{catheters}
supplier = {{ name = "Own", lead_business_days = 2 }}
settings = {{ protection = 0.95 }}
""")
    first, second = file.households
    assert (first.supplier.name, first.settings.cover_days) == ("Shared", 14)
    assert (second.supplier.name, second.settings.cover_days) == ("Own", 28)
    assert first.items == second.items
