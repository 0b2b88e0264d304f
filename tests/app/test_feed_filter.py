"""What a coordinator's feed shows once its person has chosen."""

from __future__ import annotations

import re
from datetime import date

import pytest

from app.feed_entries import FeedEntry, HouseholdDue, coordinator_entries
from app.feed_filter import LEVELS, DueKind, FeedFilter
from app.feed_memory import remember
from app.feed_words import FeedForm
from planner.errors import InvalidValue
from planner.results import Plan, Reason, ReasonCode, Urgency
from planner.supply import SupplierTerms
from tests.app.feed_builders import (
    ABOUT_HEALTH,
    ADVICE,
    CREATED_ON,
    DETAILED,
    NOW,
    TODAY,
    after,
    make_facts,
    make_household,
    open_delivery,
    proposal,
    run_out,
    short_plan,
)

EVERYTHING = FeedFilter(kinds=frozenset(DueKind))
OTHER = SupplierTerms(name="Brackenfold Goods", lead_business_days=2)


def due(reference: str, plan: Plan, **changes: object) -> HouseholdDue:
    household = make_household(id=f"id-{reference}", **changes)
    return HouseholdDue(reference=reference, household=household, plan=plan)


def one_of_each() -> list[HouseholdDue]:
    """A household of every urgency; each has goods on their way."""
    coming = open_delivery()
    now, soon = proposal(date(2026, 3, 9)), proposal(date(2026, 3, 13))
    return [
        due("short", short_plan()),
        due("now", make_facts(urgency=Urgency.ORDER_NOW, order=now, next_delivery=coming)),
        due("soon", make_facts(urgency=Urgency.ORDER_SOON, order=soon, next_delivery=coming)),
        due("steady", make_facts(urgency=Urgency.STEADY, next_delivery=coming)),
        due("resting", make_facts(urgency=Urgency.RESTING, next_delivery=coming)),
    ]


def entries(
    wanted: FeedFilter,
    households: list[HouseholdDue] | None = None,
    form: FeedForm | None = None,
) -> tuple[FeedEntry, ...]:
    (standing, *rest) = coordinator_entries(
        one_of_each() if households is None else households,
        created_on=CREATED_ON,
        form=form or FeedForm(),
        wanted=wanted,
    )
    assert standing.key == "standing"
    return tuple(rest)


def keys(wanted: FeedFilter, households: list[HouseholdDue] | None = None) -> set[str]:
    found = [entry.key for entry in entries(wanted, households)]
    assert len(found) == len(set(found))
    return set(found)


def of_kinds(*kinds: DueKind) -> FeedFilter:
    return FeedFilter(kinds=frozenset(kinds))


def test_without_a_choice_it_shows_each_household_that_needs_an_order_once() -> None:
    assert keys(FeedFilter()) == {"due/id-short", "due/id-now", "due/id-soon"}
    assert entries(FeedFilter()) == coordinator_entries(one_of_each(), created_on=CREATED_ON)[1:]


@pytest.mark.parametrize(
    ("level", "shown"),
    [
        (Urgency.SHORT, {"short"}),
        (Urgency.ORDER_NOW, {"short", "now"}),
        (Urgency.ORDER_SOON, {"short", "now", "soon"}),
    ],
)
def test_less_urgent_households_are_left_out_with_all_their_entries(
    level: Urgency, shown: set[str]
) -> None:
    wanted = FeedFilter(least_urgency=level, kinds=frozenset(DueKind))
    leads = ("due", "run-out", "delivery")
    assert keys(wanted) == {f"{lead}/id-{name}" for lead in leads for name in shown}


@pytest.mark.parametrize(
    ("kinds", "leads"),
    [
        ((DueKind.ORDER_BY,), {"due"}),
        ((DueKind.RUN_OUT,), {"run-out"}),
        ((DueKind.DELIVERY,), {"delivery"}),
        ((DueKind.ORDER_BY, DueKind.DELIVERY), {"due", "delivery"}),
        ((DueKind.RUN_OUT, DueKind.DELIVERY), {"run-out", "delivery"}),
    ],
)
def test_only_the_chosen_kinds_stand_for_a_household_that_is_not_short(
    kinds: tuple[DueKind, ...], leads: set[str]
) -> None:
    (_, now, soon, *_) = one_of_each()
    expected = {f"{lead}/id-{name}" for lead in leads for name in ("now", "soon")}
    assert keys(of_kinds(*kinds), [now, soon]) == expected


@pytest.mark.parametrize("kind", list(DueKind))
def test_no_choice_of_kinds_hides_a_household_that_runs_short(kind: DueKind) -> None:
    found = {one.key: one for one in entries(of_kinds(kind), [due("short", short_plan())])}
    assert found["due/id-short"].alarm
    assert found["due/id-short"].starts_on == TODAY


