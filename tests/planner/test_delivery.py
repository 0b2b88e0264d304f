"""When ordered goods arrive."""

from __future__ import annotations

from datetime import date, time

import pytest

from planner.delivery import (
    Arrival,
    SupplierCalendar,
    cut_off_at_home,
    learn_lateness,
    likely_latest,
    most_likely,
    order_usual_arrival,
    still_to_come,
)
from planner.errors import InvalidValue
from planner.plan import make_plan
from planner.supply import Closure, OrderStatus, StandingDelivery
from tests.builders import TODAY, day, make_household, make_order, make_supplier, moment, stocked

WEDNESDAY = TODAY
ON_TIME = (1.0,)


@pytest.mark.parametrize(
    ("zone", "at", "arrives"),
    [
        (None, time(14), 1),
        ("Europe/Lisbon", time(14), 1),
        ("Europe/Berlin", time(13, 59), 1),
        ("Europe/Berlin", time(14, 1), 2),
        ("America/New_York", time(18, 59), 1),
        ("America/New_York", time(19, 1), 2),
    ],
)
def test_the_cut_off_goes_by_the_clock_of_the_supplier(
    zone: str | None, at: time, arrives: int
) -> None:
    """Lisbon is an hour behind Berlin; on 11 March 2026 New York is already on summer time."""
    terms = make_supplier(lead_business_days=1, cut_off=time(15), time_zone=zone)
    calendar = SupplierCalendar(terms, "Europe/Lisbon")
    assert calendar.usual_arrival(TODAY, at) == day(arrives)


def test_a_cut_off_after_midnight_at_home_is_not_missed() -> None:
    """15:00 in Honolulu is 01:00 of the next day in Lisbon."""
    terms = make_supplier(lead_business_days=1, cut_off=time(15), time_zone="Pacific/Honolulu")
    calendar = SupplierCalendar(terms, "Europe/Lisbon")
    assert calendar.usual_arrival(TODAY, time.max) == day(1)
    assert cut_off_at_home(TODAY, time(15), "Pacific/Honolulu", "Europe/Lisbon") == moment(1, 1)


def test_a_clock_that_does_not_exist_is_refused_by_name() -> None:
    with pytest.raises(InvalidValue, match="time_zone is Mars/Base: give a time zone"):
        make_supplier(time_zone="Mars/Base")


def test_the_cut_off_minute_itself_is_in_time() -> None:
    calendar = SupplierCalendar(make_supplier(lead_business_days=1, cut_off=time(15)))
    assert calendar.usual_arrival(WEDNESDAY, time(15)) == day(1)
    assert calendar.usual_arrival(WEDNESDAY, time(15, 1)) == day(2)
    assert calendar.usual_arrival(WEDNESDAY) == day(1)


def test_weekends_holidays_and_closures_do_not_count() -> None:
    """Good Friday and Easter Monday 2026 are 3 and 6 April in England (public holidays)."""
    calendar = SupplierCalendar(
        make_supplier(lead_business_days=1, holiday_country="GB", holiday_region="ENG")
    )
    assert calendar.usual_arrival(date(2026, 4, 2)) == date(2026, 4, 7)
    shut = Closure(starts_on=date(2026, 4, 7), ends_on=date(2026, 4, 8))
    closed = SupplierCalendar(
        make_supplier(
            lead_business_days=1, holiday_country="GB", holiday_region="ENG", closures=(shut,)
        )
    )
    assert closed.usual_arrival(date(2026, 4, 2)) == date(2026, 4, 9)


def test_an_order_on_a_sunday_counts_from_monday_whatever_the_time() -> None:
    calendar = SupplierCalendar(make_supplier(lead_business_days=0))
    assert calendar.usual_arrival(date(2026, 3, 15), time(23)) == date(2026, 3, 16)


def test_goods_wait_for_the_van() -> None:
    calendar = SupplierCalendar(make_supplier(lead_business_days=1, delivery_weekdays=(1, 4)))
    assert calendar.usual_arrival(WEDNESDAY) == day(2)
    assert calendar.usual_arrival(day(1)) == day(2)
    assert calendar.usual_arrival(day(2)) == day(6)


