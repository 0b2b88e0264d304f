"""A coordinator marks a lot as recalled for every household that has had it."""

from __future__ import annotations

from datetime import datetime

import httpx
import pytest
from sqlmodel import Session, select

from app.convert import read_household, write_household
from app.models import AccountRow, LedgerRow
from app.models_shelf import LotRecallRow
from planner.household import Household
from planner.ledger import Recall, Receipt, Reversal
from planner.stock import shelf_on
from tests.app.data_builders import BOTTLE, KIT, TODAY, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import PageForm, Visitor, faults_of, forms_of

PAGE = "/agency/ours/recalls"


def with_lot(key: str, lot: str, *, item: str = KIT, units: int = 10) -> Household:
    received = Receipt(id="r1", at=datetime(2026, 3, 2, 10), item_code=item, units=units, lot=lot)
    return make_household(id=key, name=f"House {key}", ledger=(received,), orders=(), sessions=())


@pytest.fixture
def cody(enter: Enter, db: Session, people: dict[str, AccountRow]) -> Visitor:
    """The coordinator; `home` has lot L1, so have two more, and one of another agency."""
    for household in (with_lot("b", "L1"), with_lot("c", "l1"), with_lot("d", "OTHER")):
        write_household(db, household, agency_id="ours")
    write_household(db, with_lot("far", "L1"))
    db.commit()
    return enter("cody")


def record(db: Session, key: str) -> Household:
    db.rollback()
    household = read_household(db, key)
    assert household is not None
    return household


def recalled(db: Session) -> list[str]:
    return [
        key
        for key in ("home", "b", "c", "d", "far")
        if shelf_on(record(db, key), TODAY).recalled_units(KIT)
    ]


def to_confirm(seen: httpx.Response) -> PageForm:
    """The second form of the page, once the lot was looked for."""
    (form,) = (one for one in forms_of(seen) if one.values.get("submission", "").endswith("-m"))
    return form


def mark(visitor: Visitor, **changes: str) -> str:
    seen = visitor.send(PAGE, {"lot": "L1", "action": "find"}, "lot")
    form = to_confirm(seen)
    return visitor.follow(visitor.post(PAGE, form.values | {"action": "mark"} | changes))


def test_a_lot_is_looked_for_first_and_nothing_is_saved(cody: Visitor, db: Session) -> None:
    seen = cody.send(PAGE, {"lot": " l1 ", "action": "find"}, "lot").text
    assert "households that have it: 3" in seen
    assert recalled(db) == []


def test_it_is_marked_for_every_household_that_has_it_and_for_no_other(
    cody: Visitor, db: Session, people: dict[str, AccountRow]
) -> None:
    said = mark(cody)
    assert "The lot is marked as recalled in all these households." in said
    assert recalled(db) == ["home", "b", "c"]
    for key, lot in (("home", "L1"), ("b", "L1"), ("c", "l1")):
        (entry,) = (one for one in record(db, key).ledger if isinstance(one, Recall))
        assert (entry.item_code, entry.lot) == (KIT, lot)
        row = db.exec(
            select(LedgerRow).where(LedgerRow.household_id == key, LedgerRow.key == entry.id)
        ).one()
        assert (row.recorded_by, row.recorded_at is not None) == (people["cody"].id, True)


def test_the_patient_sees_it_and_who_wrote_it(cody: Visitor, enter: Enter) -> None:
    mark(cody)
    cara = enter("cara")
    assert "have been recalled. Do not use them." in cara.see("/h/home")
    shelf = cara.see("/h/home/shelf")
    assert "Recalled – do not use." in shelf
    assert "Recalled: Kit, half litre, lot L1 cody" in shelf


def test_it_is_taken_back_everywhere_and_stays_on_record(cody: Visitor, db: Session) -> None:
    mark(cody)
    (form,) = (one for one in forms_of(cody.get(PAGE)) if one.action.endswith("/undo"))
    said = cody.follow(cody.post(form.action, form.values))
    assert "The recall was taken back in all these households." in said
    assert "L1 (taken back)" in said
    assert recalled(db) == []
    assert isinstance(record(db, "b").ledger[-1], Reversal)
    again = cody.follow(cody.post(form.action, form.values))
    assert "That entry was taken back before." in again


def test_a_household_that_took_it_back_itself_is_left_as_it_is(cody: Visitor, db: Session) -> None:
    mark(cody)
    (entry,) = (one for one in record(db, "b").ledger if isinstance(one, Recall))
    shelf = cody.get("/h/b/shelf")
    (form,) = (one for one in forms_of(shelf) if one.values.get("entry") == entry.id)
    cody.post(form.action, form.values)
    before = len(record(db, "b").ledger)
    (form,) = (one for one in forms_of(cody.get(PAGE)) if one.action.endswith("/undo"))
    cody.post(form.action, form.values)
    assert len(record(db, "b").ledger) == before
    assert recalled(db) == []


def test_the_same_form_marks_once_and_a_second_one_has_nothing_to_mark(
    cody: Visitor, db: Session
) -> None:
    seen = cody.send(PAGE, {"lot": "L1", "action": "find"}, "lot")
    form = to_confirm(seen)
    for _ in range(2):
        cody.follow(cody.post(PAGE, form.values | {"action": "mark"}))
    assert len(db.exec(select(LotRecallRow)).all()) == 3
    page = cody.send(PAGE, {"lot": "L1", "action": "mark"}, "lot")
    assert page.status_code == 422
    (fault,) = faults_of(page)
    assert fault == "The items is empty. Choose at least one that is not marked yet."


@pytest.mark.parametrize(
    ("lot", "fault"),
    [
        ("", "Lot is empty. Write the lot on the notice."),
        ("NONE", "Lot is NONE. No household of yours has had it; check the lot, letter by letter."),
    ],
)
def test_a_lot_that_nobody_had_is_refused(cody: Visitor, lot: str, fault: str) -> None:
    page = cody.send(PAGE, {"lot": lot, "action": "find"}, "lot")
    assert page.status_code == 422
    assert faults_of(page) == [fault]


def test_items_of_the_same_lot_are_chosen_one_by_one(cody: Visitor, db: Session) -> None:
    write_household(db, with_lot("e", "L1", item=BOTTLE), agency_id="ours")
    db.commit()
    seen = cody.send(PAGE, {"lot": "L1", "action": "find"}, "lot")
    form = to_confirm(seen)
    assert "items" not in form.values
    cody.post(PAGE, form.values | {"action": "mark", "items": BOTTLE})
    assert recalled(db) == []
    assert shelf_on(record(db, "e"), TODAY).recalled_units(BOTTLE) == 10


def test_a_household_that_used_it_up_is_marked_as_well(cody: Visitor, db: Session) -> None:
    gone = with_lot("f", "L1", units=1)
    write_household(db, gone, agency_id="ours")
    db.commit()
    cody.follow(
        cody.send("/h/f/shelf/waste", {"item": KIT, "units": "1", "reason": "torn"}, "units")
    )
    seen = cody.send(PAGE, {"lot": "L1", "action": "find"}, "lot").text
    assert "households that have it: 3; that had it: 1" in seen
    mark(cody)
    assert any(isinstance(one, Recall) for one in record(db, "f").ledger)
