"""A household that is written to the database reads back equal."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path

import pytest
from sqlalchemy import Engine, inspect
from sqlmodel import Session, SQLModel

from app.convert import read_household, write_household
from app.db import open_session, transaction
from planner.household import ClinicalGroup, Pause, PlanSettings
from planner.items import ItemKind, SupplyItem
from planner.ledger import (
    Count,
    Departure,
    DifferenceCause,
    LeavingReason,
    Place,
    Recall,
    Reversal,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.order_life import take_back_last, take_step
from planner.order_steps import OrderStep
from planner.regimen import Pattern, Regimen
from planner.scenario import read_scenario
from planner.sessions import BottleUse, LossReason, StopReason
from planner.supply import (
    AuthorizedQuantity,
    Closure,
    Contact,
    Order,
    OrderLine,
    OrderStatus,
    StandingDelivery,
)
from tests.app.data_builders import GLOVES, KIT, TODAY, make_household

SCENARIOS = sorted(Path("seed_scenarios").glob("*.toml"))


def test_there_are_scenarios_to_read() -> None:
    assert len(SCENARIOS) >= 9


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_seed_scenario_reads_back_equal(path: Path, engine: Engine) -> None:
    households = read_scenario(path).households
    with transaction(engine) as db:
        for household in households:
            write_household(db, household)
    with open_session(engine) as db:
        for household in households:
            assert read_household(db, household.id) == household


def test_every_field_that_may_be_set_reads_back_equal(engine: Engine) -> None:
    plain = make_household()
    regimens = (
        *plain.catheters[0].regimens,
        Regimen(
            starts_on=date(2026, 3, 1),
            pattern=Pattern.RRULE,
            rrule="FREQ=WEEKLY;BYDAY=MO,WE,FR",
            session_limit_ml=900,
            ordered_by="Dr Who Ever",
        ),
    )
    others = (
        SupplyItem(code='K-"1000"', name="Kit, litre", kind=ItemKind.KIT, capacity_ml=1000),
        SupplyItem(code="K,700", name="Kit, 0.7 litre", kind=ItemKind.KIT, capacity_ml=700),
    )
    household = replace(
        plain,
        items=(*plain.items, *others),
        catheters=(
            replace(
                plain.catheters[0],
                other_kit_codes=tuple(one.code for one in others),
                regimens=regimens,
                clinical_group=ClinicalGroup.TRAPPED_LUNG,
                expected_ml_per_day=180,
                removed_on=date(2026, 9, 1),
            ),
        ),
        supplier=replace(
            plain.supplier,
            cut_off=time(11, 30),
            time_zone="Europe/Berlin",
            delivery_weekdays=(1, 4),
            holiday_country="PT",
            holiday_region="11",
            closures=(
                Closure(starts_on=date(2026, 4, 3), ends_on=date(2026, 4, 6), reason="feast"),
            ),
            minimum_boxes=2,
            express_business_days=1,
        ),
        sessions=(
            *plain.sessions,
            replace(
                plain.sessions[0],
                id="s-lost",
                bottles=(
                    BottleUse(volume_ml=0, item_code=KIT, loss=LossReason.VACUUM_LOST),
                    BottleUse(volume_ml=90),
                ),
                stop_reason=StopReason.PAIN,
            ),
        ),
        ledger=(
            *plain.ledger,
            Waste(
                id="w1",
                at=datetime(2026, 3, 2, 8, 15),
                item_code=GLOVES,
                units=3,
                reason="wet box",
                lot="G",
            ),
            Recall(id="x1", at=datetime(2026, 3, 3), item_code=KIT, lot="L1"),
            Count(
                id="c9",
                at=datetime(2026, 3, 3),
                item_code=KIT,
                units=3,
                cause=DifferenceCause.TAKEN_ALONG,
            ),
            Departure(
                id="d1",
                at=datetime(2026, 3, 3),
                item_code=KIT,
                units=2,
                reason=LeavingReason.CLINIC,
                lot="L1",
            ),
            Transfer(
                id="t1",
                at=datetime(2026, 3, 3),
                item_code=KIT,
                units=2,
                to=Place.BAG,
                lot="L1",
            ),
            WrongDelivery(
                id="q1", at=datetime(2026, 3, 3), what="Caps", units=2, lot="Z", order_id="o1"
            ),
            WrongReturn(id="q2", at=datetime(2026, 3, 4), delivery_id="q1"),
            WrongReturn(id="q3", at=datetime(2026, 3, 4), delivery_id="q1", units=1),
            WrongKept(
                id="q4",
                at=datetime(2026, 3, 4),
                delivery_id="q1",
                item_code=KIT,
                units=1,
                lot="Z",
                expires_on=date(2027, 1, 1),
            ),
            Reversal(id="v1", at=datetime(2026, 3, 4), reverses_id="w1"),
        ),
        orders=(
            *plain.orders,
            replace(
                plain.orders[0],
                id="o0",
                status=OrderStatus.RECEIVED,
                promised_on=date(2026, 3, 10),
                received_on=date(2026, 3, 11),
                confirmed_by="Cara",
                is_express=True,
            ),
        ),
        pauses=(
            Pause(starts_on=date(2026, 2, 3), ends_on=date(2026, 2, 6), reason="stay"),
            Pause(starts_on=date(2026, 5, 1), catheter_id="right"),
        ),
        authorized=(
            AuthorizedQuantity(item_code=KIT, units=20, per_days=30, starts_on=date(2026, 1, 1)),
        ),
        care_team=Contact(name="Ward 3", phone="555 0199"),
        settings=PlanSettings(
            protection=0.975, cover_days=35, horizon_days=90, refill_rule="us-2026"
        ),
    )
    with transaction(engine) as db:
        write_household(db, household)
    with open_session(engine) as db:
        assert read_household(db, "home") == household


def test_the_steps_of_an_order_survive_storage(engine: Engine) -> None:
    plain = make_household()
    household = replace(plain, orders=(*plain.orders, make_followed_order()))
    with transaction(engine) as db:
        write_household(db, household)
    with open_session(engine) as db:
        assert read_household(db, "home") == household


def make_followed_order() -> Order:
    """Confirmed, placed, acknowledged with a day, and the last step taken back."""
    at = datetime(2026, 3, 4, 9)
    lines = (OrderLine(item_code=KIT, boxes=1),)
    first = OrderStep(kind=OrderStatus.CONFIRMED, at=at, by="Pat", note="Yes.")
    order = Order(id="o7", placed_at=at, lines=lines, status=OrderStatus.CONFIRMED, steps=(first,))
    order = take_step(order, OrderStep(kind=OrderStatus.PLACED, at=at, by="Cara"))
    named = date(2026, 3, 9)
    order = take_step(
        order, OrderStep(kind=OrderStatus.ACKNOWLEDGED, at=at, by="Cara", expected_on=named)
    )
    return take_back_last(order, (), at=datetime(2026, 3, 5, 10), by="Cara")


def test_standing_deliveries_survive_storage(engine: Engine) -> None:
    standing = StandingDelivery(rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", starts_on=TODAY)
    plain = make_household()
    household = replace(plain, supplier=replace(plain.supplier, standing=standing))
    with transaction(engine) as db:
        write_household(db, household)
    with open_session(engine) as db:
        assert read_household(db, "home") == household


def test_a_missing_household_is_none(db: Session) -> None:
    assert read_household(db, "nobody") is None


def test_sqlite_runs_with_safe_settings(sqlite_engine: Engine) -> None:
    with open_session(sqlite_engine) as db:
        connection = db.connection()
        found = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        ]
    assert found == ["wal", 2, 1]


def test_every_table_is_made(engine: Engine) -> None:
    assert set(inspect(engine).get_table_names()) >= set(SQLModel.metadata.tables)
