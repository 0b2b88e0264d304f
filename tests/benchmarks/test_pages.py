"""How long the server takes for pages, as ratios to an empty page in the same run.

Requests go straight into the application, without a network. Nothing here is asserted.
"""

from __future__ import annotations

import asyncio
import statistics
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.responses import HTMLResponse
from sqlmodel import Session

from app.access import Role
from app.convert import write_household
from app.db import create_tables, open_engine
from app.main import create_app
from app.models import LoginRow
from app.security import new_secret
from app.services_accounts import add_member, create_account
from app.settings import Settings
from tests.app.data_builders import UTC_NOW, make_household

ROUNDS = 60
PAGES = ("/when-to-call", "/h/home", "/h/home/order", "/h/home/shelf", "/h/home/sessions")
SETTINGS = Settings()

App = Callable[[Any, Any, Any], Awaitable[None]]


def empty_page() -> FastAPI:
    """A page with nothing on it."""
    application = FastAPI(openapi_url=None)

    @application.get("/", response_class=HTMLResponse)
    def page() -> str:
        return "<!doctype html><title>Empty</title>"

    return application


async def ask(application: App, path: str, cookie: str) -> float:
    """Ask for a page once. [s]"""
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [
            (b"host", b"test"),
            (b"accept-encoding", b"gzip"),
            (b"cookie", cookie.encode()),
        ],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
    }
    status = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            status.append(message["status"])

    began = time.perf_counter()
    await application(scope, receive, send)
    took = time.perf_counter() - began
    assert status == [200], (path, status)
    return took


async def measure(application: App, cookie: str) -> dict[str, float]:
    """The median for each page, asked in turn with the empty one. [s]"""
    empty = empty_page()
    took: dict[str, list[float]] = {path: [] for path in ("", *PAGES)}
    for n in range(ROUNDS + 5):
        for path, found in took.items():
            seconds = await (ask(application, path, cookie) if path else ask(empty, "/", ""))
            if n >= 5:
                found.append(seconds)
    return {path: statistics.median(found) for path, found in took.items()}


def test_pages_against_an_empty_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EBBSTOCK_NOW", UTC_NOW.isoformat())
    engine = open_engine(f"sqlite:///{tmp_path}/pages.db")
    create_tables(engine)
    fresh = new_secret()
    with Session(engine) as db:
        write_household(db, make_household())
        account = create_account(
            db, email="pat@test.example", name="pat", password="long enough", now=UTC_NOW
        )
        add_member(db, account, "home", Role.PATIENT)
        row = LoginRow(
            token_hash=fresh.secret_hash,
            account_id=account.id or 0,
            created_at=UTC_NOW,
            last_seen_at=UTC_NOW,
        )
        db.add(row)
        db.commit()
    cookie = f"{SETTINGS.cookie_name}={fresh.secret}"
    medians = asyncio.run(measure(create_app(SETTINGS, engine), cookie))
    engine.dispose()
    print("\nServer time of a page, ratio to an empty page of the framework (median)")
    for path, seconds in medians.items():
        name = path or "empty page"
        print(f"{name:20}{seconds * 1000:8.2f} ms{seconds / medians['']:8.2f}")
