"""The calendar address: what a reader gets, who gets nothing, and what is kept."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session, delete, select

from app.clock import now_in
from app.convert import write_household
from app.db import open_session
from app.models import (
    AccountRow,
    AgencyRow,
    CoordinatorRow,
    FeedRow,
    HouseholdRow,
    LedgerRow,
    MembershipRow,
    OrderLineRow,
    OrderRow,
    PauseRow,
)
from app.models_feed import PublishedEntryRow
from app.one_thread import add_pages
from app.planning import plan_for
from app.routers.calendar import router
from app.security import hash_secret
from tests.app.feed_builders import NOW, TODAY, events_of, make_household

SECRET = "s" * 43
AGENCY_SECRET = "a" * 43
READ = "/calendar/{}.ics"


@dataclass
class Reader:
    """A calendar reader before a small application that holds only the feed."""

    engine: Engine
    monkeypatch: pytest.MonkeyPatch

    def at(self, moment: datetime) -> None:
        """Move the clock."""
        self.monkeypatch.setenv("EBBSTOCK_NOW", moment.isoformat())

    def get(self, secret: str = SECRET, *, method: str = "GET", **headers: str) -> httpx.Response:
        app = FastAPI()
        add_pages(app, router)
        app.state.engine = self.engine
        named = {name.replace("_", "-"): value for name, value in headers.items()}

        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(app=app)
            async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
                return await client.request(method, READ.format(secret), headers=named)

        return asyncio.run(send())

    def events(self, secret: str = SECRET) -> dict[str, Any]:
        """The events by summary."""
        response = self.get(secret)
        assert response.status_code == 200
        return {str(event["SUMMARY"]): event for event in events_of(response.content)}

    def change(self, *statements: object) -> None:
        """Change the household's record, as a service would."""
        with open_session(self.engine) as db:
            for statement in statements:
                db.add(statement)
            household = db.get_one(HouseholdRow, "h-7f2c")
            household.input_version += 1
            db.commit()

    def feed(self, secret: str = SECRET) -> FeedRow:
        with open_session(self.engine) as db:
            return db.exec(select(FeedRow).where(FeedRow.token_hash == hash_secret(secret))).one()


