"""Recalls for a whole agency, on every kind of database."""

from __future__ import annotations

from datetime import datetime

import pytest
from sqlmodel import Session

from app.access import enter_agency
from app.convert import read_household, write_household
from app.errors import NotFound
from app.models import AccountRow
from app.services_recalls import find_lot, marked_recalls, recall_for_all, take_recall_back
from planner.ledger import Receipt
from planner.stock import shelf_on
from tests.app.data_builders import KIT, TODAY, make_household

People = dict[str, AccountRow]


def recalled_units(db: Session, key: str) -> int:
    household = read_household(db, key)
    assert household is not None
    return shelf_on(household, TODAY).recalled_units(KIT)


def test_marked_listed_and_taken_back(db: Session, people: People) -> None:
    received = Receipt(id="r1", at=datetime(2026, 3, 2), item_code=KIT, units=4, lot="Q7")
    for key in ("one", "two"):
        home = make_household(id=key, ledger=(received,), orders=(), sessions=())
        write_household(db, home, agency_id="ours")
    db.commit()
    cody = people["cody"]
    access = enter_agency(db, cody, "ours")
    (found,) = find_lot(db, access, "q7")
    assert sorted(one.household_id for one in found.holdings) == ["one", "two"]
    recall_for_all(db, cody, access, lot="Q7", item_codes=[KIT], batch="form-1")
    assert [recalled_units(db, key) for key in ("one", "two")] == [4, 4]
    (marked,) = marked_recalls(db, access)
    assert (marked.lot, marked.by, marked.households, marked.standing) == ("Q7", "cody", 2, 2)
    take_recall_back(db, cody, access, "form-1")
    assert [recalled_units(db, key) for key in ("one", "two")] == [0, 0]
    (marked,) = marked_recalls(db, access)
    assert (marked.households, marked.standing) == (2, 0)
    with pytest.raises(NotFound):
        take_recall_back(db, cody, access, "form-1")


def test_another_agency_cannot_take_it_back(db: Session, people: People) -> None:
    received = Receipt(id="r1", at=datetime(2026, 3, 2), item_code=KIT, units=4, lot="Q7")
    home = make_household(id="one", ledger=(received,), orders=(), sessions=())
    write_household(db, home, agency_id="ours")
    db.commit()
    ours = enter_agency(db, people["cody"], "ours")
    recall_for_all(db, people["cody"], ours, lot="Q7", item_codes=[KIT], batch="form-1")
    theirs = enter_agency(db, people["rival"], "theirs")
    with pytest.raises(NotFound):
        take_recall_back(db, people["rival"], theirs, "form-1")
    assert recalled_units(db, "one") == 4
