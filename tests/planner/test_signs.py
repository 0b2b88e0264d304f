"""Signs, urgency and refusals of a whole household's plan."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from planner.errors import InvalidHousehold, InvalidValue
from planner.household import Pause, PlanSettings
from planner.ledger import Recall
from planner.plan import make_plan, make_plans
from planner.results import Plan, ReasonCode, Urgency
from planner.sessions import BottleUse, LossReason
from planner.signs import SHORT_CHANCE, misses_protection
from tests.builders import (
    GLOVES,
    KIT,
    TODAY,
    authorized,
    counted,
    day,
    make_household,
    make_order,
    make_session,
    moment,
    receipt,
    sessions_every,
    stocked,
)

QUICK = {"horizon_days": 35, "cover_days": 7}


def plan(**changes: Any) -> Plan:  # noqa: ANN401 - any field
    return make_plan(make_household(**{"settings": QUICK} | changes), TODAY)


def codes(found: Plan) -> set[ReasonCode]:
    return {reason.code for reason in found.reasons}


def test_a_calm_household_has_no_sign_but_its_order_date() -> None:
    found = plan()
    assert codes(found) == {ReasonCode.ORDER_BY}
    assert found.urgency is Urgency.STEADY


def test_urgency_follows_the_order_date() -> None:
    seen = [plan(ledger=stocked(kits)).urgency for kits in range(1, 16)]
    order = list(Urgency)
    ranks = [order.index(one) for one in seen]
    assert ranks == sorted(ranks)
    assert set(seen) == {Urgency.SHORT, Urgency.ORDER_NOW, Urgency.ORDER_SOON, Urgency.STEADY}


def new_household(kits: int, **changes: Any) -> Plan:  # noqa: ANN401
    """Nothing learned yet, so that the plan leans on the starting expectation."""
    settings = {"horizon_days": 60, "cover_days": 21}
    return plan(ledger=stocked(kits), sessions=(), settings=settings, **changes)


def test_running_short_is_said_only_where_it_is_not_extremely_unlikely() -> None:
    found = {kits: new_household(kits) for kits in range(4, 10)}
    late = [one for one in found.values() if one.order.too_late]
    assert len(late) == 5
    for one in late:
        risk = one.order.risk_if_ordered_today
        assert risk > 0.01
        assert one.urgency is (Urgency.SHORT if risk > SHORT_CHANCE else Urgency.ORDER_NOW)
        # Whatever the sign, what the plan cannot keep is said with its chance.
        missed = one.reason(ReasonCode.SHORT_BEFORE_DELIVERY)
        assert missed is not None
        assert missed.facts["risk"] == risk
        assert misses_protection(one)
    assert {one.urgency for one in late} == {Urgency.SHORT, Urgency.ORDER_NOW}
    assert not misses_protection(found[9])


def test_a_household_that_accepts_more_is_short_above_what_it_accepts() -> None:
    settings = {"horizon_days": 60, "cover_days": 21, "protection": 0.9}
    for kits in range(4, 10):
        found = plan(ledger=stocked(kits), sessions=(), settings=settings)
        is_short = found.order.risk_if_ordered_today > 0.1
        assert (found.urgency is Urgency.SHORT) == is_short == found.order.too_late


def test_an_open_order_that_very_likely_comes_in_time_is_no_running_short() -> None:
    seen = set()
    for kits in range(3, 9):
        found = new_household(kits, orders=(make_order(9),))
        risk = found.next_delivery.risk
        assert (found.urgency is Urgency.SHORT) == (risk > SHORT_CHANCE), kits
        missed = found.reason(ReasonCode.RISK_BEFORE_OPEN_DELIVERY)
        assert (missed is not None) == (risk > 0.01) == misses_protection(found)
        seen.add((found.urgency is Urgency.SHORT, missed is not None))
    assert seen == {(True, True), (False, True), (False, False)}


def test_days_away_and_removal_rest_the_household() -> None:
    away = plan(pauses=(Pause(starts_on=day(-1)),))
    removed = plan(catheter={"removed_on": day(-1)})
    assert away.urgency is removed.urgency is Urgency.RESTING
    assert ReasonCode.AWAY in codes(away)
    assert ReasonCode.NOT_IN_USE in codes(removed)
    assert not removed.order.lines
    assert removed.run_out.expected_on is None


def test_shelf_signs_name_item_and_units() -> None:
    entries = (
        *stocked(5),
        receipt(4, id="bad", lot="B", at=moment(0, hour=23) + timedelta(minutes=45)),
        Recall(id="x", at=moment(-1), item_code=KIT, lot="B"),
    )
    recalled = plan(ledger=entries).reason(ReasonCode.RECALLED_ON_SHELF)
    assert recalled is not None
    assert recalled.facts == {"item": KIT, "units": 4}
    expired = plan(ledger=stocked(5, kits_expire_on=day(0)))
    tomorrow = make_plan(
        make_household(settings=QUICK, ledger=stocked(5, kits_expire_on=day(0))), day(1)
    )
    assert expired.reason(ReasonCode.EXPIRED_ON_SHELF) is None
    past = tomorrow.reason(ReasonCode.EXPIRED_ON_SHELF)
    assert past is not None
    assert past.facts == {"item": KIT, "units": 5}


def test_goods_that_will_expire_unused_are_named() -> None:
    found = plan(ledger=stocked(12, kits_expire_on=day(4)))
    expiring = found.reason(ReasonCode.EXPIRES_BEFORE_USE)
    assert expiring is not None
    # Drained yesterday: days 1 and 3 use one or two kits each before the date passes.
    assert expiring.facts["units"] in {9, 10}
    assert found.on_hand[0].usable == 12
    assert found.run_out.expected_on == day(5)


def test_a_shelf_that_was_never_counted_is_named() -> None:
    assert ReasonCode.SHELF_NEVER_COUNTED in codes(plan(ledger=(receipt(40),)))


def test_a_recent_count_that_differed_is_named_for_a_month() -> None:
    recent = plan(ledger=(receipt(40), counted(9)))
    old = plan(ledger=(receipt(40), counted(20, offset=-40)))
    assert ReasonCode.COUNT_DIFFERED in codes(recent)
    assert ReasonCode.COUNT_DIFFERED not in codes(old)


def test_more_sessions_than_kits_is_named() -> None:
    found = plan(ledger=(receipt(3),))
    below = found.reason(ReasonCode.RECORD_BELOW_ZERO)
    assert below is not None
    assert below.facts["units"] == 9


def test_use_above_what_is_authorized_is_named_without_a_larger_order() -> None:
    found = plan(ledger=stocked(1), authorized=(authorized(5, 28),))
    above = found.reason(ReasonCode.ABOVE_AUTHORIZED)
    assert above is not None
    assert above.facts["authorized_units"] == 5
    assert not found.order.lines


def test_other_goods_are_counted_and_never_forecast() -> None:
    found = plan(ledger=(*stocked(12), receipt(7, GLOVES)))
    gloves = next(one for one in found.on_hand if one.item_code == GLOVES)
    assert gloves.usable == 7
    assert found.run_out == plan().run_out


def test_the_future_is_refused_with_all_its_faults() -> None:
    home = make_household(
        sessions=(make_session(moment(1)), make_session(moment(2))),
        ledger=(receipt(3, at=moment(3)),),
    )
    with pytest.raises(InvalidHousehold) as found:
        make_plan(home, TODAY)
    assert len(found.value.faults) == 3
    assert "sessions[1].at is 2026-03-12" in str(found.value)


def test_faults_of_a_record_are_gathered() -> None:
    with pytest.raises(InvalidHousehold) as found:
        make_household(
            sessions=(
                make_session(moment(-1), catheter_id="middle"),
                make_session(moment(-2), 900),
            ),
            ledger=(receipt(2, "NO-SUCH"),),
        )
    text = str(found.value)
    assert len(found.value.faults) == 3
    for part in ("middle", "900", "NO-SUCH"):
        assert part in text


@pytest.mark.parametrize(
    ("field", "value"),
    [("protection", 0.4), ("protection", 1.0), ("cover_days", 3), ("horizon_days", 400)],
)
def test_settings_out_of_bounds_are_refused_by_name(field: str, value: float) -> None:
    with pytest.raises(InvalidValue, match=f"{field} is {value}"):
        PlanSettings(**{field: value})  # type: ignore[arg-type]


def test_a_batch_gives_the_same_plans_as_one_by_one() -> None:
    homes = [make_household(id=f"h{n}", ledger=stocked(4 + n), settings=QUICK) for n in range(3)]
    assert list(make_plans(homes, TODAY)) == [make_plan(home, TODAY) for home in homes]


def test_nothing_advises_on_draining() -> None:
    """A plan holds counts, dates and chances; none of its reasons is about the interval."""
    words = {"drain", "interval", "stretch", "skip", "delay", "frequency"}
    for code in ReasonCode:
        assert not words & set(code.value.split("-"))


def test_lost_bottles_shorten_the_supply() -> None:
    lost = BottleUse(volume_ml=0, loss=LossReason.DROPPED)
    usual = sessions_every(2, 12, 300)
    clumsy = tuple(
        make_session(one.started_at, bottles=(lost, *one.bottles)) if n % 3 == 0 else one
        for n, one in enumerate(usual)
    )
    assert plan(sessions=clumsy).outlooks[0].loss_chance > 0.05
    losing, keeping = plan(sessions=clumsy).run_out, plan(sessions=usual).run_out
    assert losing.expected_on is not None
    assert keeping.expected_on is not None
    assert losing.expected_on < keeping.expected_on
