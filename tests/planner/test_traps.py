"""What "stock divided by average use" gets wrong, one test for each trap."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest

from planner.household import Household, Pause, Site
from planner.ledger import (
    Count,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Transfer,
    Waste,
    WrongDelivery,
)
from planner.order_life import take_step
from planner.order_steps import OrderStatus, OrderStep
from planner.plan import make_plan
from planner.refill_rules import rule_on
from planner.results import CatheterOutlook, Plan, ReasonCode, Urgency
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.stock import shelf_on
from planner.supply import Closure
from tests.builders import (
    BOTTLE,
    CATHETER,
    KIT,
    TODAY,
    as_needed,
    authorized,
    day,
    every,
    make_bottle,
    make_catheter,
    make_household,
    make_kit,
    make_order,
    make_session,
    make_supplier,
    moment,
    on_weekdays,
    receipt,
    sessions_every,
    stocked,
)

WEEKLY_ORDERS = {"horizon_days": 35, "cover_days": 7}
"""Looks ahead no further than most rules need, which keeps the tests quick."""


def plan(at: time | None = None, **changes: Any) -> Plan:  # noqa: ANN401 - any field
    return make_plan(make_household(**{"settings": WEEKLY_ORDERS} | changes), TODAY, at=at)


def outlook(**changes: Any) -> CatheterOutlook:  # noqa: ANN401 - any field
    return plan(**changes).outlooks[0]


def usable(home: Household, item: str = KIT) -> int:
    return shelf_on(home, TODAY).usable_units(item)


def day_by(found: date | None) -> int:
    assert found is not None
    return (found - TODAY).days


def test_trap_01_bottles_are_the_sum_of_ceilings() -> None:
    """A mean of 430 mL is one bottle of 500 mL by division; every third session opens two."""
    found = outlook(sessions=sessions_every(2, 14, 430, 300, 500, 470, 450))
    mean_ml = (430 + 300 + 500 + 470 + 450) / 5
    assert -(-mean_ml // 500) == 1
    assert found.bottles_per_session > 1.2
    assert found.further_bottle_chance > 0.2


def test_trap_02_the_scarcest_of_kits_and_bottles_decides() -> None:
    both: dict[str, Any] = {"catheter": {"bottle_code": BOTTLE}, "sessions": two_bottle_sessions()}
    few_kits = plan(ledger=stocked(3, 20), **both)
    few_bottles = plan(ledger=stocked(14, 2), **both)
    plenty = plan(ledger=stocked(14, 20), **both)
    # Drained yesterday: sessions on days 1, 3, 5 and the fourth, on day 7, has no kit.
    assert day_by(few_kits.run_out.expected_on) == 7
    assert day_by(few_bottles.run_out.expected_on) < day_by(plenty.run_out.expected_on)
    assert few_bottles.shelves[0].usable_kits == 14


def two_bottle_sessions() -> tuple[Session, ...]:
    return tuple(make_session(moment(-1 - 2 * n), 500, 250) for n in range(10))


def test_trap_03_a_session_that_had_to_stop_is_a_lower_bound() -> None:
    ran_dry = outlook(sessions=sessions_every(2, 10, 500))
    stopped = outlook(sessions=sessions_every(2, 10, 500, stop=StopReason.BOTTLE_FULL))
    assert ran_dry.rate_ml_per_day == pytest.approx(250.0, rel=0.1)
    assert stopped.rate_ml_per_day > 1.2 * ran_dry.rate_ml_per_day


def test_trap_04_volume_follows_the_gap() -> None:
    """400 mL every other day and 800 mL every fourth day are the same fluid."""
    short = outlook(sessions=sessions_every(2, 12, 400))
    long_gaps = tuple(make_session(moment(-1 - 4 * n), 500, 300) for n in range(12))
    long = outlook(sessions=long_gaps)
    assert short.rate_ml_per_day == pytest.approx(200.0, rel=0.06)
    assert long.rate_ml_per_day == pytest.approx(short.rate_ml_per_day, rel=0.06)


def test_trap_05_half_the_sessions_are_not_half_the_bottles() -> None:
    daily = sessions_every(1, 14, 330, 400, 290)
    before = plan(sessions=daily, catheter={"regimens": (every(1),)})
    changed = plan(sessions=daily, catheter={"regimens": (every(1), every(2, starts_on=day(1)))})
    use, less = before.shelves[0].use, changed.shelves[0].use
    assert less.sessions_mean[27] / use.sessions_mean[27] == pytest.approx(0.5, abs=0.05)
    assert less.bottles_mean[27] / use.bottles_mean[27] > 0.7


def test_trap_06_three_a_week_is_thirteen_a_month() -> None:
    quarterly = {"horizon_days": 91, "cover_days": 28}
    kept = tuple(
        one for one in sessions_every(1, 100, 300) if one.drained_on.weekday() in {0, 2, 4}
    )
    three = plan(
        settings=quarterly,
        sessions=kept,
        catheter={"regimens": (on_weekdays("MO", "WE", "FR", starts_on=date(2025, 11, 1)),)},
    )
    quarter = three.shelves[0].use.sessions_mean[90]
    assert quarter == pytest.approx(39.0, rel=0.03)
    assert quarter / 3.0 > 12.5


def test_trap_07_three_dry_sessions_ask_for_the_team_and_cancel_nothing() -> None:
    fading = (*sessions_every(2, 8, 300, last=-7), *sessions_every(2, 3, 20))
    found = plan(sessions=fading)
    wet = plan(sessions=sessions_every(2, 11, 300))
    assert found.reason(ReasonCode.THREE_DRY_SESSIONS) is not None
    assert wet.reason(ReasonCode.THREE_DRY_SESSIONS) is None
    sessions = found.shelves[0].use.sessions_mean[27]
    assert sessions == pytest.approx(wet.shelves[0].use.sessions_mean[27], rel=0.01)
    assert found.order.lines
    assert found.run_out.expected_on is not None


def test_trap_10_a_first_drain_after_hospital_teaches_nothing() -> None:
    full_chest = make_session(moment(-1), 500, 500, stop=StopReason.LIMIT_REACHED)
    known = {"expected_ml_per_day": 120}
    none = outlook(sessions=(), catheter=known)
    first = outlook(sessions=(full_chest,), catheter=known)
    assert first.sessions_learned_from == 0
    assert first.rate_ml_per_day == pytest.approx(none.rate_ml_per_day, rel=0.01)
    leaning = plan(sessions=(), catheter=known).reason(ReasonCode.LEANS_ON_STARTING_EXPECTATION)
    assert leaning is not None
    assert leaning.facts["sessions"] == 0


def test_trap_11_a_dry_session_is_not_a_skipped_one() -> None:
    held = (receipt(10),)
    dry = make_household(ledger=held, sessions=(make_session(moment(-1), 0),))
    skipped = make_household(ledger=held, sessions=())
    assert (usable(dry), usable(skipped)) == (9, 10)


def test_trap_12_lost_bottles_are_use_and_a_recount_resets() -> None:
    lost = BottleUse(volume_ml=0, loss=LossReason.VACUUM_LOST)
    session = make_session(moment(-3), bottles=(lost, BottleUse(volume_ml=350)))
    entries: tuple[LedgerEntry, ...] = (
        receipt(10),
        Waste(id="w", at=moment(-2), item_code=KIT, units=1, reason="dropped"),
    )
    home = make_household(ledger=entries, sessions=(session,))
    assert usable(home) == 10 - 2 - 1
    count = Count(id="c", at=moment(-1), item_code=KIT, units=4)
    recounted = make_household(ledger=(*entries, count), sessions=(session,))
    assert usable(recounted) == 4
    (difference,) = shelf_on(recounted, TODAY).differences
    assert (difference.recorded, difference.counted) == (7, 4)


def test_trap_13_expired_and_recalled_goods_are_not_stock() -> None:
    entries: tuple[LedgerEntry, ...] = (
        # Yesterday's session takes one of these six, on the last day they may be used.
        Receipt(id="old", at=moment(-2), item_code=KIT, units=6, expires_on=day(-1), lot="A"),
        Receipt(id="good", at=moment(0, hour=23), item_code=KIT, units=7, lot="C"),
        Receipt(id="bad", at=moment(0, hour=23), item_code=KIT, units=6, lot="B"),
        Recall(id="recall", at=moment(0, hour=23), item_code=KIT, lot="B"),
    )
    found = plan(ledger=entries)
    on_hand = found.on_hand[0]
    assert (on_hand.usable, on_hand.expired, on_hand.recalled) == (7, 5, 6)
    assert found.run_out == plan(ledger=stocked(7)).run_out


def test_trap_13_wrong_goods_and_goods_in_the_bag_are_not_stock_at_home() -> None:
    after_stocking = moment(0, hour=23) + timedelta(minutes=45)
    entries: tuple[LedgerEntry, ...] = (
        *stocked(12),
        Transfer(id="bag", at=after_stocking, item_code=KIT, units=4, to=Place.BAG),
        WrongDelivery(id="wrong", at=moment(0), what="One litre kit", units=10),
    )
    found = plan(ledger=entries)
    assert (found.on_hand[0].usable, found.on_hand[0].away) == (8, 4)
    assert found.run_out == plan(ledger=stocked(8)).run_out
    wrong = found.reason(ReasonCode.WRONG_GOODS_HERE)
    assert wrong is not None
    assert wrong.facts == {"what": "One litre kit", "units": 10}


def test_trap_14_goods_on_their_way_are_no_stock_and_arrive_in_parts() -> None:
    order = make_order(2, promised_on=day(2))
    part = receipt(10, order_id="o1", at=moment(0), id="part")
    waiting = plan(ledger=stocked(5), orders=(order,))
    partly = plan(ledger=(*stocked(5), part), orders=(order,))
    assert (waiting.on_hand[0].usable, waiting.on_hand[0].in_transit) == (5, 20)
    assert (partly.on_hand[0].usable, partly.on_hand[0].in_transit) == (5, 10)
    assert waiting.run_out == plan(ledger=stocked(5)).run_out
    for line in waiting.order.lines:
        assert line.units == 10 * line.boxes


def test_trap_14_wrong_goods_do_not_stand_for_what_was_ordered() -> None:
    order = make_order(2, promised_on=day(2))
    wrong = WrongDelivery(id="w", at=moment(0), what="Caps", units=20, order_id="o1")
    waiting = plan(ledger=stocked(5), orders=(order,))
    found = plan(ledger=(*stocked(5), wrong), orders=(order,))
    assert found.on_hand == waiting.on_hand
    assert found.on_hand[0].in_transit == 20
    assert found.run_out_with_coming == waiting.run_out_with_coming


def test_trap_15_the_calendar_decides_what_day_zero_and_run_out_mean() -> None:
    weekly = {"regimens": (every(7),)}
    done = plan(catheter=weekly, sessions=sessions_every(7, 8, 200, last=0), ledger=stocked(1))
    # The kit goes on day 7; the first session that cannot be done is on day 14.
    assert day_by(done.run_out.expected_on) == 14
    assert done.run_out.chance_by_day[0] == 0.0
    shut = make_supplier(closures=(Closure(starts_on=day(1), ends_on=day(9)),))
    closed, usual = plan(supplier=shut), plan()
    assert closed.next_delivery.usual_on > usual.next_delivery.usual_on
    late, early = plan(at=time(18)), plan(at=time(9))
    assert late.next_delivery.usual_on > early.next_delivery.usual_on


def test_trap_16_a_refill_window_is_shown_and_moves_no_date() -> None:
    slow = make_supplier(lead_business_days=25)
    ruled = plan(
        supplier=slow, ledger=stocked(22), settings={"refill_rule": "us-medicare"} | WEEKLY_ORDERS
    )
    free = plan(supplier=slow, ledger=stocked(22), settings=WEEKLY_ORDERS)
    conflict = ruled.reason(ReasonCode.REFILL_WINDOW_CONFLICT)
    assert conflict is not None
    assert ruled.order.order_by_on == free.order.order_by_on
    assert ruled.run_out == free.run_out
    expected, cautious = ruled.run_out.expected_on, ruled.run_out.cautious_on
    assert expected is not None
    assert cautious is not None
    assert cautious < expected
    # The rule counts from the expected last day of supply, never from the cautious one.
    assert ruled.order.earliest_contact_on == day(-31, start=expected)
    assert ruled.order.earliest_delivery_on == day(-11, start=expected)


def test_trap_17_a_proposal_is_no_order_until_a_person_places_it() -> None:
    home = make_household(ledger=stocked(5), settings=WEEKLY_ORDERS)
    first = make_plan(home, TODAY)
    assert first.order.lines
    assert make_plan(home, TODAY) == first
    assert first.on_hand[0].in_transit == 0


def test_trap_18_the_authorized_quantity_is_a_ceiling_and_higher_use_a_message() -> None:
    whole = {"horizon_days": 35, "cover_days": 28}
    capped = plan(ledger=stocked(4), settings=whole, authorized=(authorized(14, 28),))
    assert capped.reason(ReasonCode.ORDER_CAPPED) is not None
    assert capped.reason(ReasonCode.ABOVE_AUTHORIZED) is not None
    assert sum(line.units for line in capped.order.lines) == 10
    assert sum(line.units for line in plan(ledger=stocked(4), settings=whole).order.lines) > 10


def test_trap_19_symptom_led_sessions_are_random() -> None:
    past = sessions_every(7, 8, 100, last=-3)
    fixed = plan(catheter={"regimens": (every(7),)}, sessions=past, ledger=stocked(3))
    random = plan(catheter={"regimens": (as_needed(),)}, sessions=past, ledger=stocked(3))
    spread = [
        day_by(one.run_out.expected_on) - day_by(one.run_out.cautious_on) for one in (fixed, random)
    ]
    assert spread[1] > 2 * spread[0]
    assert random.outlooks[0].kept_chance is None


def test_trap_20_two_catheters_share_one_shelf_and_keep_their_own_limits() -> None:
    right = make_catheter()
    left = make_catheter(id="left", label="left", regimens=(every(2, session_limit_ml=500),))
    past = sessions_every(2, 10, 300)
    other = tuple(
        make_session(one.started_at, 300, catheter_id="left", id=f"l{one.id}") for one in past
    )
    one = plan(catheters=(right,), sessions=past)
    two = plan(catheters=(right, left), sessions=(*past, *other))
    assert two.shelves[0].use.sessions_mean[20] == pytest.approx(
        2.0 * one.shelves[0].use.sessions_mean[20], rel=1e-6
    )
    assert day_by(two.run_out.expected_on) < 0.7 * day_by(one.run_out.expected_on)
    right_now, left_now = two.outlooks
    assert left_now.further_bottle_chance < right_now.further_bottle_chance


def test_trap_21_days_in_hospital_use_nothing_from_home() -> None:
    stay = Pause(starts_on=day(3), ends_on=day(13))
    away, home = plan(pauses=(stay,)), plan()
    sessions = away.shelves[0].use.sessions_mean
    assert sessions[12] == sessions[2]
    moved = day_by(away.run_out.expected_on) - day_by(home.run_out.expected_on)
    assert 9 <= moved <= 12
    before = sessions_every(2, 8, 300, last=-20)
    after = make_session(moment(-1), 300)
    past_stay = Pause(starts_on=day(-19), ends_on=day(-2))
    stayed = outlook(sessions=(*before, after), pauses=(past_stay,))
    assert stayed.rate_ml_per_day == pytest.approx(150.0, rel=0.1)


def test_trap_23_two_litres_from_the_abdomen_is_two_bottles_and_any_capacity_counts() -> None:
    abdomen = {"site": Site.ABDOMEN, "regimens": (every(2, session_limit_ml=2000),)}
    two_litres = tuple(make_session(moment(-1 - 2 * n), 1000, 800) for n in range(10))
    large = outlook(
        items=(make_kit(capacity_ml=1000), make_bottle()), catheter=abdomen, sessions=two_litres
    )
    assert large.bottles_per_session == pytest.approx(2.0, abs=0.15)
    at_550 = sessions_every(2, 12, 550)
    odd = outlook(items=(make_kit(capacity_ml=600), make_bottle()), sessions=at_550)
    usual = outlook(
        sessions=tuple(
            make_session(one.started_at, 500, 50, id=one.id, catheter_id=CATHETER) for one in at_550
        )
    )
    assert odd.bottles_per_session < usual.bottles_per_session


def test_trap_14_what_came_in_part_is_neither_lost_nor_counted_twice() -> None:
    """Two boxes of ten: six came and are on the shelf, fourteen are still on their way."""
    first = OrderStep(kind=OrderStatus.PLACED, at=moment(-1), by="Cara")
    part = OrderStep(kind=OrderStatus.RECEIVED_IN_PART, at=moment(0), by="Cara", delivery="v2")
    placed = make_order(2, placed_at=moment(-1), steps=(first,))
    order = take_step(placed, part)
    came = receipt(6, order_id="o1", at=moment(0, hour=23).replace(minute=45), id="v2-01")
    found = plan(ledger=(*stocked(0), came), orders=(order,)).on_hand[0]
    assert (found.usable, found.in_transit) == (6, 14)
    closed = take_step(
        order, OrderStep(kind=OrderStatus.RECEIVED, at=moment(0), by="Cara"), (came,)
    )
    given_up = plan(ledger=(*stocked(0), came), orders=(closed,)).on_hand[0]
    assert (given_up.usable, given_up.in_transit) == (6, 0)


def test_trap_17_a_yes_alone_is_no_order_on_its_way() -> None:
    yes = OrderStep(kind=OrderStatus.CONFIRMED, at=moment(-1), by="Cara", note="Yes.")
    confirmed = make_order(
        2, placed_at=moment(-1), status=OrderStatus.CONFIRMED, steps=(yes,), confirmed_by="Cara"
    )
    waiting, without = plan(ledger=stocked(5), orders=(confirmed,)), plan(ledger=stocked(5))
    assert waiting.on_hand[0].in_transit == 0
    assert waiting.order.lines == without.order.lines
    assert waiting.urgency is without.urgency


def test_trap_25_a_payer_s_rule_holds_from_its_day_and_for_its_payer() -> None:
    """Source: CMS-1780-F, in force from 1 January 2024. Another payer brings other terms."""
    assert rule_on("us-medicare", date(2023, 12, 31)) is None
    assert rule_on("us-medicare", date(2024, 1, 1)) is not None
    ruled = {"refill_rule": "us-medicare"} | WEEKLY_ORDERS
    limit = authorized(10, 30)
    before = plan(ledger=stocked(6), settings=ruled, authorized=(limit,))
    assert before.order.earliest_contact_on is not None
    # A home-health agency takes over: its own supplier and lead time, no such rule, no limit.
    agency = make_supplier(name="Agency store", lead_business_days=1)
    after = plan(ledger=stocked(6), settings=WEEKLY_ORDERS, supplier=agency)
    assert after.order.earliest_contact_on is None
    assert after.order.order_by_on is not None
    assert before.order.order_by_on is not None
    assert after.order.order_by_on > before.order.order_by_on
    # A limit that starts later does not bind today.
    later = authorized(10, 30, starts_on=day(60))
    assert plan(ledger=stocked(6), authorized=(later,)).reason(ReasonCode.ORDER_CAPPED) is None


def test_short_before_delivery_is_urgent() -> None:
    assert plan(ledger=stocked(1)).urgency is Urgency.SHORT
