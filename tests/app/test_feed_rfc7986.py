"""The feed by clause of RFC 7986. Clause numbers are from memory of the text."""

from __future__ import annotations

import re
from datetime import timedelta
from uuid import UUID

from app.feed import PublishedEntry, write_feed
from tests.app.feed_builders import (
    FEED_KEY,
    NOW,
    after,
    calendar_of,
    events_of,
    feed_of,
    make_facts,
    one_entry,
)


def test_rfc7986_5_1_the_calendar_has_a_name_in_both_spellings() -> None:
    calendar = calendar_of(feed_of(make_facts()))
    assert str(calendar["NAME"]) == str(calendar["X-WR-CALNAME"]) == "Supplies"


def test_rfc7986_5_3_the_calendar_itself_has_no_id() -> None:
    """A reader that keeps entries one by one would take it for the id of all of them."""
    head = feed_of(make_facts()).partition(b"BEGIN:VEVENT")[0]
    assert b"\r\nUID" not in head


def test_rfc7986_5_3_ids_of_entries_are_uuids() -> None:
    for event in events_of(feed_of(make_facts())):
        assert UUID(str(event["UID"])).version == 5


def test_rfc7986_5_4_the_calendar_was_modified_when_its_latest_entry_was() -> None:
    published = [
        PublishedEntry(entry=one_entry(key=str(n)), sequence=0, created_at=NOW, changed_at=at)
        for n, at in enumerate((after(0), after(2), after(1)))
    ]
    calendar = calendar_of(write_feed(FEED_KEY, "Supplies", published))
    assert calendar["LAST-MODIFIED"].dt == after(2)


def test_rfc7986_5_7_refresh_interval_names_its_type_and_the_older_spelling_agrees() -> None:
    feed = feed_of(make_facts())
    assert b"\r\nREFRESH-INTERVAL;VALUE=DURATION:PT6H\r\n" in feed
    (older,) = re.findall(rb"\r\nX-PUBLISHED-TTL:(\S+)\r\n", feed)
    assert older == b"PT6H"
    assert calendar_of(feed)["REFRESH-INTERVAL"].dt == timedelta(hours=6)
