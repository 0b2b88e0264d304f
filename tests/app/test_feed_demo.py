"""The feeds of all demo households, read by a library other than the one that wrote them.

vobject reads and validates iCalendar on its own and shares no code with icalendar.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest
import vobject

from app.feed import write_feed
from app.feed_entries import FeedEntry, HouseholdDue, coordinator_entries, household_entries
from app.feed_words import FeedForm
from app.settings import SEED_SCENARIOS
from planner.household import Household
from planner.plan import make_plan
from planner.results import Plan, Urgency
from planner.scenario import read_scenario
from tests.app.feed_builders import ABOUT_HEALTH, ADVICE, CREATED_ON, FEED_KEY, first_published

FORMS = (FeedForm(), FeedForm(detailed=True))
NEAR_DAYS = 40


@cache
def planned() -> tuple[tuple[Household, Plan], ...]:
    """Every demo household with its plan; a near horizon is enough for a calendar."""
    return tuple(_planned())


def _planned() -> Iterator[tuple[Household, Plan]]:
    for path in sorted(SEED_SCENARIOS.glob("*.toml")):
        scenario = read_scenario(path)
        for household in scenario.households:
            near = replace(household.settings, horizon_days=NEAR_DAYS)
            household = replace(household, settings=near)  # noqa: PLW2901
            yield household, make_plan(household, scenario.as_of)


def read_by_another(entries: tuple[FeedEntry, ...]) -> list[Any]:
    feed = write_feed(FEED_KEY, "Supplies", first_published(entries)).decode()
    (calendar,) = vobject.readComponents(feed)
    calendar.validate(raiseException=True)
    events: list[Any] = calendar.vevent_list
    return events


def facts_of(event: Any) -> tuple[date, date, str, str]:  # noqa: ANN401  (untyped library)
    return (
        event.dtstart.value,
        event.dtend.value,
        event.summary.value,
        event.description.value,
    )


def expected_of(entry: FeedEntry) -> tuple[date, date, str, str]:
    next_day = entry.starts_on + timedelta(days=1)
    return entry.starts_on, next_day, entry.summary, entry.description


def test_there_are_demo_households_of_every_urgency_but_rest() -> None:
    assert {plan.urgency for _, plan in planned()} >= set(Urgency) - {Urgency.RESTING}


@pytest.mark.parametrize("form", FORMS, ids=["plain", "detailed"])
def test_another_library_reads_the_same_facts(form: FeedForm) -> None:
    for household, plan in planned():
        entries = household_entries(plan, household, created_on=CREATED_ON, form=form)
        events = read_by_another(entries)
        assert [facts_of(event) for event in events] == [expected_of(one) for one in entries]
        assert [hasattr(event, "valarm") for event in events] == [one.alarm for one in entries]


def test_another_library_reads_the_coordinators_feed() -> None:
    due = [
        HouseholdDue(reference=household.id, household=household, plan=plan)
        for household, plan in planned()
    ]
    entries = coordinator_entries(due, created_on=CREATED_ON)
    assert [facts_of(event) for event in read_by_another(entries)] == [
        expected_of(one) for one in entries
    ]
    acting = (Urgency.SHORT, Urgency.ORDER_NOW, Urgency.ORDER_SOON)
    assert len(entries) == 1 + sum(plan.urgency in acting for _, plan in planned())
    assert not [one for one in entries if ABOUT_HEALTH.search(one.summary + one.description)]


def test_no_plain_feed_of_a_demo_household_says_anything_about_health_or_names() -> None:
    for household, plan in planned():
        contacts = (household.supplier.contact, household.care_team)
        names = [household.name, household.supplier.name]
        names += [one.name for one in contacts if one is not None]
        names += [item.name for item in household.items]
        for entry in household_entries(plan, household, created_on=CREATED_ON):
            text = f"{entry.summary}\n{entry.description}"
            assert not ABOUT_HEALTH.search(text)
            assert not [name for name in names if name in text]


@pytest.mark.parametrize("form", FORMS, ids=["plain", "detailed"])
def test_no_feed_of_a_demo_household_advises_to_use_less_or_to_wait(form: FeedForm) -> None:
    for household, plan in planned():
        for entry in household_entries(plan, household, created_on=CREATED_ON, form=form):
            assert not ADVICE.search(f"{entry.summary}\n{entry.description}")
