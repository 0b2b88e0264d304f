"""Records that cannot be planned are refused in a sentence, and never stall a plan."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from planner.errors import InvalidHousehold, InvalidValue
from planner.plan import make_plan
from planner.supply import Closure
from tests.builders import (
    TODAY,
    by_rule,
    day,
    every,
    make_household,
    make_kit,
    make_order,
    make_session,
    make_supplier,
    receipt,
    sessions_every,
    stocked,
)


@pytest.mark.parametrize("rule", ["FREQ=DAILY;INTERVAL=0", "FREQ=DAILY;INTERVAL=-1"])
def test_a_rule_without_an_interval_is_refused(rule: str) -> None:
    with pytest.raises(InvalidValue, match=r"rrule is .*INTERVAL"):
        by_rule(rule)


def test_a_rule_that_never_falls_on_a_day_is_refused() -> None:
    with pytest.raises(InvalidValue, match="falls on no day"):
        by_rule("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30")


@pytest.mark.parametrize("rule", ["EXDATE:20260101 FREQ=DAILY", "FREQ=DAILY\nFREQ=DAILY", "daily"])
def test_anything_but_one_rule_is_refused(rule: str) -> None:
    with pytest.raises(InvalidValue, match="write one recurrence rule"):
        by_rule(rule)


def test_an_until_in_universal_time_is_read_by_its_day() -> None:
    regimen = by_rule("FREQ=DAILY;UNTIL=20270105T000000Z")
    assert regimen.rrule is not None


def test_an_unknown_weekday_is_refused() -> None:
    with pytest.raises(InvalidValue, match="delivery_weekdays"):
        make_supplier(delivery_weekdays=(9,))


def test_a_saturday_van_comes_on_saturday() -> None:
    plan = make_plan(
        make_household(ledger=stocked(5), supplier=make_supplier(delivery_weekdays=(5,))), TODAY
    )
    assert plan.next_delivery.usual_on.weekday() == 5


def test_a_closure_of_years_is_refused() -> None:
    with pytest.raises(InvalidValue, match="a closure may last"):
        Closure(starts_on=date(2026, 1, 1), ends_on=date(2028, 1, 1))


def test_an_entry_without_an_id_is_refused() -> None:
    with pytest.raises(InvalidValue, match="id is empty"):
        receipt(3, id="")


def test_a_limit_of_forty_bottles_is_refused() -> None:
    with pytest.raises(InvalidHousehold, match="more than 12 bottles"):
        make_household(
            items=(make_kit(capacity_ml=50),),
            catheter={"regimens": (every(2, session_limit_ml=2000),), "bottle_code": None},
            sessions=(),
            ledger=(),
        )


def test_an_unknown_time_zone_is_refused() -> None:
    with pytest.raises(InvalidValue, match="IANA name"):
        make_household(time_zone="Mars/Phobos")


def test_a_moment_with_a_time_zone_is_refused() -> None:
    with pytest.raises(InvalidValue, match="without a time zone"):
        make_session(datetime(2026, 3, 1, 9, tzinfo=UTC))


def test_an_order_bridges_the_time_before_an_open_delivery() -> None:
    plan = make_plan(
        make_household(
            ledger=stocked(4),
            orders=(make_order(1, placed=-5, promised_on=day(11)),),
            supplier=make_supplier(lead_business_days=4),
            settings={"horizon_days": 40, "cover_days": 7, "protection": 0.95},
        ),
        TODAY,
    )
    assert plan.order.order_by_on == TODAY
    assert plan.order.lines


@pytest.mark.parametrize(("volume_ml", "least", "most"), [(600, 1.5, 2.0), (800, 1.8, 2.1)])
def test_a_jump_of_the_volume_is_believed_after_three_sessions(
    volume_ml: int, least: float, most: float
) -> None:
    before = sessions_every(2, 15, 200, last=-7)
    after = sessions_every(2, 3, volume_ml, last=-1)
    plan = make_plan(
        make_household(
            catheter={"bottle_code": None},
            sessions=tuple(
                make_session(one.started_at, *_split(one.volume_ml)) for one in (*before, *after)
            ),
            ledger=stocked(20),
        ),
        TODAY,
    )
    assert least < plan.outlooks[0].bottles_per_session < most


def _split(volume_ml: int) -> tuple[int, ...]:
    return (volume_ml,) if volume_ml <= 500 else (500, volume_ml - 500)
