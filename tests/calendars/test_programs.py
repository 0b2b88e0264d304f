"""The feeds of all demo households in calendar programs that share no code with the writer.

ical.js and node-ical (each with a parser of its own) and calcurse (in C). khal stands on the
library that also writes the feed, but on its own store and lists; vobject has its tests beside
the other tests of the feed. Which faults each of them notices was tried out on spoilt feeds;
the controls below keep a few of those.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from app.feed import PublishedEntry, entry_uid, write_feed
from app.feed_entries import FeedEntry, HouseholdDue, coordinator_entries, household_entries
from app.feed_words import FeedForm
from tests.app.feed_builders import CREATED_ON, first_published
from tests.app.test_feed_demo import FORMS, planned
from tests.calendars.programs import khal_lists, write_khal_config

pytestmark = pytest.mark.calendars
READ = Path(__file__).parent / "read.cjs"


@dataclass(frozen=True)
class Feed:
    """One feed on disk, with what was put into it."""

    path: Path
    key: str
    published: tuple[PublishedEntry, ...]


def entries_of(form: FeedForm) -> Iterator[tuple[FeedEntry, ...]]:
    for household, plan in planned():
        yield household_entries(plan, household, created_on=CREATED_ON, form=form)
    due = [
        HouseholdDue(reference=household.id, household=household, plan=plan)
        for household, plan in planned()
    ]
    yield coordinator_entries(due, created_on=CREATED_ON, form=form)


@pytest.fixture(scope="module")
def feeds(tmp_path_factory: pytest.TempPathFactory) -> tuple[Feed, ...]:
    """The feed of every demo household in both forms, and the coordinator's, under own keys."""
    folder = tmp_path_factory.mktemp("feeds")
    made: list[Feed] = []
    for entries in (entries for form in FORMS for entries in entries_of(form)):
        key = f"feed-{len(made)}"
        published = first_published(entries)
        path = folder / f"{key}.ics"
        path.write_bytes(write_feed(key, "Supplies", published))
        made.append(Feed(path, key, published))
    return tuple(made)


def facts_of(feed: Feed) -> list[dict[str, object]]:
    """What a reader has to find, by id."""
    facts = [
        {
            "uid": entry_uid(feed.key, one.entry.key),
            "starts_on": one.entry.starts_on.isoformat(),
            "ends_on": (one.entry.starts_on + timedelta(days=1)).isoformat(),
            "summary": one.entry.summary,
            "description": one.entry.description,
            "sequence": one.sequence,
            "status": "CONFIRMED",
            "alarms": int(one.entry.alarm),
            "repeats": one.entry.every_weeks is not None,
        }
        for one in feed.published
    ]
    return sorted(facts, key=lambda fact: str(fact["uid"]))


def run_readers(*paths: Path) -> subprocess.CompletedProcess[str]:
    command = ["node", str(READ), *map(str, paths)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)


@cache
def read_all(paths: tuple[Path, ...]) -> dict[str, list[list[dict[str, Any]]]]:
    result = run_readers(*paths)
    assert (result.returncode, result.stderr) == (0, "")
    read: dict[str, list[list[dict[str, Any]]]] = json.loads(result.stdout)
    return read


@pytest.mark.parametrize("reader", ["ical.js", "node-ical"])
def test_a_library_reads_every_feed_without_a_word_and_finds_the_same_facts(
    reader: str, feeds: tuple[Feed, ...]
) -> None:
    found = read_all(tuple(feed.path for feed in feeds))[reader]
    assert len(found) == len(feeds) >= 2 * len(planned())
    for feed, events in zip(feeds, found, strict=True):
        assert sorted(events, key=lambda event: str(event["uid"])) == facts_of(feed)


def import_into_calcurse(path: Path, folder: Path) -> subprocess.CompletedProcess[str]:
    folder.mkdir()
    command = ["calcurse", "-D", str(folder), "-i", str(path)]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)


def test_calcurse_takes_every_entry_of_every_feed(feeds: tuple[Feed, ...], tmp_path: Path) -> None:
    for feed in feeds:
        folder = tmp_path / feed.key
        result = import_into_calcurse(feed.path, folder)
        count = len(feed.published)
        assert (result.returncode, result.stderr) == (0, "")
        assert f"0 apps / {count} event" in result.stdout
        assert "0 todos / 0 skipped" in result.stdout
        kept = sorted(calcurse_events(folder))
        assert kept == sorted((one.entry.starts_on, one.entry.summary) for one in feed.published)
        notes = {path.read_text(encoding="utf-8") for path in (folder / "notes").iterdir()}
        for one in feed.published:
            assert any(one.entry.description in note for note in notes)


def calcurse_events(folder: Path) -> Iterator[tuple[date, str]]:
    """Day and title of each event in calcurse's own file: `03/01/2026 [1] {4W} >note title`."""
    for line in (folder / "apts").read_text(encoding="utf-8").splitlines():
        day, _, rest = line.partition(" ")
        _, _, noted = rest.partition(">")
        yield datetime.strptime(day, "%m/%d/%Y").date(), noted.partition(" ")[2]


def test_khal_lists_every_entry_of_every_feed_on_its_day(
    feeds: tuple[Feed, ...], tmp_path: Path
) -> None:
    config = write_khal_config(tmp_path)
    command = ["khal", "-c", str(config), "import", "--batch"]
    result = subprocess.run(
        [*command, *(str(feed.path) for feed in feeds)],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert (result.returncode, result.stderr) == (0, "")
    wanted = {
        entry_uid(feed.key, one.entry.key): (one.entry.starts_on, one.entry.summary)
        for feed in feeds
        for one in feed.published
    }
    assert khal_lists(config) == wanted


SPOILS = {
    "a moment where a day belongs": (b"DTSTART;VALUE=DATE:", b"DTSTART:"),
    "a line that is no property": (b"BEGIN:VEVENT\r\n", b"BEGIN:VEVENT\r\nnot a property\r\n"),
}


@pytest.mark.parametrize("what", list(SPOILS))
def test_a_spoilt_feed_is_noticed_by_the_libraries(
    what: str, feeds: tuple[Feed, ...], tmp_path: Path
) -> None:
    path = tmp_path / "spoilt.ics"
    path.write_bytes(feeds[0].path.read_bytes().replace(*SPOILS[what]))
    result = run_readers(path)
    assert result.returncode != 0
    assert result.stderr


def test_a_spoilt_feed_is_noticed_by_calcurse(feeds: tuple[Feed, ...], tmp_path: Path) -> None:
    path = tmp_path / "spoilt.ics"
    path.write_bytes(feeds[0].path.read_bytes().replace(b"DTSTART;VALUE=DATE:", b"X-START:", 1))
    result = import_into_calcurse(path, tmp_path / "calcurse")
    assert "0 skipped" not in result.stdout + result.stderr
