"""Changes of settings: dated, kept, taken back, and read as of any day, on both databases."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, time

import pytest
from sqlmodel import Session, select

from app.access import HouseholdAccess, enter_agency, enter_household
from app.changes import Subject
from app.changes_rows import noted_changes
from app.convert import ledger_row, read_household
from app.errors import InvalidInput, NotFound
from app.models import AccountRow, HouseholdRow
from app.models_settings import SettingChangeRow
from app.planning import plan_for, stale_household_ids
from app.services import count_item
from app.services_feeds import suppliers_of
from app.services_settings import (
    NOTHING,
    remove,
    set_authorized,
    set_closure,
    set_fields,
    set_household,
    set_pause,
    set_regimen,
    take_back,
)
from app.writing import Request, Saved
from planner.household import Household, Pause
from planner.items import ItemKind
from planner.ledger import Count, Receipt
from planner.regimen import Pattern, Regimen
from planner.stock import items_taken, shelf_on
from planner.supply import AuthorizedQuantity, Closure, Contact
from tests.app.data_builders import BOTTLE, KIT, NOW, TODAY

LATER = date(2026, 4, 1)

Make = Callable[[Request], Saved]
Part = Callable[[Household], tuple[Closure | AuthorizedQuantity | Pause, ...]]


@pytest.fixture
def request_(db: Session, carer: HouseholdAccess) -> Request:
    return Request(db=db, access=carer, now=NOW)


def read(db: Session, on: date | None = None) -> Household:
    household = read_household(db, "home", on)
    assert household is not None
    return household


def test_a_supplier_change_that_lies_ahead_holds_from_its_day_on(
    db: Session, request_: Request
) -> None:
    before = read(db)
    values = {"lead_business_days": 5, "delivery_weekdays": (1, 3), "minimum_boxes": 2}
    set_fields(request_, Subject.SUPPLIER, values, starts_on=LATER)
    assert read(db) == before
    assert read(db, date(2026, 3, 31)).supplier == before.supplier
    assert read(db, LATER).supplier == replace(
        before.supplier, lead_business_days=5, delivery_weekdays=(1, 3), minimum_boxes=2
    )


def test_each_change_carries_only_its_own_fields(db: Session, request_: Request) -> None:
    first = set_fields(
        request_, Subject.SUPPLIER, {"lead_business_days": 4, "minimum_boxes": 0}, starts_on=TODAY
    )
    set_fields(request_, Subject.SUPPLIER, {"cut_off": time(11, 0)}, starts_on=TODAY)
    noted = noted_changes(db, "home")
    assert [dict(one.change.values) for one in noted] == [
        {"cut_off": time(11, 0)},
        {"lead_business_days": 4},
    ]
    assert noted[1].was == {"lead_business_days": 3}
    assert noted[1].by == "cara"
    take_back(request_, first.key)
    terms = read(db).supplier
    assert (terms.lead_business_days, terms.cut_off) == (3, time(11, 0))


def test_rows_are_only_ever_added(db: Session, request_: Request) -> None:
    saved = set_fields(request_, Subject.PLAN, {"protection": 0.95}, starts_on=TODAY)
    row = db.exec(select(SettingChangeRow)).one()
    before = row.model_dump()
    take_back(request_, saved.key)
    db.expire_all()
    rows = db.exec(select(SettingChangeRow).order_by("id")).all()
    assert rows[0].model_dump() == before
    assert [one.subject for one in rows] == ["plan", "undo"]
    assert read(db).settings.protection == 0.99


def test_a_changed_cut_off_counts_for_stored_plans_at_once(db: Session, request_: Request) -> None:
    plan_for(db, "home", NOW)
    set_fields(request_, Subject.SUPPLIER, {"cut_off": time(9, 0)}, starts_on=TODAY)
    assert "home" in stale_household_ids(db)
    plan_for(db, "home", NOW)
    assert "home" not in stale_household_ids(db)


def test_sessions_keep_the_kit_of_their_own_day(db: Session, request_: Request) -> None:
    before = plan_for(db, "home", NOW).plan
    new = {"code": "K-LITRE", "name": "Kit, litre", "kind": ItemKind.KIT, "capacity_ml": 1000}
    set_fields(
        request_, Subject.ITEM, new | {"units_per_box": 5}, starts_on=TODAY, target="K-LITRE"
    )
    change = {"kit_code": "K-LITRE", "bottle_code": None}
    set_fields(request_, Subject.CATHETER, change, starts_on=LATER, target="right")
    assert plan_for(db, "home", NOW).plan.on_hand[0] == before.on_hand[0]
    later = read(db, LATER)
    assert later.catheters[0].kit_code == "K-LITRE"
    assert {one.bottles[0].item_code for one in later.sessions} == {KIT}
    assert {one.bottles[0].item_code for one in read(db).sessions} == {None}


def test_sessions_keep_the_rule_of_their_own_day(db: Session, request_: Request) -> None:
    """Kits left over fit for some days; what was opened then stays as the rule said then."""
    new = {"code": "K-LITRE", "name": "Kit, litre", "kind": ItemKind.KIT, "capacity_ml": 1000}
    began = date(2026, 2, 25)
    set_fields(
        request_, Subject.ITEM, new | {"units_per_box": 5}, starts_on=began, target="K-LITRE"
    )
    came = datetime(2026, 3, 3)
    goods = (
        Receipt(id="late1", at=datetime(2026, 2, 1), item_code="K-LITRE", units=2),
        Receipt(id="late2", at=came, item_code="K-LITRE", units=1, expires_on=date(2026, 6, 30)),
    )
    for one in goods:
        db.add(ledger_row("home", one))
    db.commit()
    one_kit = {"kit_code": "K-LITRE", "other_kit_codes": (KIT,)}
    set_fields(request_, Subject.CATHETER, one_kit, starts_on=began, target="right")
    during = read(db)
    assert {one.bottles[0].item_code for one in during.sessions if one.drained_on < began} == {KIT}
    since = [one for one in during.sessions if one.drained_on >= began]
    assert {one.bottles[0].item_code for one in since} == {None}
    taken = items_taken(during)
    # Dated half-litre kits go before undated litre kits, and after the one with a sooner date.
    first = next(one for one in since if one.started_at >= came)
    wanted = [("K-LITRE",) if one is first else (KIT,) for one in since]
    assert [taken[one.id] for one in since] == wanted
    assert since[0] is not first

    set_fields(request_, Subject.CATHETER, {"other_kit_codes": ()}, starts_on=TODAY, target="right")
    after = read(db)
    kept = [one.bottles[0].item_code for one in after.sessions]
    assert kept == [KIT] * (len(kept) - len(since)) + [code for (code,) in wanted]
    assert shelf_on(after, TODAY) == shelf_on(during, TODAY)


@pytest.mark.parametrize(
    ("make", "part"),
    [
        (
            lambda r: set_closure(r, Closure(starts_on=LATER, ends_on=LATER, reason="stock")),
            lambda h: h.supplier.closures,
        ),
        (
            lambda r: set_authorized(
                r, AuthorizedQuantity(item_code=KIT, units=30, per_days=30, starts_on=LATER)
            ),
            lambda h: h.authorized,
        ),
        (lambda r: set_pause(r, Pause(starts_on=LATER, reason="travel")), lambda h: h.pauses),
    ],
)
def test_things_with_their_own_dates_are_told_to_the_plan_at_once_and_can_be_taken_out(
    make: Make, part: Part, db: Session, request_: Request
) -> None:
    saved = make(request_)
    assert [one.starts_on for one in part(read(db))] == [LATER]
    subject = noted_changes(db, "home")[0].change.subject
    assert remove(request_, subject, saved.key).key
    assert part(read(db)) == ()
    with pytest.raises(NotFound):
        remove(request_, subject, "x")


def test_what_is_so_already_is_not_kept(db: Session, request_: Request) -> None:
    saved = set_fields(request_, Subject.SUPPLIER, {"lead_business_days": 3}, starts_on=TODAY)
    assert saved.key == NOTHING
    assert noted_changes(db, "home") == ()


def test_a_change_that_later_entries_need_stays(db: Session, request_: Request) -> None:
    new = {"code": "X", "name": "Extra", "kind": ItemKind.OTHER, "units_per_box": 1}
    item = set_fields(request_, Subject.ITEM, new, starts_on=TODAY, target="X")
    limit = AuthorizedQuantity(item_code="X", units=5, per_days=30, starts_on=TODAY)
    set_authorized(request_, limit)
    with pytest.raises(InvalidInput, match="no such item"):
        take_back(request_, item.key)
    assert "X" in {one.code for one in read(db).items}


def test_a_change_that_breaks_a_day_to_come_is_refused(db: Session, request_: Request) -> None:
    change = {"kit_code": "NONE"}
    with pytest.raises(InvalidInput, match="no such item"):
        set_fields(request_, Subject.CATHETER, change, starts_on=LATER, target="right")
    assert noted_changes(db, "home") == ()


def test_the_care_team_and_the_supplier_contact_can_be_set(db: Session, request_: Request) -> None:
    set_fields(request_, Subject.CARE_TEAM, {"name": "Hill nurses", "phone": "1"}, starts_on=TODAY)
    contact = Contact(name="Desk", phone="2")
    set_fields(request_, Subject.SUPPLIER, {"contact": contact}, starts_on=TODAY)
    household = read(db)
    assert household.care_team == Contact(name="Hill nurses", phone="1")
    assert household.supplier.contact == contact


def test_a_regimen_for_no_catheter_is_not_found(request_: Request) -> None:
    regimen = Regimen(starts_on=TODAY, pattern=Pattern.AS_NEEDED)
    with pytest.raises(NotFound):
        set_regimen(request_, "left", regimen)


def test_a_time_zone_is_changed_at_once_and_taken_back(db: Session, request_: Request) -> None:
    saved = set_household(request_, name="Home", time_zone="Europe/Oslo")
    row = db.get_one(HouseholdRow, "home", populate_existing=True)
    assert (row.name, row.time_zone) == ("Home", "Europe/Oslo")
    take_back(request_, saved.key)
    row = db.get_one(HouseholdRow, "home", populate_existing=True)
    assert (row.name, row.time_zone) == ("Household of the tests", "Europe/Lisbon")


@pytest.mark.parametrize(
    ("name", "zone", "fault"),
    [
        ("", "Europe/Lisbon", "name is empty"),
        ("Home", "Atlantis", "time_zone is Atlantis"),
        ("Home", "Pacific/Honolulu", "entries of today would lie ahead"),
    ],
)
def test_a_time_zone_that_would_break_the_record_is_refused(
    name: str,
    zone: str,
    fault: str,
    db: Session,
    request_: Request,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    early = datetime(2026, 3, 11, 0, 30)
    monkeypatch.setenv("EBBSTOCK_NOW", early.isoformat())
    request_ = replace(request_, now=early)
    count_item(request_, item_code=BOTTLE, units=3, at=early)
    with pytest.raises(InvalidInput, match=fault):
        set_household(request_, name=name, time_zone=zone)
    row = db.get_one(HouseholdRow, "home", populate_existing=True)
    assert (row.name, row.time_zone) == ("Household of the tests", "Europe/Lisbon")
    assert isinstance(read(db).ledger[-1], Count)


def test_a_later_change_of_the_same_field_is_taken_back_first(
    db: Session, request_: Request
) -> None:
    first = set_household(request_, name="One", time_zone="Europe/Lisbon")
    second = set_household(request_, name="Two", time_zone="Europe/Lisbon")
    with pytest.raises(InvalidInput, match="take back the later change first"):
        take_back(request_, first.key)
    take_back(request_, second.key)
    take_back(request_, first.key)
    assert read(db).name == "Household of the tests"


def test_a_viewer_may_not_change_anything(db: Session, people: dict[str, AccountRow]) -> None:
    viewer = Request(db=db, access=enter_household(db, people["vic"], "home"), now=NOW)
    with pytest.raises(NotFound):
        set_pause(viewer, Pause(starts_on=TODAY))
    with pytest.raises(NotFound):
        set_household(viewer, name="Mine", time_zone="UTC")


def test_a_supplier_s_new_name_is_what_a_coordinator_chooses_from(
    db: Session, request_: Request, people: dict[str, AccountRow]
) -> None:
    agency = enter_agency(db, people["cody"], "ours")
    set_fields(request_, Subject.SUPPLIER, {"name": "Upland Goods"}, starts_on=TODAY)
    set_fields(request_, Subject.SUPPLIER, {"name": "Later Goods"}, starts_on=LATER)
    assert suppliers_of(db, agency) == ("Upland Goods",)


def test_express_that_a_later_change_would_make_too_slow_is_refused(
    request_: Request, db: Session
) -> None:
    """A lead of 1 business day is set for June; express of 2 days would take longer then."""
    june = date(2026, 6, 1)
    set_fields(request_, Subject.SUPPLIER, {"lead_business_days": 1}, starts_on=june)
    with pytest.raises(InvalidInput, match="express_business_days is 2: give no more than the 1"):
        set_fields(request_, Subject.SUPPLIER, {"express_business_days": 2}, starts_on=TODAY)
    found = read_household(db, "home", june)
    assert found is not None
    assert found.supplier.express_business_days is None
