"""A real subscription: vdirsyncer polls the served feed, khal shows what came of it.

The forecast moves the dates between two polls. Then the entries have moved, none stands twice
and none is left behind. This client gives every entry an id of its own, drawn from its content,
so a moved entry is one taken away and one added; what is compared is what people see.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import httpx
import pytest
import uvicorn
from sqlalchemy import Engine
from sqlmodel import Session

from app.access import HouseholdAccess
from app.main import create_app
from app.services import count_item
from app.services_feeds import make_feed_address
from app.services_orders import StepEntry, move_order
from app.settings import Settings
from app.writing import Request
from tests.app.data_builders import KIT, NOW, UTC_NOW
from tests.app.feed_builders import events_of
from tests.calendars.programs import khal_lists, write_khal_config

pytestmark = pytest.mark.calendars

_SYNC = """\
[general]
status_path = "{folder}/status/"

[pair supplies]
a = "here"
b = "feed"
collections = null
conflict_resolution = "b wins"

[storage here]
type = "filesystem"
path = "{folder}/calendar"
fileext = ".ics"

[storage feed]
type = "http"
url = "{url}"
"""

Shown = list[tuple[date, str]]


@pytest.fixture
def db(sqlite_engine: Engine) -> Iterator[Session]:
    """The subscription does not depend on the kind of database."""
    with Session(sqlite_engine, expire_on_commit=False) as session:
        yield session


@pytest.fixture
def served(sqlite_engine: Engine) -> Iterator[str]:
    """The application on a port of its own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    application = create_app(Settings(port=port), sqlite_engine)
    server = uvicorn.Server(uvicorn.Config(application, port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    until = time.monotonic() + 30
    while not server.started:
        assert time.monotonic() < until
        time.sleep(0.05)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(timeout=15)


class Subscriber:
    """A person's calendar that follows one address."""

    def __init__(self, folder: Path, url: str) -> None:
        self.url = url
        self._folder = folder
        self._khal = write_khal_config(folder)
        self._config = folder / "vdirsyncer.conf"
        self._config.write_text(_SYNC.format(folder=folder, url=url), encoding="utf-8")
        self._sync("discover")

    def poll(self) -> Shown:
        """Ask the feed and say what the calendar then shows; one file per entry."""
        self._sync("sync")
        shown = khal_lists(self._khal)
        assert len(list((self._folder / "calendar").iterdir())) == len(shown)
        return sorted(shown.values())

    def served(self) -> Shown:
        """What the feed itself says."""
        events = events_of(httpx.get(self.url).content)
        assert len({str(one["UID"]) for one in events}) == len(events)
        return sorted((one["DTSTART"].dt, str(one["SUMMARY"])) for one in events)

    def _sync(self, step: str) -> None:
        program = Path(sys.executable).parent / "vdirsyncer"
        result = subprocess.run(
            [str(program), "-c", str(self._config), step],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
        assert result.returncode == 0, result.stderr
        assert "error" not in result.stderr.lower(), result.stderr


def only(shown: Shown, title: str) -> date:
    """The day of the one entry with this title."""
    (day,) = [day for day, found in shown if found == title]
    return day


def titles(shown: Shown) -> set[str]:
    return {title for _, title in shown}


DELIVERY = "Delivery of supplies expected"
RUN_OUTS = ("Supplies at home may run out", "Supplies at home expected to run out")


def test_entries_follow_the_forecast_and_none_is_doubled_or_left_behind(
    db: Session,
    carer: HouseholdAccess,
    served: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    secret = make_feed_address(db, carer, detailed=False, now=UTC_NOW)
    subscriber = Subscriber(tmp_path, f"{served}/calendar/{secret}.ics")
    first = subscriber.poll()
    assert first == subscriber.served()
    assert titles(first) >= {DELIVERY, *RUN_OUTS}

    ask = Request(db=db, access=carer, now=NOW)
    count_item(ask, item_code=KIT, units=5, at=NOW)
    move_order(ask, "o1", StepEntry(kind="cancelled", on=NOW.date()))
    monkeypatch.setenv("EBBSTOCK_NOW", (UTC_NOW + timedelta(hours=1)).isoformat())
    second = subscriber.poll()
    assert second == subscriber.served()
    for title in RUN_OUTS:
        assert only(second, title) < only(first, title)
    assert DELIVERY not in titles(second)
    assert only(second, f"No longer current: {DELIVERY}") == only(first, DELIVERY)

    assert subscriber.poll() == second

    monkeypatch.setenv("EBBSTOCK_NOW", (UTC_NOW + timedelta(days=40)).isoformat())
    last = subscriber.poll()
    assert last == subscriber.served()
    assert not [title for title in titles(last) if DELIVERY in title]
