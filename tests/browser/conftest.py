"""The application on a port of its own, with a household and an agency, behind a browser."""

from __future__ import annotations

import os
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest
import uvicorn
from playwright.sync_api import Browser, Page
from sqlmodel import Session

from app.access import Role
from app.convert import write_household
from app.db import create_tables, open_engine
from app.main import create_app
from app.models import AgencyRow
from app.services_accounts import add_coordinator, add_member, create_account
from app.settings import Settings
from tests.app.data_builders import UTC_NOW, make_household
from tests.browser.every_page import Demo, Visit

PASSWORD = "a long enough password"
WHO = {"pat": Role.PATIENT, "cara": Role.CARER, "cody": None}

SignIn = Callable[..., Page]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Where the application of this module listens; the clock stands still."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("EBBSTOCK_NOW", UTC_NOW.isoformat())
        folder: Path = tmp_path_factory.mktemp("browser")
        engine = open_engine(f"sqlite:///{folder}/ebbstock.db")
        create_tables(engine)
        with Session(engine) as db:
            fill(db)
        port = free_port()
        base = f"http://127.0.0.1:{port}"
        application = create_app(Settings(base_url=base, port=port), engine)
        server = uvicorn.Server(uvicorn.Config(application, port=port, log_level="error"))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        until = time.monotonic() + 30
        while not server.started:
            assert time.monotonic() < until
            time.sleep(0.05)
        yield base
        server.should_exit = True
        thread.join(timeout=15)
        engine.dispose()


def fill(db: Session) -> None:
    """One household in one agency, and the three people."""
    db.add(AgencyRow(id="ours", name="Harbour Home Care"))
    db.flush()
    write_household(db, make_household(), agency_id="ours")
    for name, role in WHO.items():
        account = create_account(
            db, email=f"{name}@test.example", name=name, password=PASSWORD, now=UTC_NOW
        )
        if role is None:
            add_coordinator(db, account, "ours")
        else:
            add_member(db, account, "home", role)
    db.commit()


@pytest.fixture
def sign_in(address: str) -> Iterator[SignIn]:
    """Sign somebody in with the form; gives the page after it."""
    opened = []

    def signed_in(
        running: Browser, name: str, width: int, *, scripts: bool = True, dark: bool = False
    ) -> Page:
        context = running.new_context(
            viewport={"width": width, "height": 800},
            java_script_enabled=scripts,
            color_scheme="dark" if dark else "light",
            base_url=address,
        )
        context.set_default_timeout(60_000)
        opened.append(context)
        page = context.new_page()
        page.goto("/sign-in")
        page.get_by_label("E-mail address").fill(f"{name}@test.example")
        page.get_by_label("Password").fill(PASSWORD)
        with page.expect_navigation():
            page.get_by_role("button", name="Sign in").click()
        return page

    yield signed_in
    for context in opened:
        context.close()


DEMO_NOW = "2026-03-04T10:00:00+00:00"
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """Part of the demo, served by a process of its own whose clock stands still."""
    database = tmp_path_factory.mktemp("demo") / "demo.db"
    port = free_port()
    base = f"http://127.0.0.1:{port}"
    log = (database.parent / "log").open("w+b")
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.browser.demo_server", str(database), str(port)],
        cwd=ROOT,
        env=os.environ | {"EBBSTOCK_NOW": DEMO_NOW},
        stderr=log,
    )
    try:
        until = time.monotonic() + 60
        while not _answers(base):
            assert server.poll() is None, (database.parent / "log").read_text(encoding="utf-8")
            assert time.monotonic() < until
            time.sleep(0.1)
        made = Demo(base=base, households=household_ids(database))
        made.sign_everybody_in()
        yield made
    finally:
        server.terminate()
        server.wait(15)
        log.close()


@pytest.fixture(scope="session")
def visits(demo: Demo) -> list[Visit]:
    """Every page of everybody."""
    return demo.visits()


def household_ids(database: Path) -> tuple[str, ...]:
    """All households, those of the patient of the demo first."""
    with closing(sqlite3.connect(database)) as db:
        found = db.execute(
            "select household.id from household left join membership"
            " on household_id = household.id and role = 'patient'"
            " order by role is null, household.id"
        )
        return tuple(row[0] for row in found)


def _answers(base: str) -> bool:
    try:
        return httpx.get(f"{base}/sign-in", timeout=5).status_code == 200
    except httpx.TransportError:
        return False