def test_lateness_falls_on_business_days_and_adds_up_to_one() -> None:
    calendar = SupplierCalendar(make_supplier())
    friday = date(2026, 3, 13)
    found = calendar.arrivals(friday, (0.7, 0.2, 0.1))
    assert [one.on for one in found] == [friday, date(2026, 3, 16), date(2026, 3, 17)]
    assert sum(one.chance for one in found) == pytest.approx(1.0)


def test_a_promised_day_is_taken_at_its_word() -> None:
    calendar = SupplierCalendar(make_supplier(delivery_weekdays=(1,)))
    saturday = date(2026, 3, 14)
    order = make_order(promised_on=saturday)
    found = calendar.arrivals(order_usual_arrival(calendar, order), learn_lateness(calendar, ()))
    assert most_likely(found) == saturday


def test_late_deliveries_teach_lateness() -> None:
    calendar = SupplierCalendar(make_supplier(lead_business_days=2))
    late = [
        make_order(
            id=f"o{n}",
            placed=-30 - 7 * n,
            status=OrderStatus.RECEIVED,
            received_on=day(-23 - 7 * n),
        )
        for n in range(4)
    ]
    usual, learned = learn_lateness(calendar, ()), learn_lateness(calendar, late)
    assert sum(usual) == pytest.approx(1.0)
    assert sum(learned) == pytest.approx(1.0)
    assert learned[0] < usual[0]
    # Tuesday to the Tuesday after: five business days, three more than the lead.
    assert learned[3] == pytest.approx((10 * 0.02 + 4) / 14)


def test_what_has_not_come_is_expected_on_the_days_left() -> None:
    calendar = SupplierCalendar(make_supplier())
    expected = (Arrival(day(-1), 0.8), Arrival(day(1), 0.15), Arrival(day(2), 0.05))
    left = still_to_come(calendar, expected, TODAY, ON_TIME)
    assert [one.on for one in left] == [day(1), day(2)]
    assert [one.chance for one in left] == pytest.approx([0.75, 0.25])


def test_an_overdue_delivery_is_awaited_anew() -> None:
    calendar = SupplierCalendar(make_supplier())
    expected = (Arrival(day(-3), 0.9), Arrival(TODAY, 0.1))
    left = still_to_come(calendar, expected, TODAY, (0.5, 0.5))
    assert [(one.on, one.chance) for one in left] == [(day(1), 0.5), (day(2), 0.5)]


def test_goods_that_are_nearly_as_late_as_any_are_not_sure_to_come_tomorrow() -> None:
    """By hand: of what is left, 3 in 4 come tomorrow; of a wait that begins anew, 6 in 10."""
    calendar = SupplierCalendar(make_supplier())
    expected = (Arrival(TODAY, 0.6), Arrival(day(1), 0.3), Arrival(day(2), 0.1))
    late = still_to_come(calendar, expected, TODAY, (0.6, 0.3, 0.1))
    assert [one.on for one in late] == [day(1), day(2), day(5)]
    assert [one.chance for one in late] == pytest.approx([0.6, 0.3, 0.1])
    latest = still_to_come(calendar, expected, day(1), (0.6, 0.3, 0.1))
    assert [one.on for one in latest] == [day(2), day(5), day(6)]
    assert [one.chance for one in latest] == pytest.approx([0.6, 0.3, 0.1])


def test_goods_that_are_a_little_late_keep_the_doubt_that_is_left() -> None:
    calendar = SupplierCalendar(make_supplier())
    expected = (Arrival(TODAY, 0.8), Arrival(day(1), 0.1), Arrival(day(2), 0.1))
    late = still_to_come(calendar, expected, TODAY, (0.8, 0.1, 0.1))
    assert [one.on for one in late] == [day(1), day(2), day(5)]
    assert [one.chance for one in late] == pytest.approx([0.5, 0.4, 0.1])


def test_goods_not_yet_due_are_awaited_as_expected() -> None:
    calendar = SupplierCalendar(make_supplier())
    expected = (Arrival(day(1), 0.9), Arrival(day(2), 0.1))
    assert still_to_come(calendar, expected, TODAY, (0.9, 0.1)) == expected


def test_the_latest_likely_day_is_a_quantile() -> None:
    arrivals = (Arrival(day(1), 0.9), Arrival(day(2), 0.08), Arrival(day(3), 0.02))
    assert likely_latest(arrivals, 0.9) == day(1)
    assert likely_latest(arrivals, 0.95) == day(2)
    assert likely_latest(arrivals, 0.99) == day(3)


