"""What a feed last said, so that an entry's SEQUENCE rises exactly when the entry changes.

An entry that is no longer there is published as cancelled for a while, so that readers
which never delete by themselves take it down, and is then left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from sqlmodel import Session, col, select, update

from app.feed import PublishedEntry
from app.feed_entries import PLAIN, FeedEntry
from app.feed_words import FeedForm
from app.models import FeedRow
from app.models_feed import PublishedEntryRow

CANCELLED_FOR = timedelta(days=30)
"""How long a withdrawn entry is still published, as cancelled."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """One entry as it was last published; all instants are UTC."""

    key: str
    digest: str
    sequence: int
    starts_on: date
    summary: str
    created_at: datetime
    changed_at: datetime
    cancelled_at: datetime | None = None


def publish(
    db: Session,
    feed_id: int,
    entries: Sequence[FeedEntry],
    *,
    now: datetime,
    form: FeedForm = PLAIN,
) -> tuple[PublishedEntry, ...]:
    """Compare a feed's entries with what it last said and keep the result.

    One transaction of its own. Two readers of one feed take turns, as both begin by writing
    to the feed's row.

    Args:
        db: session; what it has pending is committed.
        feed_id: number of the feed's row.
        entries: what the feed says now.
        now: the instant of the reading, aware; kept to whole seconds as calendars do.
        form: how the feed speaks, for the entries it withdraws.
    """
    now = now.replace(microsecond=0)
    db.commit()
    db.exec(update(FeedRow).where(col(FeedRow.id) == feed_id).values(last_read_at=now))
    found = select(PublishedEntryRow).where(PublishedEntryRow.feed_id == feed_id)
    rows = {row.key: row for row in db.exec(found)}
    known = {key: _from_row(row) for key, row in rows.items()}
    remembered = remember(known, entries, now)
    for one in remembered:
        if known.get(one.key) != one:
            _save(db, rows.get(one.key), feed_id, one)
    db.commit()
    return tuple(_published(entries, remembered, now, form))


def remember(
    known: Mapping[str, Remembered], entries: Iterable[FeedEntry], now: datetime
) -> tuple[Remembered, ...]:
    """What is to be remembered once these entries are published.

    Returns:
        The entries in their order, then the withdrawn ones by key. An entry that did not
        change is returned as it was known.

    References:
        RFC 5545 section 3.8.7.4: the sequence starts at 0 and rises with each revision.
    """
    present = {entry.key: entry for entry in entries}
    shown = (_shown(known.get(key), entry, now) for key, entry in present.items())
    gone = (_withdrawn(known[key], now) for key in sorted(known.keys() - present.keys()))
    return (*shown, *gone)


def _shown(last: Remembered | None, entry: FeedEntry, now: datetime) -> Remembered:
    if last is None:
        return Remembered(
            key=entry.key,
            digest=entry.digest,
            sequence=0,
            starts_on=entry.starts_on,
            summary=entry.summary,
            created_at=now,
            changed_at=now,
        )
    if last.digest == entry.digest and last.cancelled_at is None:
        return last
    return replace(
        last,
        digest=entry.digest,
        sequence=last.sequence + 1,
        starts_on=entry.starts_on,
        summary=entry.summary,
        changed_at=now,
        cancelled_at=None,
    )


def _withdrawn(last: Remembered, now: datetime) -> Remembered:
    if last.cancelled_at is not None:
        return last
    return replace(last, sequence=last.sequence + 1, changed_at=now, cancelled_at=now)


def _published(
    entries: Iterable[FeedEntry],
    remembered: Iterable[Remembered],
    now: datetime,
    form: FeedForm,
) -> Iterator[PublishedEntry]:
    present = {entry.key: entry for entry in entries}
    for one in remembered:
        if one.cancelled_at is None:
            entry = present[one.key]
        elif now < one.cancelled_at + CANCELLED_FOR:
            entry = _cancellation(one, form)
        else:
            continue
        yield PublishedEntry(
            entry=entry,
            sequence=one.sequence,
            created_at=one.created_at,
            changed_at=one.changed_at,
            cancelled=one.cancelled_at is not None,
        )


def _cancellation(one: Remembered, form: FeedForm) -> FeedEntry:
    # The word stands in the summary because some readers show withdrawn entries as valid.
    return FeedEntry(
        key=one.key,
        starts_on=one.starts_on,
        summary=form.say("cancelled.summary", summary=one.summary),
        description=form.say("caution"),
    )


def _from_row(row: PublishedEntryRow) -> Remembered:
    return Remembered(
        key=row.key,
        digest=row.digest,
        sequence=row.sequence,
        starts_on=row.starts_on,
        summary=row.summary,
        created_at=row.created_at,
        changed_at=row.changed_at,
        cancelled_at=row.cancelled_at,
    )


def _save(db: Session, row: PublishedEntryRow | None, feed_id: int, one: Remembered) -> None:
    kept = row or PublishedEntryRow(
        feed_id=feed_id,
        key=one.key,
        digest=one.digest,
        starts_on=one.starts_on,
        summary=one.summary,
        created_at=one.created_at,
        changed_at=one.changed_at,
    )
    kept.digest = one.digest
    kept.sequence = one.sequence
    kept.starts_on = one.starts_on
    kept.summary = one.summary
    kept.changed_at = one.changed_at
    kept.cancelled_at = one.cancelled_at
    db.add(kept)
