"""Other amounts than the proposed one, and how long they last."""

from __future__ import annotations

from datetime import timedelta

from planner.alternatives import Amount, AmountKind, amounts, how_long
from planner.household import Household
from planner.plan import make_plan
from planner.results import Plan
from tests.builders import (
    BOTTLE,
    KIT,
    TODAY,
    authorized,
    make_bottle,
    make_household,
    make_kit,
    make_session,
    moment,
    stocked,
)

SHORT_LOOK = {"horizon_days": 60, "cover_days": 21}


def home(**changes: object) -> Household:
    """Two bottles in every session, so that kits and loose bottles are both wanted."""
    past = tuple(make_session(moment(-1 - 2 * n), 500, 250) for n in range(10))
    whole = {
        "catheter": {"bottle_code": BOTTLE},
        "sessions": past,
        "ledger": stocked(5, 5),
        "settings": SHORT_LOOK,
    }
    return make_household(**(whole | changes))


def by_kind(household: Household, plan: Plan) -> dict[AmountKind, Amount]:
    return {one.kind: one for one in amounts(household, plan)}


def boxes(amount: Amount) -> dict[str, int]:
    return {one.item_code: one.boxes for one in amount.lines}


def test_a_box_more_lasts_longer_and_a_box_less_shorter() -> None:
    household = home()
    plan = make_plan(household, TODAY)
    found = by_kind(household, plan)
    proposed = found[AmountKind.PROPOSED]
    assert proposed.lines == plan.order.lines
    assert boxes(found[AmountKind.ONE_MORE]) == boxes(proposed) | {KIT: boxes(proposed)[KIT] + 1}
    lasting = {kind: how_long(household, plan, one.lines) for kind, one in found.items()}
    less, same, more = (
        lasting[kind] for kind in (AmountKind.ONE_LESS, AmountKind.PROPOSED, AmountKind.ONE_MORE)
    )
    assert less.last_on is not None
    assert same.last_on is not None
    assert less.last_on < same.last_on
    assert more.last_on is None or more.last_on >= same.last_on
    assert less.short_chance > same.short_chance >= more.short_chance


def test_kits_alone_last_as_long_as_kits_with_loose_bottles() -> None:
    household = home()
    plan = make_plan(household, TODAY)
    found = by_kind(household, plan)
    only = found[AmountKind.KITS_ONLY]
    assert set(boxes(only)) == {KIT}
    proposed = how_long(household, plan, plan.order.lines)
    alone = how_long(household, plan, only.lines)
    assert alone.short_chance <= proposed.short_chance + 1e-9


def test_smaller_kits_do_not_stand_in_for_larger_bottles() -> None:
    household = home(items=(make_kit(), make_bottle(capacity_ml=1000)))
    plan = make_plan(household, TODAY)
    assert BOTTLE in boxes(by_kind(household, plan)[AmountKind.PROPOSED])
    assert AmountKind.KITS_ONLY not in by_kind(household, plan)


def test_more_of_a_limited_item_is_marked() -> None:
    household = home(authorized=(authorized(500, 30),))
    plan = make_plan(household, TODAY)
    found = by_kind(household, plan)
    assert found[AmountKind.ONE_MORE].is_limited
    assert not found[AmountKind.PROPOSED].is_limited


def test_nothing_proposed_has_no_other_amounts() -> None:
    household = home(ledger=stocked(200, 200))
    plan = make_plan(household, TODAY)
    assert amounts(household, plan) == ()


def test_the_proposed_amount_lasts_as_long_as_it_should() -> None:
    household = home()
    plan = make_plan(household, TODAY)
    lasting = how_long(household, plan, plan.order.lines)
    assert plan.order.covers_until is not None
    assert lasting.last_on is None or lasting.last_on >= plan.order.covers_until - timedelta(days=1)
