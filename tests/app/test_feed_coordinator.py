"""A coordinator's feed: who needs somebody to act, by neutral reference."""

from __future__ import annotations

from datetime import date

from app.feed_entries import HouseholdDue, coordinator_entries
from app.feed_words import FeedForm
from planner.results import Plan, Urgency
from tests.app.feed_builders import (
    CREATED_ON,
    DETAILED,
    TODAY,
    make_facts,
    make_household,
    proposal,
    short_plan,
)


def due(reference: str, plan: Plan) -> HouseholdDue:
    household = make_household(id=f"id-{reference}")
    return HouseholdDue(reference=reference, household=household, plan=plan)


def test_households_that_need_nothing_are_left_out() -> None:
    calm = [due("a", make_facts(urgency=urgency)) for urgency in (Urgency.STEADY, Urgency.RESTING)]
    entries = coordinator_entries(calm, created_on=CREATED_ON)
    assert [entry.key for entry in entries] == ["standing"]


def test_one_entry_per_household_on_the_day_to_act_soonest_first() -> None:
    households = [
        due("soon", make_facts(urgency=Urgency.ORDER_SOON, order=proposal(date(2026, 3, 13)))),
        due("now", make_facts(urgency=Urgency.ORDER_NOW, order=proposal(date(2026, 3, 9)))),
        due("short", short_plan()),
    ]
    entries = coordinator_entries(households, created_on=CREATED_ON)
    assert [(entry.starts_on, entry.summary) for entry in entries[1:]] == [
        (TODAY, "short: act on supplies today"),
        (date(2026, 3, 9), "now: order supplies by today"),
        (date(2026, 3, 13), "soon: order supplies by today"),
    ]
    assert [entry.alarm for entry in entries[1:]] == [True, False, False]


def test_both_run_out_dates_are_given() -> None:
    (_, entry) = coordinator_entries([due("a", make_facts())], created_on=CREATED_ON)
    assert "Expected to run out on Tue 24 March." in entry.description
    assert "May run out on Fri 20 March." in entry.description


def test_the_plain_form_has_neither_name_nor_goods() -> None:
    (_, entry) = coordinator_entries([due("a", short_plan())], created_on=CREATED_ON)
    for word in ("Amber", "Chest", "Larkmoor", "Heron"):
        assert word not in entry.description


def test_the_detailed_form_has_both() -> None:
    form: FeedForm = DETAILED
    (_, entry) = coordinator_entries([due("a", short_plan())], created_on=CREATED_ON, form=form)
    assert "Amber Quillfeather" in entry.description
    assert "2 boxes of Chest drainage kit" in entry.description
    assert "Larkmoor order desk (555-0142)" in entry.description


def test_the_key_is_the_households_own() -> None:
    entries = coordinator_entries(
        [due("a", short_plan()), due("b", short_plan())], created_on=CREATED_ON
    )
    assert [entry.key for entry in entries[1:]] == ["due/id-a", "due/id-b"]