SECOND_TUESDAYS = StandingDelivery(
    rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", starts_on=date(2026, 3, 3)
)


def test_goods_wait_for_the_standing_delivery() -> None:
    calendar = SupplierCalendar(make_supplier(standing=SECOND_TUESDAYS, lead_business_days=2))
    assert calendar.usual_arrival(WEDNESDAY) == date(2026, 3, 17)
    assert calendar.usual_arrival(date(2026, 3, 16)) == date(2026, 3, 31)


def test_a_standing_delivery_on_a_closed_day_moves_to_the_next_business_day() -> None:
    shut = Closure(starts_on=date(2026, 3, 17), ends_on=date(2026, 3, 20))
    calendar = SupplierCalendar(
        make_supplier(standing=SECOND_TUESDAYS, lead_business_days=0, closures=(shut,))
    )
    assert calendar.usual_arrival(WEDNESDAY) == date(2026, 3, 23)
    assert calendar.usual_arrival(date(2026, 3, 24)) == date(2026, 3, 31)


def test_a_late_standing_delivery_comes_soon_after_and_not_two_weeks_later() -> None:
    calendar = SupplierCalendar(make_supplier(standing=SECOND_TUESDAYS))
    found = calendar.arrivals(date(2026, 3, 17), (0.9, 0.1))
    assert [one.on for one in found] == [date(2026, 3, 17), date(2026, 3, 18)]


def test_before_and_after_the_standing_deliveries_goods_come_on_any_business_day() -> None:
    ending = StandingDelivery(rrule="FREQ=WEEKLY;BYDAY=TU;UNTIL=20260324", starts_on=day(6))
    calendar = SupplierCalendar(make_supplier(standing=ending, lead_business_days=1))
    assert calendar.usual_arrival(WEDNESDAY) == day(1)
    assert calendar.usual_arrival(day(6)) == date(2026, 3, 24)
    assert calendar.usual_arrival(date(2026, 3, 24)) == date(2026, 3, 25)


def test_a_standing_saturday_is_a_delivery_day() -> None:
    saturdays = StandingDelivery(rrule="FREQ=WEEKLY;BYDAY=SA", starts_on=date(2026, 3, 7))
    calendar = SupplierCalendar(make_supplier(standing=saturdays, lead_business_days=2))
    assert calendar.usual_arrival(WEDNESDAY) == date(2026, 3, 14)
    assert calendar.usual_arrival(day(1)) == date(2026, 3, 21)


def test_the_order_day_keeps_the_cut_off_of_the_slot_that_still_arrives_in_time() -> None:
    """Eight kits last to day 16; of the slots on days 6 and 20 only the first is in time."""
    terms = make_supplier(standing=SECOND_TUESDAYS, lead_business_days=3)
    found = make_plan(make_household(supplier=terms, ledger=stocked(8)), TODAY)
    assert found.order.order_by_on == day(1)
    assert found.order.usual_arrival_on == date(2026, 3, 17)
    assert found.order.covers_until is not None
    assert found.order.covers_until >= date(2026, 4, 14)


@pytest.mark.parametrize(
    ("rule", "fix"),
    [
        ("every second Tuesday", "write one recurrence rule such as FREQ=WEEKLY;BYDAY=MO,WE,FR"),
        ("", "give a short text"),
        ("FREQ=WEEKLY;BYDAY=XX", "it is not a recurrence rule of RFC 5545"),
        ("FREQ=YEARLY", "its deliveries lie more than 92 days apart; check it"),
        ("FREQ=WEEKLY;BYDAY=TU;UNTIL=20200101", "it falls on no day within two years; check it"),
    ],
)
def test_a_standing_delivery_that_cannot_be_is_refused(rule: str, fix: str) -> None:
    with pytest.raises(InvalidValue) as refusal:
        StandingDelivery(rrule=rule, starts_on=date(2026, 3, 3))
    assert refusal.value.fault.field == "rrule"
    assert refusal.value.fault.fix.startswith(fix)


def test_standing_deliveries_and_weekdays_exclude_each_other() -> None:
    with pytest.raises(InvalidValue, match="leave it out where standing deliveries"):
        make_supplier(standing=SECOND_TUESDAYS, delivery_weekdays=(1,))
