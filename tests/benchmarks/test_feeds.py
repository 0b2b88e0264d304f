"""A thousand feeds polled at once, as ratios to a static file of the same server.

The server is a process of its own, so that the reader's work does not count as its own.
Nothing here is asserted but that every answer is what it should be.
"""

from __future__ import annotations

import asyncio
import os
import socket
import statistics
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import httpx
from sqlmodel import Session

from app.access import Role, enter_household
from app.convert import write_household
from app.db import create_tables, open_engine
from app.models import AccountRow
from app.planning import plan_for
from app.services import count_item
from app.services_accounts import add_member
from app.services_feeds import make_feed_address
from app.writing import Request
from tests.app.data_builders import KIT, NOW, UTC_NOW, make_household

HOUSEHOLDS, READERS = 25, 40
CONNECTIONS = 100
CHANGED_HOUSEHOLDS = 5


@dataclass(frozen=True)
class Round:
    """One poll of everything at once."""

    seconds: float
    latencies: Sequence[float]
    statuses: Counter[int]
    tags: Mapping[str, str]
    bytes_sent: int

    @property
    def share_unchanged(self) -> float:
        return self.statuses[304] / sum(self.statuses.values())


def fill(database_url: str) -> list[str]:
    """Households with their plans, and the paths of a thousand feeds."""
    engine = open_engine(database_url)
    create_tables(engine)
    paths = []
    with Session(engine, expire_on_commit=False) as db:
        for n in range(HOUSEHOLDS):
            key = f"home-{n}"
            write_household(db, make_household(id=key))
            accounts = [
                AccountRow(
                    email=f"reader{n}-{m}@test.example",
                    name="Reader",
                    password_hash="none",
                    created_at=UTC_NOW,
                )
                for m in range(READERS)
            ]
            db.add_all(accounts)
            db.flush()
            for account in accounts:
                add_member(db, account, key, Role.VIEWER if account.id != 1 else Role.CARER)
            db.commit()
            plan_for(db, key, NOW)
            for account in accounts:
                access = enter_household(db, account, key)
                secret = make_feed_address(db, access, detailed=False, now=UTC_NOW)
                paths.append(f"/calendar/{secret}.ics")
    engine.dispose()
    return paths


def change_some(database_url: str) -> None:
    """Counts in some of the households move their dates."""
    engine = open_engine(database_url)
    with Session(engine, expire_on_commit=False) as db:
        carer = AccountRow(
            email="carer@test.example", name="Carer", password_hash="none", created_at=UTC_NOW
        )
        db.add(carer)
        db.flush()
        for n in range(CHANGED_HOUSEHOLDS):
            key = f"home-{n}"
            add_member(db, carer, key, Role.CARER)
            db.commit()
            ask = Request(db=db, access=enter_household(db, carer, key), now=NOW)
            count_item(ask, item_code=KIT, units=4, at=NOW)
            plan_for(db, key, NOW)
    engine.dispose()


@contextmanager
def server(database_url: str, now: datetime, folder: Path) -> Iterator[str]:
    """The command's own server at a moment that stands still."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    settings = {
        "EBBSTOCK_DATABASE_URL": database_url,
        "EBBSTOCK_PORT": str(port),
        "EBBSTOCK_NOW": now.isoformat(),
        "EBBSTOCK_MAIL": f"file:{folder}/mail",
    }
    log = (folder / "log").open("ab")
    running = subprocess.Popen(
        [sys.executable, "-m", "app.cli", "serve"],
        env={**os.environ, **settings},
        stdout=log,
        stderr=log,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        wait_for(f"{address}/static/ebbstock.css", running)
        yield address
    finally:
        running.terminate()
        running.wait(20)
        log.close()


def wait_for(url: str, running: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 30
    while time.monotonic() < until and running.poll() is None:
        try:
            httpx.get(url)
        except httpx.TransportError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError("the server did not start")


def poll(base: str, paths: Sequence[str], tags: Mapping[str, str] | None = None) -> Round:
    """Ask for everything at once."""
    return asyncio.run(_poll(base, paths, tags or {}))


async def _poll(base: str, paths: Sequence[str], known: Mapping[str, str]) -> Round:
    latencies: list[float] = []
    statuses: Counter[int] = Counter()
    tags: dict[str, str] = {}
    sizes: list[int] = []
    free = asyncio.Semaphore(CONNECTIONS)
    # The server closes a connection that rests for five seconds; it must not be used by then.
    limits = httpx.Limits(max_connections=CONNECTIONS, keepalive_expiry=2)
    async with httpx.AsyncClient(base_url=base, limits=limits, timeout=120) as client:

        async def ask(path: str) -> None:
            headers = {"If-None-Match": known[path]} if path in known else {}
            async with free:
                began = time.perf_counter()
                answer = await client.get(path, headers=headers)
                latencies.append(time.perf_counter() - began)
            statuses[answer.status_code] += 1
            tags[path] = answer.headers["etag"]
            sizes.append(answer.num_bytes_downloaded)

        began = time.perf_counter()
        await asyncio.gather(*(ask(path) for path in paths))
        seconds = time.perf_counter() - began
    return Round(seconds, latencies, statuses, tags, sum(sizes))


def show(name: str, one: Round, base: Round) -> None:
    count = len(one.latencies)
    cuts = statistics.quantiles(one.latencies, n=100)
    print(
        f"{name:36}{count / one.seconds:8.0f}{one.seconds / base.seconds:8.1f}"
        f"{cuts[49] * 1000:9.0f}{cuts[98] * 1000:9.0f}{one.share_unchanged:8.0%}"
        f"{one.bytes_sent / count:9.0f}"
    )


def test_a_thousand_feeds_polled_at_once(tmp_path: Path) -> None:
    database_url = f"sqlite:///{tmp_path}/ebbstock.db"
    paths = fill(database_url)
    assert len(paths) == HOUSEHOLDS * READERS == 1000
    file = ["/static/ebbstock.css"] * len(paths)
    with server(database_url, UTC_NOW, tmp_path) as base:
        poll(base, file[:100])
        static = poll(base, file)
        first = poll(base, paths)
        again = poll(base, paths, first.tags)
        change_some(database_url)
        moved = poll(base, paths, first.tags)
    with server(database_url, UTC_NOW + timedelta(days=1), tmp_path) as base:
        poll(base, paths[::READERS])  # the plans of the new day
        next_day = poll(base, paths, moved.tags)
        static_next_day = poll(base, file)
    assert first.statuses == {200: 1000}
    assert again.statuses == {304: 1000}
    assert moved.statuses == {200: CHANGED_HOUSEHOLDS * READERS, 304: 1000 - 200}
    assert first.tags.keys() == again.tags.keys()
    print(f"\n1,000 feeds asked for at once over {CONNECTIONS} connections; times in one run")
    print(f"{'':36}{'each s':>8}{'ratio':>8}{'p50 ms':>9}{'p99 ms':>9}{'304':>8}{'bytes':>9}")
    show("a static file", static, static)
    show("read for the first time", first, static)
    show("nothing changed", again, static)
    show("dates moved in every fifth", moved, static)
    show("the next day", next_day, static_next_day)
