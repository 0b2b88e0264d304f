"""What to ask for by express, in words: calm, with a day, a chance and whom to call."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from app import wording, wording_steps
from app.feed_entries import household_entries
from app.feed_words import FeedForm
from planner.household import Household
from planner.plan import make_plan
from planner.results import ExpressOrder, Plan, ProposedLine, Urgency
from tests.builders import TODAY, day, make_household, make_order, make_supplier, stocked

ADVICE = re.compile(
    r"drain (less|more|later)|skip|stretch|spare|weniger ablassen|seltener|auslassen", re.IGNORECASE
)
BOX = ProposedLine(item_code="KIT-500", boxes=1, units=10)


def home(kits: int, **changes: object) -> Household:
    supplier = make_supplier(lead_business_days=5, express_business_days=1)
    return make_household(supplier=supplier, ledger=stocked(kits), **changes)


def steps(plan: Plan, household: Household, language: str = "en") -> tuple[str, ...]:
    return wording_steps.call_texts(plan, wording.names_of(household), language)


def with_express(plan: Plan, **changes: object) -> Plan:
    usual: dict[str, object] = {
        "usual_on": day(1),
        "latest_on": day(3),
        "risk": 0.03,
        "lines": (BOX,),
        "is_whole": False,
    }
    return replace(plan, express=ExpressOrder(**usual | changes))  # type: ignore[arg-type]


def test_a_short_shelf_asks_for_the_whole_order_by_express_and_says_when_it_comes() -> None:
    household = home(1)
    plan = with_express(make_plan(household, TODAY), is_whole=True)
    assert plan.urgency is Urgency.SHORT
    assert steps(plan, household) == (
        "Call Harbour Supplies today and ask for express delivery.",
        "Ask for the whole order by express.",
        (
            "Express goods should come on Thu 12 March. The chance of running out before then is "
            "about 1 in 30 (very unlikely)."
        ),
        "Tell your care team that supplies may run short.",
        "Keep to your drain plan.",
    )
    said = wording.delivery_text(plan)
    assert said.startswith("Sent the usual way, goods ordered today should come on Wed 18 March.")


def test_a_part_of_the_order_is_named() -> None:
    household = home(1)
    plan = with_express(make_plan(household, TODAY))
    assert steps(plan, household)[1] == (
        "Ask for 1 box of Drainage kit, half litre (10 kits) by express."
    )


def test_goods_on_their_way_are_asked_for_first() -> None:
    household = home(1, orders=(make_order(2, placed=-20, promised_on=day(-13)),))
    plan = make_plan(household, TODAY)
    assert plan.express is not None
    assert plan.express.unless_by_on == TODAY + timedelta(days=1)
    assert steps(plan, household)[:2] == (
        "Call Harbour Supplies and ask when the order will come.",
        (
            "If it cannot come by Thu 12 March, ask for 1 box of Drainage kit, half litre "
            "(10 kits) by express."
        ),
    )
    nothing_allowed = with_express(plan, lines=(), unless_by_on=day(1))
    assert steps(nothing_allowed, household)[1] == (
        "If it cannot come by Thu 12 March, ask for express delivery."
    )


def test_a_late_order_is_asked_for_while_there_is_no_alarm_yet() -> None:
    household = home(
        2, settings={"protection": 0.998}, orders=(make_order(2, placed=-13, promised_on=day(-6)),)
    )
    plan = make_plan(household, TODAY)
    assert plan.urgency is Urgency.STEADY
    first, second, *_ = steps(plan, household)
    assert first == "Call Harbour Supplies and ask when the order will come."
    assert second.startswith("If it cannot come by ")


def test_a_shelf_that_will_very_likely_last_is_made_safe_without_alarm() -> None:
    household = home(1)
    short = make_plan(household, TODAY)
    plan = with_express(replace(short, urgency=Urgency.ORDER_NOW, reasons=()), is_whole=True)
    assert steps(plan, household) == (
        "To be safe, ask Harbour Supplies to send this order by express.",
        (
            "Express goods should come on Thu 12 March. The chance of running out before then is "
            "about 1 in 30 (very unlikely)."
        ),
    )


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("kits", [0, 1, 2, 3, 4, 5])
def test_it_says_the_day_and_the_chance_and_never_how_to_drain(kits: int, language: str) -> None:
    household = home(kits)
    plan = make_plan(household, TODAY)
    said = " ".join(steps(plan, household, language))
    assert plan.express is not None
    assert wording.day_text(plan.express.usual_on, today=TODAY, language=language) in said
    assert wording.chance_text(plan.express.risk, language) in said
    assert not ADVICE.search(said)


def test_a_plain_calendar_says_no_more_than_before() -> None:
    household = home(1)
    plan = make_plan(household, TODAY)
    without = replace(plan, express=None)
    for form, same in ((FeedForm(), True), (FeedForm(detailed=True), False)):
        found, before = (
            [
                one.description
                for one in household_entries(p, household, created_on=TODAY, form=form)
            ]
            for p in (plan, without)
        )
        assert (found == before) is same
