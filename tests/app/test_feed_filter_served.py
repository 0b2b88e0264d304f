"""A coordinator's choices from the database to the calendar's reader."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session, delete, select

from app.access import AgencyAccess, HouseholdAccess, enter_agency
from app.convert import write_household
from app.errors import InvalidInput, NotFound
from app.feed_filter import DueKind, FeedFilter
from app.models import AccountRow, FeedRow, SupplierRow
from app.one_thread import add_pages
from app.queries import feed_address
from app.routers.calendar import router
from app.services_feeds import (
    choose_shown,
    find_feed,
    make_feed_address,
    revoke_feed_address,
    shown_by,
    suppliers_of,
)
from planner.ledger import Count
from planner.results import Urgency
from planner.supply import SupplierTerms
from tests.app.data_builders import KIT, UTC_NOW, make_household
from tests.app.feed_builders import events_of

OTHER = SupplierTerms(name="Brackenfold Goods", lead_business_days=3)
EVERYTHING = FeedFilter(kinds=frozenset(DueKind))
SHORT_ONLY = FeedFilter(least_urgency=Urgency.SHORT)
GONE = "No longer current: "


def add_household(db: Session, name: str, kits: int, **changes: object) -> None:
    ordinary = make_household()
    counted = Count(id="c2", at=datetime(2026, 3, 11, 8, 0), item_code=KIT, units=kits)
    household = make_household(id=name, ledger=(*ordinary.ledger, counted), **changes)
    write_household(db, household, agency_id="ours")


@pytest.fixture
def cody(db: Session, people: dict[str, AccountRow]) -> AgencyAccess:
    """The coordinator of an agency with a household of every urgency that asks for something."""
    add_household(db, "h-short", 3)
    add_household(db, "h-now", 7, orders=())
    add_household(db, "h-soon", 10, orders=(), supplier=OTHER)
    db.commit()
    return enter_agency(db, people["cody"], "ours")


def make(db: Session, access: AgencyAccess, wanted: FeedFilter | None = None) -> str:
    return make_feed_address(db, access, detailed=False, now=UTC_NOW, wanted=wanted)


def read(engine: Engine, secret: str, **headers: str) -> httpx.Response:
    """What a calendar program gets."""
    app = FastAPI()
    add_pages(app, router)
    app.state.engine = engine

    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            return await client.get(f"/calendar/{secret}.ics", headers=headers)

    return asyncio.run(send())


def events(engine: Engine, secret: str) -> dict[str, Any]:
    """Events about households by summary; no identity may come twice."""
    answer = read(engine, secret)
    assert answer.status_code == 200
    found = events_of(answer.content)
    assert len({str(one["UID"]) for one in found}) == len(found)
    named = {str(one["SUMMARY"]): one for one in found}
    assert len(named) == len(found)
    del named["Supply calendar set up"]
    return named


ACT_SHORT = "h-short: act on supplies today"
ORDER_NOW = "h-now: order supplies by today"
ORDER_SOON = "h-soon: order supplies by today"


def test_nothing_chosen_shows_every_household_that_needs_an_order(
    engine: Engine, db: Session, cody: AgencyAccess
) -> None:
    assert set(events(engine, make(db, cody))) == {ACT_SHORT, ORDER_NOW, ORDER_SOON}


def test_choices_made_with_the_address_count_from_the_first_reading(
    engine: Engine, db: Session, cody: AgencyAccess
) -> None:
    wanted = FeedFilter(kinds=frozenset({DueKind.RUN_OUT}), supplier="Brackenfold Goods")
    assert set(events(engine, make(db, cody, wanted))) == {"h-soon: supplies may run out"}


def test_all_kinds(engine: Engine, db: Session, cody: AgencyAccess) -> None:
    assert set(events(engine, make(db, cody, EVERYTHING))) == {
        ACT_SHORT,
        ORDER_NOW,
        ORDER_SOON,
        "h-short: supplies may run out",
        "h-now: supplies may run out",
        "h-soon: supplies may run out",
        "h-short: delivery of supplies expected",
    }


def test_a_change_takes_effect_at_the_same_address_and_withdraws_what_it_hides(
    engine: Engine, db: Session, cody: AgencyAccess, monkeypatch: pytest.MonkeyPatch
) -> None:
    secret = make(db, cody)
    first = events(engine, secret)
    tag = read(engine, secret).headers["etag"]
    choose_shown(db, cody, SHORT_ONLY)
    changed = read(engine, secret, **{"If-None-Match": tag})
    assert changed.status_code == 200
    second = events(engine, secret)
    assert set(second) == {ACT_SHORT, GONE + ORDER_NOW, GONE + ORDER_SOON}
    for name in (ORDER_NOW, ORDER_SOON):
        withdrawn = second[GONE + name]
        assert withdrawn["UID"] == first[name]["UID"]
        assert (str(withdrawn["STATUS"]), int(withdrawn["SEQUENCE"])) == ("CANCELLED", 1)
    assert int(second[ACT_SHORT]["SEQUENCE"]) == 0
    assert events(engine, secret) == second

    choose_shown(db, cody, FeedFilter(supplier="Brackenfold Goods"))
    third = events(engine, secret)
    assert set(third) == {GONE + ACT_SHORT, GONE + ORDER_NOW, ORDER_SOON}
    assert third[ORDER_SOON]["UID"] == first[ORDER_SOON]["UID"]
    back = (str(third[ORDER_SOON]["STATUS"]), int(third[ORDER_SOON]["SEQUENCE"]))
    assert back == ("CONFIRMED", 2)
    assert int(third[GONE + ORDER_NOW]["SEQUENCE"]) == 1

    monkeypatch.setenv("EBBSTOCK_NOW", datetime(2026, 5, 1, 9, tzinfo=UTC).isoformat())
    assert not [name for name in events(engine, secret) if name.startswith(GONE)]


def test_a_new_address_keeps_the_choices_unless_others_are_made(
    db: Session, cody: AgencyAccess
) -> None:
    make(db, cody, SHORT_ONLY)
    make(db, cody)
    assert shown_by(find_feed(db, cody)) == SHORT_ONLY
    revoke_feed_address(db, cody, now=UTC_NOW)
    make(db, cody, EVERYTHING)
    assert shown_by(feed_address(db, cody)) == EVERYTHING


@pytest.mark.parametrize("level", [Urgency.SHORT, Urgency.ORDER_NOW, Urgency.ORDER_SOON])
@pytest.mark.parametrize("supplier", [None, "Brackenfold Goods"])
def test_choices_are_kept_as_made(
    level: Urgency, supplier: str | None, db: Session, cody: AgencyAccess
) -> None:
    make(db, cody)
    for kinds in ({DueKind.DELIVERY}, {DueKind.RUN_OUT, DueKind.ORDER_BY}, set(DueKind)):
        wanted = FeedFilter(least_urgency=level, kinds=frozenset(kinds), supplier=supplier)
        choose_shown(db, cody, wanted)
        db.expire_all()
        assert shown_by(find_feed(db, cody)) == wanted


def test_a_row_and_a_choice_begin_alike() -> None:
    row = FeedRow(feed_key="k", token_hash="h", account_id=1, created_at=UTC_NOW)
    assert shown_by(row) == shown_by(None) == FeedFilter()


def test_the_suppliers_are_those_of_the_agency(db: Session, cody: AgencyAccess) -> None:
    stranger = SupplierTerms(name="Not Ours", lead_business_days=1)
    write_household(db, make_household(id="far", supplier=stranger), agency_id="theirs")
    assert suppliers_of(db, cody) == ("Brackenfold Goods", "Tidewater Supplies")
    with pytest.raises(InvalidInput, match="supplier is Not Ours: choose a supplier of your"):
        make(db, cody, FeedFilter(supplier="Not Ours"))
    assert find_feed(db, cody) is None


def test_an_unknown_supplier_changes_nothing(
    engine: Engine, db: Session, cody: AgencyAccess
) -> None:
    secret = make(db, cody, SHORT_ONLY)
    for attempt in (
        lambda wanted: choose_shown(db, cody, wanted),
        lambda wanted: make(db, cody, wanted),
    ):
        with pytest.raises(InvalidInput):
            attempt(FeedFilter(supplier="Nobody"))
    db.expire_all()
    assert shown_by(find_feed(db, cody)) == SHORT_ONLY
    assert set(events(engine, secret)) == {ACT_SHORT}


def test_a_supplier_that_no_household_has_any_more_may_stay_chosen(
    engine: Engine, db: Session, cody: AgencyAccess
) -> None:
    secret = make(db, cody, FeedFilter(supplier="Brackenfold Goods"))
    db.exec(delete(SupplierRow).where(SupplierRow.household_id == "h-soon"))  # type: ignore[arg-type]
    db.add(SupplierRow.model_validate({**_terms(db), "household_id": "h-soon"}))
    db.commit()
    assert suppliers_of(db, cody) == ("Tidewater Supplies",)
    choose_shown(db, cody, FeedFilter(supplier="Brackenfold Goods", least_urgency=Urgency.SHORT))
    assert events(engine, secret) == {}


def _terms(db: Session) -> dict[str, object]:
    return db.exec(select(SupplierRow).where(SupplierRow.household_id == "home")).one().model_dump()


def test_without_an_address_that_works_there_is_nothing_to_change(
    db: Session, cody: AgencyAccess
) -> None:
    with pytest.raises(NotFound, match="There is no calendar address to change"):
        choose_shown(db, cody, SHORT_ONLY)
    make(db, cody)
    revoke_feed_address(db, cody, now=UTC_NOW)
    with pytest.raises(NotFound):
        choose_shown(db, cody, SHORT_ONLY)


def test_a_households_calendar_shows_all_its_dates_as_before(
    engine: Engine, db: Session, carer: HouseholdAccess
) -> None:
    secret = make_feed_address(db, carer, detailed=False, now=UTC_NOW)
    assert "Supplies at home may run out" in events(engine, secret)
