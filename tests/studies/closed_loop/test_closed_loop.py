"""The closed loop plays fair: same worlds for all, goods kept count of, orders as proposed."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, time, timedelta
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from planner.delivery import SupplierCalendar
from planner.household import Household, PlanSettings
from planner.plan import make_plan
from planner.stock import shelf_on
from planner.supply import OrderLine
from tests.builders import KIT, TODAY, make_household, make_order, stocked
from tests.studies.closed_loop.carers import AsPlanned, RuleOfThumb
from tests.studies.closed_loop.floor import Floor, least
from tests.studies.closed_loop.living import Life, Look
from tests.studies.closed_loop.picture import picture
from tests.studies.closed_loop.play import ARMS, KINDS, Arm, play, play_missing, read
from tests.studies.closed_loop.summing_up import by_arm, summarize, table, with_earlier
from tests.studies.closed_loop.worlds import World, draw_world, with_express

SEEDS = range(1, 9)
SETTINGS = PlanSettings()


class NeverOrders:
    def look(self, record: Household, day: date, at: time) -> Look:
        return Look(lines=(), again_on=day + timedelta(days=1))


class AlwaysOrders:
    """A box of everything every day."""

    def look(self, record: Household, day: date, at: time) -> Look:
        lines = tuple(OrderLine(item_code=item.code, boxes=1) for item in record.items)
        return Look(lines=lines, again_on=day + timedelta(days=1))


def plain(world: World) -> World:
    """The same world where nothing breaks or goes without a note."""
    none = np.ones_like(world.waste)
    return replace(world, waste=none, vanish=none, dated=none)


def test_a_seed_is_always_the_same_world() -> None:
    one, again = draw_world(3), draw_world(3)
    assert np.array_equal(one.inflow_ml, again.inflow_ml)
    assert (one.catheter, one.stays, one.supplier) == (again.catheter, again.stays, again.supplier)
    assert not np.array_equal(one.inflow_ml[:50], draw_world(4).inflow_ml[:50])


@pytest.mark.parametrize("seed", SEEDS)
def test_goods_are_conserved(seed: int) -> None:
    tally = Life(draw_world(seed), RuleOfThumb(), SETTINGS).run()
    came = tally.opening + tally.received
    assert came == tally.used + tally.expired + tally.broken + tally.left_over


@pytest.mark.parametrize("seed", SEEDS)
def test_the_record_tells_the_shelf_when_all_is_noted(seed: int) -> None:
    life = Life(plain(draw_world(seed)), RuleOfThumb(), SETTINGS)
    life.run()
    shelf = shelf_on(life.record(), life.world.ends_on)
    assert {code: shelf.usable_units(code) for code in life.shelf} == {
        code: sum(lot.units for lot in lots) for code, lots in life.shelf.items()
    }
    assert not shelf.differences
    assert not shelf.missing


@pytest.mark.parametrize("seed", SEEDS)
def test_who_never_runs_short_lives_the_same_life_however_much_is_there(seed: int) -> None:
    """Fluid and sessions do not depend on the shelf until a session finds too little."""
    much = Life(plain(draw_world(seed)), AlwaysOrders(), SETTINGS)
    usual = Life(plain(draw_world(seed)), RuleOfThumb(), SETTINGS)
    most, some = much.run(), usual.run()
    until = some.first_short.day if some.first_short else 10**6
    last = usual.world.study_on + timedelta(days=until - 1) if until < 10**6 else date.max
    known = [(s.started_at, s.volume_ml) for s in usual.sessions if s.drained_on <= last]
    assert known == [(s.started_at, s.volume_ml) for s in much.sessions if s.drained_on <= last]
    assert most.left_over > some.left_over or most.days < 10


def test_who_never_orders_runs_short() -> None:
    short = [Life(draw_world(seed), NeverOrders(), SETTINGS).run() for seed in SEEDS]
    long_lives = [tally for tally in short if tally.days > 100]
    assert len(long_lives) >= 5
    for tally in long_lives:
        assert tally.short_days > 30
        assert tally.orders == 0


def test_worlds_are_of_every_sort() -> None:
    worlds = [draw_world(seed) for seed in range(1, 101)]
    assert len({world.supplier.name for world in worlds}) == 3
    assert len({world.catheter.regimens[0].pattern for world in worlds}) == 3
    assert any(world.stays for world in worlds)
    late = [world.days_late(world.study_on + timedelta(days=n)) for world in worlds for n in (0, 9)]
    assert 0.05 < np.mean(np.array(late) > 0) < 0.35
    ended = sum((world.ends_on - world.study_on).days < 180 for world in worlds)
    assert 20 < ended < 65


def look(kits: int, at: time = time(8, 30), **changes: object) -> Look:
    home = make_household(ledger=stocked(kits), settings={"cover_days": 7}, **changes)
    return AsPlanned().look(home, TODAY, at)


def test_the_planned_order_waits_for_its_day() -> None:
    now, soon, later = look(1), look(8), look(40)
    assert now.lines
    assert now.too_late
    assert not soon.lines
    assert soon.again_on == TODAY + timedelta(days=1)
    assert not later.lines
    assert later.again_on == TODAY + timedelta(days=7)


def test_the_rule_buys_thirty_days_below_fourteen() -> None:
    """Seven kits in fourteen days: 14 days of cover are seven, 44 days are twenty-two."""
    rule = RuleOfThumb()
    low = make_household(ledger=stocked(6))
    assert not rule.look(make_household(ledger=stocked(7)), TODAY, time(9)).lines
    assert rule.look(low, TODAY, time(9)).lines == (OrderLine(item_code=KIT, boxes=2),)
    coming = replace(low, orders=(make_order(1),))
    assert not rule.look(coming, TODAY, time(9)).lines


def test_a_line_is_played_the_same_twice() -> None:
    arm = Arm.named("rule 7 30")
    one, again = play(arm, 5), play(arm, 5)
    assert {**one, "seconds": 0} == {**again, "seconds": 0}
    assert one["arm"] == "rule 7 30"


def line(arm: str, seed: int, **changes: object) -> dict[str, object]:
    whole: dict[str, object] = {
        "arm": arm,
        "seed": seed,
        "days": 180,
        "sessions": 100,
        "short_days": 0,
        "measured_days": 152,
        "unit_days": 1520,
        "measured_orders": 5,
        "expired": 0,
        "left_over": 4,
        "late_orders": 0,
    }
    return whole | changes


def test_arms_are_summed_up_over_the_same_households() -> None:
    lines = [line("plan 0.99 28", 1), line("plan 0.99 28", 2, short_days=3)]
    lines += [line("rule 14 30", 1), line("plan 0.9 28", 1), line("plan 0.9 28", 2, unit_days=0)]
    found = by_arm(lines, 2)
    assert [one.arm for one in found] == ["plan 0.9 28", "plan 0.99 28"]
    assert [one.mean_units for one in found] == [5.0, 10.0]
    assert [one.share_short for one in found] == [0.0, 0.5]
    assert found[0].orders_per_month == pytest.approx(5 / 152 * 365.25 / 12)
    assert table(found).count("\n") == 4
    # Each arm once in either picture, and once in the list below.
    assert picture(found).count("<circle") == 2 * 3


def test_partial_results_are_summed_up_over_what_all_have_played() -> None:
    lines = [line("plan 0.99 28", seed) for seed in range(1, 7)]
    lines += [line("rule 14 30", seed, unit_days=152 * seed) for seed in range(3, 9)]
    lines += [line("foresight 21", 1)]
    found = by_arm(lines)
    assert [(one.arm, one.households) for one in found] == [("plan 0.99 28", 4), ("rule 14 30", 4)]
    assert found[1].mean_units == pytest.approx((3 + 4 + 5 + 6) / 4)
    assert by_arm([]) == []


def test_arms_kept_before_stay_beside_new_ones_of_as_many_households() -> None:
    old = [
        summarize([line(name, seed) for seed in (1, 2)]) for name in ("rule 14 30", "plan 0.9 9")
    ]
    new = [summarize([line("rule 14 30", seed, short_days=1) for seed in (1, 2)])]
    found = with_earlier(new, old)
    assert [(one.arm, one.ever_short) for one in found] == [("plan 0.9 9", 0), ("rule 14 30", 2)]
    assert with_earlier([summarize([line("rule 14 30", 1)])], old)[0].households == 1
    assert len(with_earlier([summarize([line("rule 14 30", 1)])], old)) == 1


def test_each_kind_of_arm_has_a_shape_and_a_label() -> None:
    found = by_arm([line(name, 1) for name in ARMS])
    shown = picture(found)
    for n, one in enumerate(found, 1):
        assert f">{n}: {one.arm} (10.0 units, 1.00 orders a month" in shown
    drawn = [one for one in ET.fromstring(shown) if one.tag.endswith(("circle", "path"))]
    marks = [one for one in drawn if one.get("stroke") != "#333"]
    shapes = {(one.tag, one.get("d", "").split("m", 1)[-1]) for one in marks}
    assert len(marks) == 3 * len(found)
    assert len(shapes) == len(KINDS)


def test_a_run_goes_on_where_it_stopped(tmp_path: Path) -> None:
    path = tmp_path / "lines.jsonl"
    path.write_text(json.dumps(line("foresight 21", 1)) + '\n{"arm": "foresight 21", "se')
    play_missing(path, ["foresight 21", "rule 14 30"], 2, processes=1, seconds=60)
    played = sorted((one["arm"], one["seed"]) for one in read(path))
    assert played == [(arm, seed) for arm in ("foresight 21", "rule 14 30") for seed in (1, 2)]
    assert next(read(path))["unit_days"] == 1520
    before = path.read_bytes()
    play_missing(path, ["foresight 21", "rule 14 30"], 2, processes=1, seconds=60)
    assert path.read_bytes() == before


@pytest.mark.parametrize("name", ["plan", "plan 0.99", "guess 1 2", "foresight 1 2"])
def test_what_is_no_arm_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match=f"{name} is no arm"):
        Arm.named(name)


def test_a_look_at_which_nothing_is_new_plans_nothing_but_the_last_one_does() -> None:
    home = make_household(ledger=stocked(8), settings={"cover_days": 7})
    carer = AsPlanned()
    day, looks = TODAY, 0
    while not (found := carer.look(home, day, time(8, 30))).lines:
        day, looks = found.again_on, looks + 1
    assert 0 < carer.unplanned < looks
    order = make_plan(home, day, at=time(8, 30)).order
    assert order.order_by_on == day
    assert [(one.item_code, one.boxes) for one in found.lines] == [
        (one.item_code, one.boxes) for one in order.lines
    ]


@pytest.mark.parametrize("seed", [1, 5, 9])
def test_a_supplier_that_sends_by_express_changes_nothing_else_in_a_world(seed: int) -> None:
    usual, quick = draw_world(seed), with_express(draw_world(seed))
    assert quick.supplier.express_business_days == 1
    assert replace(quick.supplier, express_business_days=None) == usual.supplier
    assert np.array_equal(usual.lateness, quick.lateness)
    lives = [Life(world, RuleOfThumb(), SETTINGS) for world in (usual, quick)]
    assert lives[0].run() == lives[1].run()


def test_what_the_plan_asks_for_by_express_is_ordered_as_such_at_once() -> None:
    home = make_household(ledger=stocked(1), settings={"cover_days": 7})
    terms = replace(home.supplier, express_business_days=1)
    home = replace(home, supplier=terms)
    found = AsPlanned().look(home, TODAY, time(8, 30))
    express = make_plan(home, TODAY, at=time(8, 30)).express
    assert express is not None
    assert found.by_express
    assert [(one.item_code, one.boxes) for one in found.lines] == [
        (one.item_code, one.boxes) for one in express.lines
    ]
    calm = replace(home, ledger=stocked(30))
    assert not AsPlanned().look(calm, TODAY, time(8, 30)).by_express


@pytest.mark.parametrize(("due", "by_express"), [(-1, True), (0, False), (7, True)])
def test_goods_on_their_way_are_waited_for_until_they_are_late(due: int, by_express: bool) -> None:
    """One kit is left for tomorrow; what comes today is there for the session after."""
    home = make_household(
        ledger=stocked(1),
        settings={"cover_days": 7},
        orders=(make_order(2, placed=-8, promised_on=TODAY + timedelta(days=due)),),
    )
    terms = replace(home.supplier, lead_business_days=9, express_business_days=1)
    home = replace(home, supplier=terms)
    plan = make_plan(home, TODAY, at=time(8, 30))
    assert not plan.order.too_late
    found = AsPlanned().look(home, TODAY, time(8, 30))
    assert found.by_express is by_express


class ByExpress:
    """A box of everything by express, once."""

    def look(self, record: Household, day: date, at: time) -> Look:
        lines = tuple(OrderLine(item_code=item.code, boxes=1) for item in record.items)
        return Look(
            lines=() if record.orders else lines,
            again_on=day + timedelta(days=1),
            by_express=not record.orders,
        )


@pytest.mark.parametrize("seed", SEEDS)
def test_goods_by_express_come_on_the_next_business_day_or_as_late_as_any(seed: int) -> None:
    world = with_express(draw_world(seed))
    life = Life(world, ByExpress(), SETTINGS)
    tally = life.run()
    (order,) = life.orders
    assert tally.express_orders == 1
    placed_on = order.placed_at.date()
    calendar = SupplierCalendar(replace(world.supplier, lead_business_days=1))
    calendar = SupplierCalendar(replace(calendar.terms, delivery_weekdays=None, standing=None))
    expected_on = calendar.usual_arrival(placed_on, world.looks_at)
    expected_on = calendar.add_business_days(expected_on, world.days_late(placed_on))
    assert order.received_on == expected_on


def test_who_uses_more_orders_more_often() -> None:
    """Nine times the use, a third of the days: the square root of the order quantity."""
    few, many = (
        AsPlanned(rhythm=12.0, _units_per_day=units_per_day) for units_per_day in (0.25, 2.25)
    )
    assert [one.cover_days() for one in (few, many)] == [24, 8]


def test_the_interval_of_a_share() -> None:
    """No event among 300, Wilson 1927: upper end z^2 / (n + z^2) = 1.264 percent."""
    none = summarize([line("plan 0.99 28", seed) for seed in range(300)])
    assert none.interval() == pytest.approx((0.0, 0.012643), abs=1e-5)


@pytest.mark.parametrize("seed", [1, 5, 9])
def test_looking_further_ahead_changes_no_order(seed: int) -> None:
    """The study plans with a short horizon; one order cycle is always looked at."""
    world = draw_world(seed)
    until = world.study_on + timedelta(days=40)
    life = Life(replace(world, ends_on=until), RuleOfThumb(), SETTINGS)
    life.run()
    home = life.record()
    short = replace(home, settings=Arm.named("plan 0.99 28").settings())
    assert home.settings.horizon_days > 2 * short.settings.horizon_days
    far, near = make_plan(home, until).order, make_plan(short, until).order
    assert (far.order_by_on, far.lines, far.too_late) == (
        near.order_by_on,
        near.lines,
        near.too_late,
    )
    assert far.covers_until == near.covers_until
    assert far.chance_short == pytest.approx(near.chance_short, abs=1e-6)


def test_the_least_stock_by_hand() -> None:
    """One kit every other day, 100 days, boxes of five; days 28 to 99 are measured.

    A box leaves 4, 4, 3, 3, ..., 0, 0: 20 unit-days in ten days. Day 28 begins two empty days,
    then come seven boxes. Two boxes at a time leave 9, 9, ..., 0, 0: 90 in twenty days; from day
    28 the last 30 of a pair, then three pairs.
    """
    use = {KIT: [1, 0] * 50}
    assert least(use, {KIT: 5}, 1) == Floor(unit_days=7 * 20, orders=7, days=72)
    assert least(use, {KIT: 5}, 20) == Floor(unit_days=30 + 3 * 90, orders=3, days=72)
    assert least(use, {KIT: 5}, 20, {KIT: 300}) == Floor(
        unit_days=sum(300 - (n // 2 + 1) for n in range(28, 100)), orders=0, days=72
    )