@pytest.fixture
def reader(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> Reader:
    with open_session(engine) as db:
        _fill(db)
        db.commit()
    made = Reader(engine, monkeypatch)
    made.at(NOW)
    return made


def _fill(db: Session) -> None:
    db.add(AgencyRow(id="g1", name="Juniper Home Care", time_zone="America/New_York"))
    for number, email in enumerate(("cara@demo.example", "cody@demo.example"), 1):
        db.add(AccountRow(id=number, email=email, name=email, password_hash="-", created_at=NOW))
    db.flush()
    write_household(db, make_household(), agency_id="g1")
    write_household(db, make_household(id="h-9d41", name="Rowan Pell"))
    db.add(MembershipRow(account_id=1, household_id="h-7f2c", role="carer"))
    db.add(CoordinatorRow(account_id=2, agency_id="g1"))
    created_at = datetime(2026, 2, 2, 3, 0, tzinfo=UTC)
    db.add(
        FeedRow(
            feed_key="k1",
            token_hash=hash_secret(SECRET),
            account_id=1,
            household_id="h-7f2c",
            created_at=created_at,
        )
    )
    db.add(
        FeedRow(
            feed_key="k2",
            token_hash=hash_secret(AGENCY_SECRET),
            account_id=2,
            agency_id="g1",
            created_at=created_at,
        )
    )


def open_order() -> tuple[OrderRow, OrderLineRow]:
    placed_at = datetime(2026, 3, 6, 10, 0)
    return (
        OrderRow(household_id="h-7f2c", key="o1", placed_at=placed_at, status="placed"),
        OrderLineRow(household_id="h-7f2c", order_key="o1", item_code="K5", boxes=1),
    )


def two_left() -> LedgerRow:
    at = datetime(2026, 3, 7, 20, 0)
    return LedgerRow(household_id="h-7f2c", key="n1", kind="count", at=at, item_code="K5", units=2)


def away() -> PauseRow:
    return PauseRow(household_id="h-7f2c", starts_on=TODAY, reason="away")


def test_the_address_answers_with_a_calendar(reader: Reader) -> None:
    response = reader.get()
    assert response.status_code == 200
    assert response.headers["content-type"] == "text/calendar; charset=utf-8"
    assert response.headers["cache-control"] == "private, max-age=900"
    assert "set-cookie" not in response.headers
    assert SECRET not in str(response.headers) + response.text
    assert "Supplies at home expected to run out" in reader.events()


def test_the_feed_was_set_up_on_a_day_of_the_household(reader: Reader) -> None:
    """Three in the morning UTC is still the evening before in New York."""
    assert reader.events()["Supply calendar set up"]["DTSTART"].dt == date(2026, 2, 1)


def test_reading_twice_gives_the_same_bytes_and_tag(reader: Reader) -> None:
    first = reader.get()
    reader.at(NOW + timedelta(hours=3))
    second = reader.get()
    assert first.content == second.content
    assert first.headers["etag"] == second.headers["etag"]


@pytest.mark.parametrize("shape", ["{}", '"other", {}', "*"])
def test_a_reader_that_has_it_already_gets_304(reader: Reader, shape: str) -> None:
    tag = reader.get().headers["etag"]
    response = reader.get(if_none_match=shape.format(tag))
    assert response.status_code == 304
    assert response.content == b""
    assert response.headers["etag"] == tag


def test_a_strong_spelling_of_the_tag_fits_as_well(reader: Reader) -> None:
    tag = reader.get().headers["etag"]
    assert tag.startswith('W/"')
    assert reader.get(if_none_match=tag.removeprefix("W/")).status_code == 304


def test_an_old_tag_gets_the_new_feed(reader: Reader) -> None:
    tag = reader.get().headers["etag"]
    reader.change(*open_order())
    response = reader.get(if_none_match=tag)
    assert response.status_code == 200
    assert response.headers["etag"] != tag


def test_head_has_the_headers_and_no_body(reader: Reader) -> None:
    full, head = reader.get(), reader.get(method="HEAD")
    assert head.status_code == 200
    assert head.content == b""
    for name in ("content-type", "content-length", "etag", "cache-control"):
        assert head.headers[name] == full.headers[name]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE"])
def test_the_address_is_for_reading_only(reader: Reader, method: str) -> None:
    assert reader.get(method=method).status_code == 405


def refused(response: httpx.Response) -> tuple[int, str, str]:
    return response.status_code, response.text, response.headers["cache-control"]


NOTHING = (404, "Not found.\n", "no-store")


@pytest.mark.parametrize("secret", ["wrong", "s" * 42, "S" * 43, "%00", "x" * 4000])
def test_an_unknown_secret_gets_nothing(reader: Reader, secret: str) -> None:
    assert refused(reader.get(secret)) == NOTHING


def test_a_stored_hash_is_no_secret(reader: Reader) -> None:
    assert refused(reader.get(hash_secret(SECRET))) == NOTHING


def test_a_revoked_secret_gets_the_same_nothing(reader: Reader) -> None:
    with open_session(reader.engine) as db:
        db.get_one(FeedRow, 1).revoked_at = NOW
        db.commit()
    assert refused(reader.get()) == NOTHING
    assert reader.feed().last_read_at is None


def test_a_renewed_secret_takes_over_with_the_same_entries(reader: Reader) -> None:
    before = reader.events()
    with open_session(reader.engine) as db:
        db.get_one(FeedRow, 1).token_hash = hash_secret("n" * 43)
        db.commit()
    assert refused(reader.get()) == NOTHING
    after_renewal = reader.events("n" * 43)
    assert {str(event["UID"]) for event in after_renewal.values()} == {
        str(event["UID"]) for event in before.values()
    }


@pytest.mark.parametrize("secret", [SECRET, AGENCY_SECRET])
def test_losing_access_closes_the_feed_at_once(reader: Reader, secret: str) -> None:
    assert reader.get(secret).status_code == 200
    with open_session(reader.engine) as db:
        db.exec(delete(MembershipRow))
        db.exec(delete(CoordinatorRow))
        db.commit()
    assert refused(reader.get(secret)) == NOTHING


@pytest.mark.parametrize("secret", [SECRET, AGENCY_SECRET])
def test_a_closed_account_closes_the_feed(reader: Reader, secret: str) -> None:
    with open_session(reader.engine) as db:
        for account in db.exec(select(AccountRow)):
            account.closed_at = NOW
        db.commit()
    assert refused(reader.get(secret)) == NOTHING


def test_the_time_of_the_last_reading_is_kept(reader: Reader) -> None:
    assert reader.feed().last_read_at is None
    reader.get()
    assert reader.feed().last_read_at == NOW
    reader.at(NOW + timedelta(hours=6))
    reader.get(if_none_match="*")
    assert reader.feed().last_read_at == NOW + timedelta(hours=6)


def test_rfc5545_3_8_7_4_a_moved_date_raises_the_sequence_and_keeps_the_id(
    reader: Reader,
) -> None:
    name = "Supplies at home expected to run out"
    before = reader.events()[name]
    with open_session(reader.engine) as db:
        household = db.get_one(HouseholdRow, "h-7f2c")
        db.add(
            PauseRow(
                household_id=household.id,
                starts_on=TODAY + timedelta(days=2),
                ends_on=TODAY + timedelta(days=12),
            )
        )
        household.input_version += 1
        db.commit()
    reader.at(NOW + timedelta(hours=1))
    later = reader.events()[name]
    assert later["DTSTART"].dt > before["DTSTART"].dt
    assert later["UID"] == before["UID"]
    assert (int(before["SEQUENCE"]), int(later["SEQUENCE"])) == (0, 1)
    assert later["LAST-MODIFIED"].dt == NOW + timedelta(hours=1)
    assert later["CREATED"].dt == NOW


def test_an_entry_that_is_gone_is_cancelled_for_thirty_days_and_comes_back(
    reader: Reader,
) -> None:
    name = "Delivery of supplies expected"
    reader.change(*open_order())
    uid = str(reader.events()[name]["UID"])
    with open_session(reader.engine) as db:
        db.get_one(OrderRow, 1).status = "cancelled"
        db.commit()
    reader.change()
    cancelled = reader.events()[f"No longer current: {name}"]
    assert str(cancelled["STATUS"]) == "CANCELLED"
    assert (str(cancelled["UID"]), int(cancelled["SEQUENCE"])) == (uid, 1)

    reader.at(NOW + timedelta(days=30) - timedelta(seconds=1))
    assert f"No longer current: {name}" in reader.events()
    reader.at(NOW + timedelta(days=30))
    assert not [summary for summary in reader.events() if name in summary]

    with open_session(reader.engine) as db:
        db.get_one(OrderRow, 1).status = "placed"
        db.commit()
    reader.change()
    (back,) = [event for event in reader.events().values() if str(event["UID"]) == uid]
    assert (str(back["STATUS"]), int(back["SEQUENCE"])) == ("CONFIRMED", 2)


def test_when_use_at_home_stops_the_dates_stop_and_the_standing_entry_stays(
    reader: Reader,
) -> None:
    reader.get()
    reader.change(away())
    confirmed = [
        summary for summary, event in reader.events().items() if str(event["STATUS"]) == "CONFIRMED"
    ]
    assert confirmed == ["Supply calendar set up"]


def test_the_coordinators_feed_shows_who_is_due_by_reference(reader: Reader) -> None:
    assert list(reader.events(AGENCY_SECRET)) == ["Supply calendar set up"]
    reader.change(two_left())
    (_, due) = reader.events(AGENCY_SECRET)
    assert due.startswith("h-7f2c: ")
    assert "h-9d41" not in reader.get(AGENCY_SECRET).text
    assert "Amber" not in reader.get(AGENCY_SECRET).text


def test_ten_readers_at_once_raise_the_sequence_once(reader: Reader) -> None:
    reader.get()
    reader.change(*open_order())
    with open_session(reader.engine) as db:
        plan_for(db, "h-7f2c", now_in("America/New_York"))
    with ThreadPoolExecutor(10) as pool:
        answers = list(pool.map(lambda _: reader.get(), range(10)))
    assert {answer.status_code for answer in answers} == {200}
    with open_session(reader.engine) as db:
        rows = db.exec(select(PublishedEntryRow)).all()
    keys = [row.key for row in rows]
    assert len(keys) == len(set(keys))
    assert max(row.sequence for row in rows) == 1
    assert len({answer.content for answer in answers}) == 1


def test_what_is_remembered_goes_with_the_feed(reader: Reader) -> None:
    reader.get()
    with open_session(reader.engine) as db:
        db.exec(delete(FeedRow))
        db.commit()
        assert db.exec(select(PublishedEntryRow)).all() == []
