"""What a plan puts into a household's feed, and what it keeps out."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime

import pytest

from app.feed_entries import EntryKind, FeedEntry, household_entries
from app.feed_words import ENGLISH, FeedForm
from planner.ledger import Count, Recall, Receipt, Reversal
from planner.plan import make_plan
from planner.results import OrderProposal, Plan, Reason, ReasonCode, Urgency
from tests.app.feed_builders import (
    ABOUT_HEALTH,
    ADVICE,
    CREATED_ON,
    DETAILED,
    TODAY,
    entries_of,
    events_of,
    feed_of,
    make_facts,
    make_household,
    open_delivery,
    proposal,
    run_out,
    short_plan,
)


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def every_plan() -> list[Plan]:
    late = Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o1")
    away = Reason.because(ReasonCode.AWAY, catheter="left chest", home_on=date(2026, 3, 20))
    return [
        make_facts(),
        short_plan(),
        make_facts(next_delivery=open_delivery(), reasons=(late,)),
        make_facts(urgency=Urgency.RESTING, next_delivery=open_delivery(), reasons=(away,)),
        make_facts(run_out=run_out(None, None), order=proposal(None), urgency=Urgency.STEADY),
    ]


def test_each_date_of_the_plan_reads_back_from_the_feed() -> None:
    feed = feed_of(make_facts(next_delivery=open_delivery()))
    found = {str(event["SUMMARY"]): event["DTSTART"].dt for event in events_of(feed)}
    assert found == {
        "Supply calendar set up": CREATED_ON,
        "Order supplies by today": date(2026, 3, 12),
        "Supplies at home may run out": date(2026, 3, 20),
        "Supplies at home expected to run out": date(2026, 3, 24),
        "Delivery of supplies expected": date(2026, 3, 11),
        "Count the supplies at home": date(2026, 3, 1),
    }


def test_a_key_appears_once_and_in_the_order_of_the_kinds() -> None:
    keys = list(entries_of(short_plan()))
    assert keys == [kind.value for kind in EntryKind if kind.value in keys]
    assert len(keys) == len(
        household_entries(short_plan(), make_household(), created_on=CREATED_ON)
    )


def test_no_order_day_when_nothing_is_to_be_ordered() -> None:
    nothing = replace(proposal(None), lines=())
    assert "order-by" not in entries_of(make_facts(order=nothing))
    capped: OrderProposal = replace(proposal(date(2026, 3, 12)), lines=())
    assert "order-by" not in entries_of(make_facts(order=capped))


def test_dates_beyond_the_forecast_are_left_out() -> None:
    only_cautious = entries_of(make_facts(run_out=run_out(date(2026, 3, 20), None)))
    assert "run-out-cautious" in only_cautious
    assert "run-out-expected" not in only_cautious


def test_only_an_order_that_was_placed_is_a_delivery() -> None:
    assert "delivery" not in entries_of(make_facts())
    entry = entries_of(make_facts(next_delivery=open_delivery()))["delivery"]
    assert entry.starts_on == date(2026, 3, 11)
    assert "as late as Fri 13 March" in entry.description


def test_an_overdue_delivery_says_so() -> None:
    late = Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o1")
    entry = entries_of(make_facts(next_delivery=open_delivery(), reasons=(late,)))["delivery"]
    assert entry.summary == "Delivery of supplies is late"
    assert "Call your supplier and ask when they will come." in entry.description


def test_another_orders_delay_is_not_this_deliverys() -> None:
    late = Reason.because(ReasonCode.DELIVERY_OVERDUE, order="o0")
    entry = entries_of(make_facts(next_delivery=open_delivery(), reasons=(late,)))["delivery"]
    assert entry.summary == "Delivery of supplies expected"


def test_a_short_shelf_says_whom_to_call_with_numbers_and_rings() -> None:
    entries = entries_of(short_plan())
    for key in ("order-by", "call"):
        assert entries[key].starts_on == TODAY
        assert entries[key].alarm
        text = entries[key].description
        assert "Call your supplier and ask for express delivery. Call your team." in text
        assert "Keep to your own plan." in text
        assert "Supplier: 555-0142" in text
        assert "Your team: 555-0177" in text


def test_without_numbers_nobody_is_listed() -> None:
    household = make_household(care_team=None)
    entries = household_entries(short_plan(), household, created_on=CREATED_ON)
    assert not any("Your team:" in entry.description for entry in entries)


def test_goods_on_their_way_are_not_counted_and_the_entry_says_so() -> None:
    sentence = ENGLISH["run-out.coming"]
    with_order = entries_of(make_facts(next_delivery=open_delivery()))
    assert sentence in with_order["run-out-expected"].description
    assert sentence not in entries_of(make_facts())["run-out-expected"].description


@pytest.mark.parametrize("plan", every_plan())
def test_the_plain_form_says_nothing_about_health_or_names(plan: Plan) -> None:
    household = make_household(
        ledger=(receipt("2026-02-01T09:00", lot="L1", expires_on=date(2026, 4, 1)),)
    )
    feed = feed_of(plan, household).replace(b"\r\n ", b"").decode()
    assert not ABOUT_HEALTH.search(feed)
    for name in ("Amber", "Quillfeather", "Larkmoor", "Heron", "K5", "h-7f2c", "o1", "left"):
        assert not re.search(rf"\b{name}\b", feed)


def test_no_sentence_of_the_plain_catalogue_is_about_health() -> None:
    assert not [code for code, text in ENGLISH.items() if ABOUT_HEALTH.search(text)]


def test_the_search_for_words_about_health_finds_them_in_the_detailed_form() -> None:
    assert ABOUT_HEALTH.search(entries_of(make_facts(), DETAILED)["order-by"].description)


@pytest.mark.parametrize("form", [FeedForm(), DETAILED])
@pytest.mark.parametrize("plan", every_plan())
def test_no_entry_advises_to_use_less_or_to_wait(plan: Plan, form: FeedForm) -> None:
    for entry in entries_of(plan, form).values():
        assert not ADVICE.search(f"{entry.summary} {entry.description}")


@pytest.mark.parametrize("form", [FeedForm(), DETAILED])
@pytest.mark.parametrize("plan", every_plan())
def test_every_entry_carries_the_caution(plan: Plan, form: FeedForm) -> None:
    for entry in entries_of(plan, form).values():
        assert entry.description.endswith("Follow your own plan.")
        assert "counts supplies" in entry.description


def test_the_detailed_form_names_goods_and_people() -> None:
    entries = entries_of(make_facts(), DETAILED)
    order = entries["order-by"].description
    assert "2 boxes of Chest drainage kit (20 kits)" in order
    assert "Larkmoor order desk (555-0142)" in order
    assert "Heron Street chest clinic (555-0177)" in order
    assert "It does not tell you when or how much to drain." in order
    assert "through Mon 23 March" in entries["run-out-expected"].description


def test_the_detailed_form_of_a_short_shelf_keeps_to_the_plan() -> None:
    text = entries_of(short_plan(), DETAILED)["order-by"].description
    assert "express delivery" in text
    assert "Keep to your drain plan." in text


def test_the_summary_is_the_same_in_both_forms() -> None:
    plain, detailed = entries_of(short_plan()), entries_of(short_plan(), DETAILED)
    assert {key: entry.summary for key, entry in plain.items()} == {
        key: entry.summary for key, entry in detailed.items()
    }


@pytest.mark.parametrize("reason", [ReasonCode.NOT_IN_USE, ReasonCode.AWAY])
def test_a_household_that_rests_has_no_dates_but_the_standing_one(reason: ReasonCode) -> None:
    plan = make_facts(urgency=Urgency.RESTING, reasons=(Reason.because(reason, catheter="left"),))
    assert list(entries_of(plan)) == ["standing"]


def test_a_delivery_still_comes_while_somebody_is_away_but_not_after_the_end() -> None:
    away = Reason.because(ReasonCode.AWAY, catheter="left", home_on=None)
    ended = Reason.because(ReasonCode.NOT_IN_USE, catheter="left")
    resting = make_facts(urgency=Urgency.RESTING, next_delivery=open_delivery())
    assert list(entries_of(replace(resting, reasons=(away,)))) == ["standing", "delivery"]
    assert list(entries_of(replace(resting, reasons=(ended,)))) == ["standing"]


def receipt(at: str, *, key: str = "r1", lot: str = "", expires_on: date | None = None) -> Receipt:
    return Receipt(id=key, at=moment(at), item_code="K5", units=10, lot=lot, expires_on=expires_on)


def ledger_entry(kind: str, *ledger: object, form: FeedForm | None = None) -> FeedEntry | None:
    household = make_household(ledger=ledger)
    entries = household_entries(
        make_facts(), household, created_on=CREATED_ON, form=form or FeedForm()
    )
    return next((entry for entry in entries if entry.key == kind), None)


def test_the_next_count_is_four_weeks_after_the_last() -> None:
    counts = [
        Count(id=f"n{n}", at=moment(at), item_code="K5", units=9)
        for n, at in enumerate(("2026-02-20T20:00", "2026-02-12T20:00"))
    ]
    entry = ledger_entry("count", receipt("2026-02-01T09:00"), *counts)
    assert entry is not None
    assert entry.starts_on == date(2026, 3, 20)
    assert entry.every_weeks == 4


def test_a_count_that_was_taken_back_does_not_count() -> None:
    entry = ledger_entry(
        "count",
        receipt("2026-02-01T09:00"),
        Count(id="n1", at=moment("2026-02-20T20:00"), item_code="K5", units=9),
        Reversal(id="v1", at=moment("2026-02-20T20:05"), reverses_id="n1"),
    )
    assert entry is not None
    assert entry.starts_on == date(2026, 3, 1)


def test_without_any_goods_the_first_count_is_four_weeks_from_today() -> None:
    entry = ledger_entry("count")
    assert entry is not None
    assert entry.starts_on == date(2026, 4, 5)


def test_the_soonest_use_by_date_shows_sixty_days_ahead() -> None:
    soon = receipt("2026-02-01T09:00", lot="L7", expires_on=date(2026, 5, 7))
    later = receipt("2026-02-02T09:00", key="r2", lot="L8", expires_on=date(2026, 5, 8))
    entry = ledger_entry("use-first", later, soon, form=DETAILED)
    assert entry is not None
    assert entry.starts_on == date(2026, 5, 7)
    assert "Chest drainage kit: 10 kits, lot L7" in entry.description
    assert "L8" not in entry.description
    assert ledger_entry("use-first", later) is None


def test_kits_of_another_size_that_are_used_too_have_their_date_in_the_calendar() -> None:
    plain = make_household()
    older = replace(plain.items[0], code="K9", name="Older kit")
    catheter = replace(plain.catheters[0], other_kit_codes=("K9",))
    soon = receipt("2026-02-01T09:00", lot="L7", expires_on=date(2026, 3, 20))
    household = make_household(
        items=(*plain.items, older),
        catheters=(catheter,),
        ledger=(*plain.ledger, replace(soon, id="r9", item_code="K9")),
    )
    plan = make_plan(household, TODAY)
    entries = household_entries(plan, household, created_on=CREATED_ON, form=DETAILED)
    entry = next(one for one in entries if one.key == "use-first")
    assert entry.starts_on == date(2026, 3, 20)
    assert "Older kit: 10 kits, lot L7" in entry.description


def test_goods_without_lot_are_listed_without_one() -> None:
    soon = receipt("2026-02-01T09:00", expires_on=date(2026, 3, 8))
    entry = ledger_entry("use-first", soon, form=DETAILED)
    assert entry is not None
    assert "Chest drainage kit: 10 kits\n" in entry.description


def test_recalled_and_expired_goods_are_not_to_be_used_first() -> None:
    soon = receipt("2026-02-01T09:00", lot="L7", expires_on=date(2026, 3, 20))
    recall = Recall(id="c1", at=moment("2026-03-01T08:00"), item_code="K5", lot="L7")
    expired = receipt("2026-02-01T09:00", key="r2", lot="L6", expires_on=date(2026, 3, 7))
    assert ledger_entry("use-first", soon, recall, expired) is None
