"""Every seed scenario can be planned, repeats itself byte for byte, and shows what it claims."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest

from app.demo import up_to
from planner.dates import end_of_day
from planner.household import Household
from planner.plan import make_plan
from planner.results import Plan, ReasonCode, Urgency
from planner.scenario import ScenarioFile, read_scenario
from planner.scenario_writer import write_scenario
from planner.sessions import DRY_ML
from planner.stock import items_taken, shelf_on
from tests.generators.make_scenarios import FOLDER, scenario_texts
from tests.generators.singles import SINGLES

NAMES = [*SINGLES, "agency_forty"]
AS_OF = date(2026, 3, 8)


@cache
def scenario(name: str) -> ScenarioFile:
    return read_scenario(FOLDER / f"{name}.toml")


def household(name: str) -> Household:
    return scenario(name).households[0]


@cache
def plan(name: str) -> Plan:
    return make_plan(household(name), AS_OF)


@cache
def agency_plans() -> tuple[Plan, ...]:
    """Plans of every other household; all forty would take too long here."""
    return tuple(make_plan(one, AS_OF) for one in scenario("agency_forty").households[::2])


def codes(one: Plan) -> set[ReasonCode]:
    return {reason.code for reason in one.reasons}


def test_the_folder_holds_these_scenarios_and_no_others() -> None:
    assert sorted(path.stem for path in FOLDER.glob("*.toml")) == sorted(NAMES)


def test_the_generator_writes_the_committed_files_byte_for_byte() -> None:
    for name, text in scenario_texts():
        assert (FOLDER / name).read_bytes() == text.encode(), name


def test_the_readme_describes_every_scenario_in_its_own_words() -> None:
    readme = (FOLDER / "README.md").read_text(encoding="utf-8")
    for name in NAMES:
        assert f"| `{name}.toml` | {scenario(name).description} |" in readme


@pytest.mark.parametrize("name", NAMES)
def test_written_and_read_again_it_is_the_same(name: str) -> None:
    text = (FOLDER / f"{name}.toml").read_text(encoding="utf-8")
    assert write_scenario(scenario(name)) == text


@pytest.mark.parametrize("name", NAMES)
def test_every_record_ends_on_the_same_sunday(name: str) -> None:
    assert scenario(name).as_of == AS_OF
    assert AS_OF.strftime("%A") == "Sunday"


@pytest.mark.parametrize("name", NAMES)
def test_there_are_twenty_to_ninety_sessions_where_there_is_history(name: str) -> None:
    for one in scenario(name).households:
        sessions = len(one.sessions)
        assert sessions == 0 if name == "brand_new" else 20 <= sessions <= 90, one.id


@pytest.mark.parametrize("name", NAMES)
def test_the_shelf_never_gave_out_what_it_did_not_hold(name: str) -> None:
    for one in scenario(name).households:
        shelf = shelf_on(one, AS_OF)
        assert shelf.missing == {}, one.id
        if name != "shelf_troubles":
            assert shelf.differences == (), one.id


def test_households_have_their_own_ids() -> None:
    ids = Counter(one.id for name in NAMES for one in scenario(name).households)
    assert max(ids.values()) == 1


def test_the_same_bytes_come_out_whatever_the_hash_seed() -> None:
    paths = [str(FOLDER / f"{name}.toml") for name in ("chest_every_other_day", "daily_fading")]
    outputs = {
        subprocess.run(
            [sys.executable, "-m", "app.cli", "plan", "--json", *paths],
            check=True,
            capture_output=True,
            cwd=Path(__file__).parents[2],
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "4242")
    }
    assert len(outputs) == 1
    assert len(outputs.pop()) > 10_000


# What each description claims.


def test_chest_every_other_day_fills_a_second_bottle_in_about_a_quarter_of_sessions() -> None:
    sessions = household("chest_every_other_day").sessions
    second = sum(len(one.bottles) - one.bottles_lost > 1 for one in sessions) / len(sessions)
    assert 0.15 <= second <= 0.35
    assert all(item.usable > 0 for item in plan("chest_every_other_day").on_hand)


def test_abdomen_two_bottles_usually_opens_two() -> None:
    sessions = household("abdomen_two_bottles").sessions
    assert sum(len(one.bottles) >= 2 for one in sessions) / len(sessions) > 0.8
    (outlook,) = plan("abdomen_two_bottles").outlooks
    assert outlook.further_bottle_chance > 0.8


def test_daily_fading_ends_with_three_dry_sessions() -> None:
    volumes = [one.volume_ml for one in household("daily_fading").sessions]
    assert max(volumes[-3:]) <= DRY_ML < min(volumes[:14])
    assert ReasonCode.THREE_DRY_SESSIONS in codes(plan("daily_fading"))
    (outlook,) = plan("daily_fading").outlooks
    assert outlook.weekly_change < 0


def test_monday_wednesday_friday_must_order_earlier_because_the_supplier_closes() -> None:
    home = household("monday_wednesday_friday")
    assert {one.drained_on.weekday() for one in home.sessions} == {0, 2, 4}
    (closure,) = home.supplier.closures
    assert closure.starts_on == date(2026, 3, 16)
    open_all_along = replace(home, supplier=replace(home.supplier, closures=()))
    without = make_plan(open_all_along, AS_OF).order.order_by_on
    order_by = plan("monday_wednesday_friday").order.order_by_on
    assert order_by is not None
    assert without is not None
    assert order_by < without


def test_as_needed_has_no_prescribed_days_and_a_minimum_order() -> None:
    one = plan("as_needed")
    assert one.outlooks[0].kept_chance is None
    assert household("as_needed").supplier.minimum_boxes == 2
    assert one.run_out.expected_days is not None
    assert one.run_out.cautious_days is not None
    assert one.run_out.expected_days > 1.5 * one.run_out.cautious_days


def test_brand_new_leans_on_the_starting_expectation() -> None:
    reason = plan("brand_new").reason(ReasonCode.LEANS_ON_STARTING_EXPECTATION)
    assert reason is not None
    assert reason.facts["sessions"] == 0


def test_two_catheters_share_a_shelf() -> None:
    one = plan("two_catheters")
    assert len(one.outlooks) == 2
    assert len(one.shelves) == 1


def test_hospital_stay_uses_nothing_while_away() -> None:
    home = household("hospital_stay")
    (stay,) = home.pauses
    assert stay.ends_on is not None
    days = [one.drained_on for one in home.sessions]
    assert not any(day in stay.days for day in days)
    assert min(days) < stay.starts_on < stay.ends_on <= max(days)
    assert len(home.catheters[0].regimens) == 2
    assert plan("hospital_stay").order.earliest_contact_on is not None


@pytest.mark.parametrize("days_earlier", [0, 1, 3, 6])
def test_runs_short_is_short_on_days_the_demo_may_show(days_earlier: int) -> None:
    day = AS_OF - timedelta(days=days_earlier)
    home = up_to(household("runs_short"), end_of_day(day) - timedelta(minutes=1))
    one = make_plan(home, day)
    assert one.urgency is Urgency.SHORT
    assert one.order.too_late
    assert one.next_delivery.risk > 0.5
    assert one.express is not None
    assert one.express.is_whole
    assert one.express.usual_on < one.next_delivery.usual_on
    assert one.express.risk < one.next_delivery.risk


def test_shelf_troubles_shows_each_of_its_troubles() -> None:
    one = plan("shelf_troubles")
    assert codes(one) >= {
        ReasonCode.EXPIRED_ON_SHELF,
        ReasonCode.EXPIRES_BEFORE_USE,
        ReasonCode.RECALLED_ON_SHELF,
        ReasonCode.COUNT_DIFFERED,
        ReasonCode.ABOVE_AUTHORIZED,
        ReasonCode.ORDER_CAPPED,
    }
    assert one.next_delivery.order_id == "o1"
    assert sum(item.in_transit for item in one.on_hand) == 15


def test_shelf_scattered_tells_every_place_apart() -> None:
    home, one = household("shelf_scattered"), plan("shelf_scattered")
    kits = one.on_hand[0]
    assert kits.usable > 0
    assert kits.away == 2
    wrong = one.reason(ReasonCode.WRONG_GOODS_HERE)
    assert wrong is not None
    assert wrong.facts["units"] == 10
    left = date(2026, 1, 20)
    before, after = (shelf_on(home, left - timedelta(days=n)) for n in (1, 0))
    assert (before.expired_units(kits.item_code), after.expired_units(kits.item_code)) == (4, 0)


def test_kits_left_over_go_by_their_dates_and_are_not_ordered() -> None:
    home, one = household("kits_left_over"), plan("kits_left_over")
    (small,), large = home.catheters[0].other_kit_codes, home.catheters[0].kit_code
    taken = items_taken(home)
    before = [each for each in home.sessions if each.drained_on < date(2026, 2, 27)]
    assert {code for each in before for code in taken[each.id]} == {large}
    since = home.sessions[len(before) :]
    assert [taken[each.id] for each in since] == [(small, small)] * 5
    shelf = shelf_on(home, AS_OF)
    assert (shelf.missing, shelf.differences) == ({}, ())
    lots = shelf.kits_in_order(large, (small,))
    order = [each.item_code for each in lots]
    assert (order[0], order[-1], set(order[1:-1])) == (small, small, {large})
    assert one.shelves[0].usable_kits == sum(each.units for each in lots)
    assert one.shelves[0].other_kit_codes == (small,)
    assert {line.item_code for line in one.order.lines} == {large}


def test_the_agency_shows_every_urgency_but_mostly_calm() -> None:
    count = Counter(one.urgency for one in agency_plans())
    assert len(scenario("agency_forty").households) == 40
    for urgency in (Urgency.SHORT, Urgency.ORDER_NOW, Urgency.ORDER_SOON):
        assert 1 <= count[urgency] <= 5, urgency
    assert count[Urgency.STEADY] >= 10
    suppliers = {one.supplier.name for one in scenario("agency_forty").households}
    assert len(suppliers) == 3


@pytest.mark.parametrize("name", list(SINGLES))
def test_every_single_household_can_be_planned_six_days_earlier(name: str) -> None:
    day = AS_OF - timedelta(days=6)
    one = make_plan(up_to(household(name), end_of_day(day) - timedelta(minutes=1)), day)
    assert one.as_of == day
    assert ReasonCode.RECORD_BELOW_ZERO not in codes(one)
