"""The feed by clause of RFC 5545. Clause numbers and limits are from memory of the text."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from app.feed import PublishedEntry, entry_uid, write_feed
from tests.app.feed_builders import (
    FEED_KEY,
    NOW,
    TODAY,
    calendar_of,
    event_of,
    events_of,
    feed_of,
    first_published,
    make_facts,
    one_entry,
    short_plan,
)

LONGEST_LINE_OCTETS = 75


def test_rfc5545_3_1_every_line_ends_with_crlf() -> None:
    feed = feed_of(make_facts())
    assert feed.endswith(b"END:VCALENDAR\r\n")
    assert feed.count(b"\n") == feed.count(b"\r\n") == feed.count(b"\r")


@pytest.mark.parametrize("lead", range(6))
def test_rfc5545_3_1_lines_fold_at_75_octets_and_never_inside_a_character(lead: int) -> None:
    text = "x" * lead + "Größe 配達 🧊 " * 20
    feed = write_feed(FEED_KEY, "Supplies", first_published([one_entry(description=text)]))
    lines = feed.split(b"\r\n")
    assert max(len(line) for line in lines) <= LONGEST_LINE_OCTETS
    assert len([line for line in lines if line.startswith(b" ")]) > 3
    for line in lines:
        line.decode()  # a fold inside a character would make this fail
    (event,) = events_of(feed)
    assert str(event["DESCRIPTION"]) == text


def test_rfc5545_3_1_no_byte_order_mark_and_no_control_characters() -> None:
    entry = one_entry(summary="Call\x07 555\x00-0142\x7f", description="one\r\ntwo\rthree\x1b")
    feed = write_feed(FEED_KEY, "Sup\x08plies", first_published([entry]))
    assert feed.startswith(b"BEGIN:VCALENDAR\r\n")
    assert not {byte for byte in feed if byte < 0x20} - {0x0D, 0x0A}
    (event,) = events_of(feed)
    assert str(event["SUMMARY"]) == "Call 555-0142"
    assert str(event["DESCRIPTION"]) == "one\ntwo\nthree"


def test_rfc5545_3_3_11_text_is_escaped_and_reads_back_equal() -> None:
    text = 'Back\\slash, comma; semicolon: colon "quoted"\nBEGIN:VEVENT\nEND:VCALENDAR'
    feed = write_feed(FEED_KEY, "Supplies", first_published([one_entry(summary=text)]))
    unfolded = feed.replace(b"\r\n ", b"").decode()
    assert "SUMMARY:Back\\\\slash\\, comma\\; semicolon: colon" in unfolded
    assert feed.count(b"\r\nBEGIN:VEVENT\r\n") == 1
    (event,) = events_of(feed)
    assert str(event["SUMMARY"]) == text


def test_rfc5545_3_6_version_and_prodid_once_and_no_method() -> None:
    calendar = calendar_of(feed_of(make_facts()))
    assert str(calendar["VERSION"]) == "2.0"
    assert str(calendar["PRODID"]) == "-//Ebbstock//Supply calendar//EN"
    assert "METHOD" not in calendar


def test_rfc5545_3_6_1_a_day_ends_where_the_next_begins() -> None:
    event = event_of(one_entry(starts_on=date(2028, 2, 29)))
    assert event["DTSTART"].to_ical() == b"20280229"
    assert event["DTEND"].to_ical() == b"20280301"
    assert event["DTSTART"].params["VALUE"] == event["DTEND"].params["VALUE"] == "DATE"


def test_rfc5545_3_6_1_each_event_has_what_it_must_have_once() -> None:
    for event in events_of(feed_of(short_plan())):
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "STATUS", "SUMMARY"):
            assert name in event
            assert not isinstance(event[name], list)
        assert not event.errors


def test_rfc5545_3_6_5_whole_days_need_no_time_zone() -> None:
    feed = feed_of(make_facts())
    assert b"VTIMEZONE" not in feed
    assert b"TZID" not in feed


def test_rfc5545_3_6_6_the_order_day_has_a_display_alarm_and_a_calm_day_has_none() -> None:
    (alarm,) = event_of(one_entry(alarm=True)).walk("VALARM")
    assert str(alarm["ACTION"]) == "DISPLAY"
    assert str(alarm["DESCRIPTION"]) == "Order supplies by today"
    assert alarm["TRIGGER"].dt == timedelta(hours=9)
    assert alarm["TRIGGER"].to_ical() == b"PT9H"
    assert not event_of(one_entry(alarm=False)).walk("VALARM")


def test_rfc5545_3_8_1_3_entries_are_private() -> None:
    assert {str(event["CLASS"]) for event in events_of(feed_of(make_facts()))} == {"PRIVATE"}


def test_rfc5545_3_8_1_11_a_withdrawn_entry_is_cancelled_without_alarm_or_repetition() -> None:
    withdrawn = PublishedEntry(
        entry=one_entry(alarm=True, every_weeks=4),
        sequence=3,
        created_at=NOW,
        changed_at=NOW,
        cancelled=True,
    )
    (event,) = events_of(write_feed(FEED_KEY, "Supplies", [withdrawn]))
    assert str(event["STATUS"]) == "CANCELLED"
    assert not event.walk("VALARM")
    assert "RRULE" not in event


def test_rfc5545_3_8_2_7_entries_never_block_time() -> None:
    found = {str(event["TRANSP"]) for event in events_of(feed_of(make_facts()))}
    assert found == {"TRANSPARENT"}


def test_rfc5545_3_8_4_7_ids_are_lasting_different_and_opaque() -> None:
    first, again = events_of(feed_of(make_facts())), events_of(feed_of(make_facts()))
    ids = [str(event["UID"]) for event in first]
    assert ids == [str(event["UID"]) for event in again]
    assert len(set(ids)) == len(ids)
    for one in ids:
        assert len(one) == 36
        assert FEED_KEY not in one
        assert "h-7f2c" not in one
    assert entry_uid(FEED_KEY, "order-by") != entry_uid("another", "order-by")


def test_rfc5545_3_8_4_7_the_id_survives_a_move() -> None:
    here = event_of(one_entry())
    moved = event_of(one_entry(starts_on=TODAY + timedelta(days=3), summary="Order today"))
    assert here["UID"] == moved["UID"]


def test_rfc5545_3_8_5_3_the_count_repeats_every_four_weeks() -> None:
    event = event_of(one_entry(every_weeks=4))
    assert event["RRULE"].to_ical() == b"FREQ=WEEKLY;INTERVAL=4"


def test_rfc5545_3_8_7_instants_are_utc() -> None:
    published = PublishedEntry(
        entry=one_entry(),
        sequence=2,
        created_at=datetime(2026, 3, 1, 6, 0, tzinfo=UTC),
        changed_at=datetime(2026, 3, 8, 7, 30, tzinfo=UTC),
    )
    (event,) = events_of(write_feed(FEED_KEY, "Supplies", [published]))
    assert event["DTSTAMP"].to_ical() == b"20260308T073000Z"
    assert event["LAST-MODIFIED"].to_ical() == b"20260308T073000Z"
    assert event["CREATED"].to_ical() == b"20260301T060000Z"
    assert int(event["SEQUENCE"]) == 2


def test_the_same_entries_give_the_same_bytes() -> None:
    assert feed_of(make_facts()) == feed_of(make_facts())


def test_a_feed_without_any_entry_is_refused() -> None:
    with pytest.raises(ValueError, match="standing entry"):
        write_feed(FEED_KEY, "Supplies", [])