def test_entries_stand_on_the_days_of_the_plan() -> None:
    soon = one_of_each()[2]
    found = [(one.starts_on, one.summary) for one in entries(EVERYTHING, [soon])]
    assert found == [
        (date(2026, 3, 11), "soon: delivery of supplies expected"),
        (date(2026, 3, 13), "soon: order supplies by today"),
        (date(2026, 3, 20), "soon: supplies may run out"),
    ]


def test_what_a_plan_does_not_know_has_no_entry() -> None:
    unknown = due("a", make_facts(run_out=run_out(None, None)))
    assert keys(EVERYTHING, [unknown]) == {"due/id-a"}


def test_a_run_out_entry_says_that_goods_on_their_way_are_not_counted() -> None:
    coming, not_coming = one_of_each()[2], due("a", make_facts())
    (with_order,) = entries(of_kinds(DueKind.RUN_OUT), [coming])
    (without,) = entries(of_kinds(DueKind.RUN_OUT), [not_coming])
    assert "not counted until they are there" in with_order.description
    assert "not counted" not in without.description
    assert "(99 in 100) to last until the day before" in without.description


def test_a_run_out_entry_of_a_short_household_says_what_to_ask_for() -> None:
    found = {one.key: one for one in entries(EVERYTHING, [due("a", short_plan())])}
    assert "Ask for express delivery." in found["run-out/id-a"].description


def test_a_late_delivery_says_so() -> None:
    overdue = Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o1")
    late = due("a", make_facts(next_delivery=open_delivery(), reasons=(overdue,)))
    other = Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o9")
    punctual = due("b", make_facts(next_delivery=open_delivery(), reasons=(other,)))
    (one, two) = entries(of_kinds(DueKind.DELIVERY), [late, punctual])
    assert one.summary == "a: delivery of supplies is late"
    assert "Ask the supplier when they will come." in one.description
    assert two.summary == "b: delivery of supplies expected"
    assert "It may be as late as Fri 13 March." in two.description


def test_one_supplier_only() -> None:
    households = [due("a", short_plan()), due("b", short_plan(), supplier=OTHER)]
    assert keys(FeedFilter(), households) == {"due/id-a", "due/id-b"}
    assert keys(FeedFilter(supplier="Brackenfold Goods"), households) == {"due/id-b"}
    assert keys(FeedFilter(supplier="Brackenfold"), households) == set()


def test_choices_add_up() -> None:
    households = [*one_of_each(), due("far", short_plan(), supplier=OTHER)]
    wanted = FeedFilter(
        least_urgency=Urgency.ORDER_NOW,
        kinds=frozenset({DueKind.DELIVERY}),
        supplier="Larkmoor Supply",
    )
    assert keys(wanted, households) == {
        "due/id-short",
        "delivery/id-short",
        "delivery/id-now",
    }


def test_the_plain_form_says_nothing_about_health_or_names_in_any_kind() -> None:
    for entry in entries(EVERYTHING):
        text = f"{entry.summary}\n{entry.description}"
        assert not ABOUT_HEALTH.search(text)
        assert not re.search(r"Amber|Larkmoor|Heron|555", text)


@pytest.mark.parametrize("form", [FeedForm(), DETAILED], ids=["plain", "detailed"])
def test_every_kind_ends_with_the_caution_and_advises_nothing(form: FeedForm) -> None:
    found = entries(EVERYTHING, form=form)
    assert len(found) == 9
    for entry in found:
        assert entry.description.endswith("Follow your own plan.")
        assert not ADVICE.search(f"{entry.summary}\n{entry.description}")
        assert ("Amber Quillfeather" in entry.description) is form.detailed
        assert ("Larkmoor order desk (555-0142)" in entry.description) is form.detailed


def test_what_a_choice_hides_is_withdrawn_once_and_comes_back_under_its_key() -> None:
    first = {one.key: one for one in remember({}, entries(EVERYTHING), NOW)}
    narrow = FeedFilter(least_urgency=Urgency.SHORT)
    second = {one.key: one for one in remember(first, entries(narrow), after(1))}
    assert second.keys() == first.keys()
    gone = {key for key, one in second.items() if one.cancelled_at is not None}
    assert gone == first.keys() - {"due/id-short"}
    assert {second[key].sequence for key in gone} == {1}
    assert second["due/id-short"] == first["due/id-short"]
    third = {one.key: one for one in remember(second, entries(EVERYTHING), after(2))}
    assert third.keys() == first.keys()
    assert all(one.cancelled_at is None for one in third.values())
    assert {third[key].sequence for key in gone} == {2}


@pytest.mark.parametrize("level", sorted(set(Urgency) - set(LEVELS)))
def test_a_level_at_which_nobody_has_to_act_is_refused(level: Urgency) -> None:
    with pytest.raises(InvalidValue, match=f"least_urgency is {level}: choose one of short"):
        FeedFilter(least_urgency=level)


def test_no_kind_at_all_is_refused() -> None:
    with pytest.raises(InvalidValue, match="kinds is empty: choose at least one"):
        FeedFilter(kinds=frozenset())
