"""What a feed remembers: RFC 5545 section 3.8.7.4, and how entries are withdrawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from app.feed_entries import FeedEntry
from app.feed_memory import CANCELLED_FOR, Remembered, remember
from tests.app.feed_builders import NOW, TODAY, after, one_entry

Known = dict[str, Remembered]


def known_after(*steps: tuple[datetime, Sequence[FeedEntry]]) -> Known:
    """What is remembered once these entries were published one after the other."""
    known: Known = {}
    for at, entries in steps:
        known = {one.key: one for one in remember(known, entries, at)}
    return known


def test_rfc5545_3_8_7_4_the_sequence_begins_at_zero() -> None:
    one = known_after((NOW, [one_entry()]))["order-by"]
    assert (one.sequence, one.created_at, one.changed_at) == (0, NOW, NOW)


def test_rfc5545_3_8_7_4_nothing_changes_while_the_entry_stays_the_same() -> None:
    first = known_after((NOW, [one_entry()]))
    later = known_after((NOW, [one_entry()]), (after(5), [one_entry()]))
    assert first == later


@pytest.mark.parametrize(
    "change",
    [
        {"starts_on": TODAY + timedelta(days=1)},
        {"summary": "Order supplies today"},
        {"description": "Other text"},
        {"alarm": True},
        {"every_weeks": 4},
    ],
    ids=lambda change: next(iter(change)),
)
def test_rfc5545_3_8_7_4_the_sequence_rises_with_each_change(change: dict[str, object]) -> None:
    changed = replace(one_entry(), **change)  # type: ignore[arg-type]
    one = known_after((NOW, [one_entry()]), (after(1), [changed]))["order-by"]
    assert (one.sequence, one.created_at, one.changed_at) == (1, NOW, after(1))


def test_rfc5545_3_8_7_4_a_change_back_is_a_change_too() -> None:
    moved = one_entry(starts_on=TODAY + timedelta(days=1))
    one = known_after((NOW, [one_entry()]), (after(1), [moved]), (after(2), [one_entry()]))
    assert one["order-by"].sequence == 2


def test_an_entry_that_is_gone_is_cancelled_once() -> None:
    once = known_after((NOW, [one_entry()]), (after(1), []))
    twice = known_after((NOW, [one_entry()]), (after(1), []), (after(9), []))
    one = once["order-by"]
    assert (one.sequence, one.changed_at, one.cancelled_at) == (1, after(1), after(1))
    assert once == twice


def test_an_entry_that_comes_back_unchanged_still_rises() -> None:
    known = known_after((NOW, [one_entry()]), (after(1), []), (after(40), [one_entry()]))
    one = known["order-by"]
    assert (one.sequence, one.cancelled_at, one.created_at) == (2, None, NOW)


def test_each_entry_is_remembered_on_its_own() -> None:
    here, there = one_entry(key="a"), one_entry(key="b")
    moved = replace(there, starts_on=TODAY + timedelta(days=1))
    known = known_after((NOW, [here, there]), (after(1), [here, moved]))
    assert (known["a"].sequence, known["b"].sequence) == (0, 1)


def test_withdrawn_entries_are_shown_for_thirty_days() -> None:
    assert timedelta(days=30) == CANCELLED_FOR
