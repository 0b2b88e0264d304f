"""The feed behind the whole application: compression, headers and the request log."""

from __future__ import annotations

import asyncio
import logging

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session

from app.access import HouseholdAccess, enter_household
from app.main import create_app
from app.models import AccountRow
from app.services_feeds import make_feed_address, revoke_feed_address
from app.settings import Settings
from tests.app.data_builders import UTC_NOW
from tests.app.feed_builders import events_of


@pytest.fixture
def secret(db: Session, carer: HouseholdAccess) -> str:
    return make_feed_address(db, carer, detailed=False, now=UTC_NOW)


@pytest.fixture
def application(engine: Engine) -> FastAPI:
    return create_app(Settings(), engine)


def ask(application: FastAPI, path: str, **headers: str) -> httpx.Response:
    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(app=application)
        async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
            return await client.get(path, headers=headers)

    return asyncio.run(send())


def test_a_made_address_works_without_signing_in(application: FastAPI, secret: str) -> None:
    response = ask(application, f"/calendar/{secret}.ics")
    assert response.status_code == 200
    assert response.headers["content-type"] == "text/calendar; charset=utf-8"
    assert response.headers["cache-control"] == "private, max-age=900"
    assert response.headers["x-content-type-options"] == "nosniff"
    assert response.headers["referrer-policy"] == "no-referrer"
    assert "set-cookie" not in response.headers
    assert response.content.startswith(b"BEGIN:VCALENDAR\r\n")


def test_the_feed_travels_compressed_under_the_same_tag(application: FastAPI, secret: str) -> None:
    path = f"/calendar/{secret}.ics"
    plain = ask(application, path, **{"Accept-Encoding": "identity"})
    packed = ask(application, path, **{"Accept-Encoding": "gzip"})
    assert "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == "gzip"
    assert int(packed.headers["content-length"]) < len(plain.content)
    assert packed.content == plain.content
    assert packed.headers["etag"] == plain.headers["etag"]
    tag = {"If-None-Match": packed.headers["etag"]}
    assert ask(application, path, **tag).status_code == 304


def test_the_request_log_never_holds_the_secret(
    application: FastAPI, secret: str, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    ask(application, f"/calendar/{secret}.ics")
    ask(application, "/calendar/not-a-secret-of-ours.ics")
    lines = [record.getMessage() for record in caplog.records if record.name.startswith("ebbstock")]
    assert len(lines) == 2
    for line in lines:
        assert "/calendar/{secret}.ics" in line
        assert secret not in line
        assert "not-a-secret-of-ours" not in line


def test_each_person_has_an_address_with_ids_of_its_own(
    application: FastAPI, db: Session, secret: str, people: dict[str, AccountRow]
) -> None:
    access = enter_household(db, people["pat"], "home")
    other = make_feed_address(db, access, detailed=True, now=UTC_NOW)
    first, second = (
        {str(event["UID"]): str(event["SUMMARY"]) for event in events_of(response.content)}
        for response in (ask(application, f"/calendar/{one}.ics") for one in (secret, other))
    )
    assert sorted(first.values()) == sorted(second.values())
    assert not first.keys() & second.keys()


def test_a_renewed_address_ends_the_old_one_and_keeps_the_ids(
    application: FastAPI, db: Session, secret: str, carer: HouseholdAccess
) -> None:
    before = ask(application, f"/calendar/{secret}.ics")
    fresh = make_feed_address(db, carer, detailed=False, now=UTC_NOW)
    assert ask(application, f"/calendar/{secret}.ics").status_code == 404
    assert ask(application, f"/calendar/{fresh}.ics").content == before.content


def test_a_revoked_address_ends(
    application: FastAPI, db: Session, secret: str, carer: HouseholdAccess
) -> None:
    revoke_feed_address(db, carer, now=UTC_NOW)
    assert ask(application, f"/calendar/{secret}.ics").status_code == 404
