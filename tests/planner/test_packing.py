"""What to pack: the days away and only those, whole units, the wanted protection."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.demand import follow
from planner.errors import InvalidValue
from planner.household import Household, Pause
from planner.normal import Floats
from planner.outlook import forecast_shelves
from planner.packing import use_between, what_to_pack
from tests.builders import (
    BOTTLE,
    KIT,
    TODAY,
    day,
    make_catheter,
    make_household,
    make_kit,
    moment,
    on_weekdays,
    receipt,
    sessions_every,
    stocked,
)


def mean(chances: Floats) -> float:
    return float(chances @ np.arange(len(chances)))


@pytest.fixture
def two_bottles() -> Household:
    """About 800 mL every other day: a kit and a loose bottle in most sessions."""
    return make_household(
        catheter={"bottle_code": BOTTLE},
        sessions=sessions_every(2, 12, 450, 480),
        ledger=stocked(12, 6),
    )


@pytest.mark.parametrize("catheter", [{}, {"regimens": (on_weekdays("MO", "WE", "FR"),)}])
@pytest.mark.parametrize(("first", "end"), [(0, 8), (3, 9), (10, 20)])
def test_use_on_the_days_away_is_what_is_used_by_the_end_less_what_was_before(
    first: int, end: int, catheter: dict[str, object]
) -> None:
    shelf = forecast_shelves(make_household(catheter=catheter), TODAY, 30)[0]
    whole = follow(shelf.catheters[0].chain).use
    found = use_between(shelf, first, end)
    for between, by_day in ((found.sessions, whole.sessions), (found.bottles, whole.bottles)):
        before = mean(by_day[first - 1]) if first else 0.0
        assert between.sum() == pytest.approx(1.0, abs=1e-5)
        assert mean(between[0]) == pytest.approx(mean(by_day[end - 1]) - before, abs=1e-4)


def test_from_today_on_the_whole_distribution_is_the_plans(two_bottles: Household) -> None:
    shelf = forecast_shelves(two_bottles, TODAY, 20)[0]
    whole = follow(shelf.catheters[0].chain).use
    found = use_between(shelf, 0, 12)
    for between, by_day in ((found.sessions, whole.sessions), (found.bottles, whole.bottles)):
        width = min(between.shape[1], by_day.shape[1])
        assert np.allclose(between[0, :width], by_day[11, :width], atol=1e-6)


def test_every_day_kept_takes_a_kit_a_day_and_one_for_a_lost_bottle() -> None:
    daily = make_household(
        catheter={"regimens": (on_weekdays("MO", "TU", "WE", "TH", "FR", "SA", "SU"),)},
        sessions=sessions_every(1, 60, 200),
    )
    packed = what_to_pack(daily, TODAY, day(5), day(12)).shelves[0]
    assert (packed.usual_sessions, packed.most_sessions) == (7, 7)
    assert 7 <= packed.kit.units <= 9
    assert packed.chance_short <= 0.01


def test_loose_bottles_are_packed_where_sessions_need_more_than_one() -> None:
    much = make_household(
        catheter={"bottle_code": BOTTLE},
        sessions=tuple(
            replace(one, bottles=one.bottles * 2) for one in sessions_every(2, 12, 450, 480)
        ),
        ledger=stocked(12, 20),
    )
    packed = what_to_pack(much, TODAY, day(4), day(14)).shelves[0]
    assert packed.bottle is not None
    assert packed.kit.units >= packed.most_sessions >= packed.usual_sessions == 5
    assert packed.kit.units + packed.bottle.units > 1.5 * packed.kit.units
    assert packed.chance_short <= 0.01
    fewer = use_between(forecast_shelves(much, TODAY, 20)[0], 4, 14)
    assert float(fewer.bottles[0, packed.kit.units + packed.bottle.units + 1 :].sum()) <= 0.01


def test_kits_take_the_place_of_loose_bottles_that_are_not_there(two_bottles: Household) -> None:
    without = replace(two_bottles, ledger=stocked(12))
    few = replace(two_bottles, ledger=stocked(12, 1))
    with_many = what_to_pack(two_bottles, TODAY, day(4), day(14)).shelves[0]
    packed = what_to_pack(without, TODAY, day(4), day(14)).shelves[0]
    some = what_to_pack(few, TODAY, day(4), day(14)).shelves[0]
    assert with_many.bottle is not None
    assert with_many.bottle.units > 1
    assert packed.bottle is not None
    assert some.bottle is not None
    assert (packed.bottle.units, some.bottle.units) == (0, 1)
    assert packed.kit.units >= some.kit.units > with_many.kit.units


def test_without_loose_bottles_one_kit_less_would_not_do() -> None:
    home = make_household()
    packed = what_to_pack(home, TODAY, day(4), day(14)).shelves[0]
    use = use_between(forecast_shelves(home, TODAY, 14)[0], 4, 14)
    assert packed.bottle is None
    assert float(use.bottles[0, packed.kit.units + 1 :].sum()) <= 0.01
    assert float(use.bottles[0, packed.kit.units :].sum()) > 0.01


def test_days_in_reserve_and_more_protection_never_need_less() -> None:
    home = make_household()
    plain = what_to_pack(home, TODAY, day(4), day(10))
    late = what_to_pack(home, TODAY, day(4), day(10), spare_days=4)
    surer = what_to_pack(
        replace(home, settings=replace(home.settings, protection=0.999)), TODAY, day(4), day(10)
    )
    assert late.days.ends_on == day(14)
    assert late.shelves[0].kit.units > plain.shelves[0].kit.units
    assert surer.shelves[0].kit.units >= plain.shelves[0].kit.units


def test_goods_that_pass_their_date_on_the_way_do_not_count_as_there() -> None:
    home = make_household(ledger=stocked(12, kits_expire_on=day(8)))
    packed = what_to_pack(home, TODAY, day(4), day(14)).items[0]
    assert (packed.item_code, packed.lasting) == (KIT, 0)
    assert packed.missing == packed.units > 0
    assert what_to_pack(home, TODAY, day(4), day(9)).items[0].lasting == 12


def test_two_catheters_on_one_shelf_are_packed_for_together() -> None:
    one = make_household()
    left = make_catheter(id="left", label="left")
    both = replace(
        one,
        catheters=(make_catheter(), left),
        sessions=(
            *one.sessions,
            *(replace(s, id=f"left-{s.id}", catheter_id="left") for s in one.sessions),
        ),
    )
    alone = what_to_pack(one, TODAY, day(2), day(12)).items[0].units
    together = what_to_pack(both, TODAY, day(2), day(12)).items[0].units
    assert alone < together <= 2 * alone + 1


def test_nothing_is_packed_for_days_in_a_hospital() -> None:
    home = make_household(pauses=(Pause(starts_on=day(1), ends_on=day(12)),))
    assert what_to_pack(home, TODAY, day(2), day(9)).items == ()


@pytest.mark.parametrize(
    ("starts", "ends", "spare", "field"),
    [
        (-1, 4, 0, "starts_on"),
        (4, 4, 0, "ends_on"),
        (4, 400, 0, "ends_on"),
        (4000, 4001, 0, "starts_on"),
        (4, 8, -1, "spare_days"),
        (4, 8, 15, "spare_days"),
    ],
)
def test_what_cannot_be_packed_for_is_refused(
    starts: int, ends: int, spare: int, field: str
) -> None:
    with pytest.raises(InvalidValue) as refused:
        what_to_pack(make_household(), TODAY, day(starts), day(ends), spare_days=spare)
    assert refused.value.fault.field == field


LARGE = "KIT-1000"


def two_sizes(*, large: int, small: int) -> Household:
    """About 430 mL every other day; litre kits are ordered, half-litre ones left over."""
    at = moment(0, hour=0)
    return make_household(
        items=(make_kit(), make_kit(code=LARGE, name="Kit, litre", capacity_ml=1000)),
        sessions=sessions_every(2, 20, 400, 700, 430),
        ledger=(
            receipt(20, LARGE),
            *(receipt(n, code, id=code, at=at) for code, n in ((LARGE, large), (KIT, small)) if n),
        ),
        catheter={"kit_code": LARGE, "other_kit_codes": (KIT,)},
    )


def test_kits_of_another_size_are_packed_where_the_ordered_ones_do_not_last() -> None:
    enough = what_to_pack(two_sizes(large=20, small=20), TODAY, day(3), day(11)).shelves[0]
    alone = what_to_pack(two_sizes(large=20, small=0), TODAY, day(3), day(11)).shelves[0]
    assert (enough.kit.item_code, enough.kit.units) == (LARGE, alone.kit.units)
    few = what_to_pack(two_sizes(large=1, small=20), TODAY, day(3), day(11)).shelves[0]
    assert (few.kit.item_code, few.kit.missing) == (KIT, 0)
    # A bottle of half the size does not hold 700 mL, so that more of them are needed.
    assert few.kit.units > enough.kit.units
    assert few.most_sessions == enough.most_sessions
    assert few.chance_short <= 0.01


def test_with_too_few_of_every_size_the_ordered_kits_are_listed() -> None:
    bare = what_to_pack(two_sizes(large=1, small=2), TODAY, day(3), day(11)).shelves[0]
    assert bare.kit.item_code == LARGE
    assert bare.kit.missing == bare.kit.units - 1
