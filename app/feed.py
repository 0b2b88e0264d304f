"""A calendar feed as bytes: entries in, iCalendar (RFC 5545, RFC 7986) out.

The feed has no METHOD, since it is a calendar to read and no invitation, and no UID of its
own, since a reader that stores entries one by one takes that for the id of each of them.
All entries last whole days, so that no time zone is needed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Alarm, Calendar, Event, vText

from app.feed_entries import FeedEntry

REFRESH_EVERY = timedelta(hours=6)
"""How often readers are asked to look again. Several of them keep to their own interval."""

REMIND_AT = timedelta(hours=9)
"""When on its day a reminder rings, from midnight."""

_PRODUCT = "-//Ebbstock//Supply calendar//EN"
_UID_SPACE = UUID("5f0c5a3e-7d0b-4b66-9f7e-2f1f9a3f6c1d")
_FIRST_PRINTABLE, _DELETE = 0x20, 0x7F


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedEntry:
    """One entry with what readers have been told of it so far.

    Attributes:
        sequence: how often it has changed since it first appeared.
        created_at: when it first appeared, UTC.
        changed_at: when it last changed, UTC.
        cancelled: whether it is withdrawn.
    """

    entry: FeedEntry
    sequence: int
    created_at: datetime
    changed_at: datetime
    cancelled: bool = False


def write_feed(feed_key: str, name: str, published: Iterable[PublishedEntry]) -> bytes:
    """Write a feed.

    Args:
        feed_key: opaque and lasting; the ids of the entries derive from it.
        name: what readers call the calendar.
        published: at least one entry, the standing one.

    Returns:
        An iCalendar object. The same arguments give the same bytes.

    Raises:
        ValueError: when there is no entry, since readers refuse an emptied feed.

    References:
        RFC 5545 sections 3.4 (object), 3.6.1 (event) and 3.6.6 (alarm); RFC 7986
        sections 5.1 (name), 5.4 (last modified) and 5.7 (refresh interval).
    """
    entries = tuple(published)
    if not entries:
        message = "a feed needs at least its standing entry"
        raise ValueError(message)
    calendar = _calendar()
    calendar.add("NAME", _clean(name))
    calendar.add("X-WR-CALNAME", _clean(name))
    calendar.add("REFRESH-INTERVAL", REFRESH_EVERY, parameters={"VALUE": "DURATION"})
    calendar.add("X-PUBLISHED-TTL", _hours(REFRESH_EVERY))
    calendar.add("LAST-MODIFIED", max(one.changed_at for one in entries))
    for one in entries:
        calendar.add_component(_event(feed_key, one))
    written: bytes = calendar.to_ical(sorted=False)
    return written


def write_one(key: str, published: PublishedEntry) -> bytes:
    """Write a file with one entry, to be put into a calendar once.

    Args:
        key: opaque and lasting; a later file of the same key replaces the earlier entry in
            programs that go by the id.
        published: the entry.

    References:
        RFC 5545 section 3.6.1.
    """
    calendar = _calendar()
    calendar.add_component(_event(key, published))
    written: bytes = calendar.to_ical(sorted=False)
    return written


def _calendar() -> Calendar:
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", _PRODUCT)
    return calendar


def entry_uid(feed_key: str, key: str) -> str:
    """The lasting id of an entry: opaque, and nobody can read the feed's key from it.

    References:
        RFC 5545 section 3.8.4.7 as amended by RFC 7986 section 5.3, which asks for a UUID;
        RFC 4122 section 4.3 (from a name).
    """
    return str(uuid5(_UID_SPACE, f"{feed_key}/{key}"))


def _event(feed_key: str, published: PublishedEntry) -> Event:
    entry = published.entry
    event = Event()
    event.add("UID", entry_uid(feed_key, entry.key))
    event.add("DTSTAMP", published.changed_at)
    event.add("CREATED", published.created_at)
    event.add("LAST-MODIFIED", published.changed_at)
    event.add("SEQUENCE", published.sequence)
    event.add("DTSTART", entry.starts_on)
    event.add("DTEND", entry.starts_on + timedelta(days=1))
    event.add("SUMMARY", _clean(entry.summary))
    event.add("DESCRIPTION", _clean(entry.description))
    event.add("CLASS", "PRIVATE")
    event.add("TRANSP", "TRANSPARENT")
    event.add("STATUS", "CANCELLED" if published.cancelled else "CONFIRMED")
    if published.cancelled:
        return event
    if entry.every_weeks is not None:
        event.add("RRULE", {"FREQ": "WEEKLY", "INTERVAL": entry.every_weeks})
    if entry.alarm:
        event.add_component(_alarm(entry))
    return event


def _alarm(entry: FeedEntry) -> Alarm:
    alarm = Alarm()
    alarm.add("ACTION", "DISPLAY")
    alarm.add("DESCRIPTION", _clean(entry.summary))
    alarm.add("TRIGGER", REMIND_AT)
    return alarm


class _Text(vText):
    r"""Text whose backslashes all stay; the library's own takes `\N` for a line break."""

    def to_ical(self) -> bytes:
        """As it stands in a feed.

        References:
            RFC 5545 section 3.3.11.
        """
        text = str(self).replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
        return text.replace("\n", "\\n").encode()


def _clean(text: str) -> _Text:
    """Text without control characters, which RFC 5545 section 3.1 keeps out of values."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return _Text(
        "".join(
            sign
            for sign in lines
            if sign == "\n" or (ord(sign) >= _FIRST_PRINTABLE and ord(sign) != _DELETE)
        )
    )


def _hours(span: timedelta) -> str:
    return f"PT{int(span.total_seconds() // 3600)}H"
