"""Kits of another size beside the ordered ones: recording, the shelf, counting, receiving."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime

import pytest
from sqlmodel import Session

from app.access import Role
from app.convert import read_household, write_household
from app.models import AccountRow
from app.services_accounts import add_member
from planner.household import Household
from planner.items import ItemKind, SupplyItem
from planner.ledger import LedgerEntry, Receipt
from planner.stock import Shelf, shelf_on
from tests.app.data_builders import KIT, TODAY, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of

LITRE = "K-LITRE"
FORM = "/h/mixed/sessions/new"
VOLUME, FIRST, SECOND = "bottles[1].volume_ml", "bottles[1].item", "bottles[2].item"
Open = Callable[..., Visitor]


def put(code: str, units: int, expires_on: date | None = None) -> Receipt:
    at = datetime(2026, 2, 1)
    return Receipt(id=f"r-{code}", at=at, item_code=code, units=units, expires_on=expires_on)


def mixed(*entries: LedgerEntry) -> Household:
    """Orders litre kits, has half-litre kits left over, and no session written down yet."""
    plain = make_household(id="mixed", sessions=(), ledger=(), orders=())
    litre = SupplyItem(
        code=LITRE, name="Kit, litre", kind=ItemKind.KIT, capacity_ml=1000, units_per_box=5
    )
    catheter = replace(plain.catheters[0], kit_code=LITRE, other_kit_codes=(KIT,), bottle_code=None)
    items = (*plain.items, litre)
    return replace(plain, items=items, catheters=(catheter,), ledger=entries)


@pytest.fixture
def opened(enter: Enter, db: Session, people: dict[str, AccountRow]) -> Open:
    """A carer of such a household, by what is on its shelf."""

    def make(*entries: LedgerEntry) -> Visitor:
        write_household(db, mixed(*entries))
        add_member(db, people["cara"], "mixed", Role.CARER)
        db.commit()
        return enter("cara")

    return make


def record(db: Session) -> Household:
    db.rollback()  # see what others have saved since
    household = read_household(db, "mixed")
    assert household is not None
    return household


def shelf(db: Session) -> Shelf:
    return shelf_on(record(db), TODAY)


@pytest.mark.parametrize(
    ("half", "litre", "preset"),
    [
        (None, None, KIT),
        (date(2026, 9, 1), date(2026, 6, 1), LITRE),
        (date(2026, 6, 1), date(2026, 9, 1), KIT),
        (None, date(2027, 6, 1), LITRE),
        (date(2026, 3, 1), None, None),
    ],
    ids=["no dates", "litre sooner", "half sooner", "only litre dated", "half expired"],
)
def test_the_kit_is_chosen_beforehand_by_the_rule(
    half: date | None, litre: date | None, preset: str | None, opened: Open
) -> None:
    values = opened(put(KIT, 4, half), put(LITRE, 6, litre)).form(FORM, VOLUME).values
    assert values.get(FIRST) == preset


def test_without_kits_of_another_size_nothing_is_asked(opened: Open, cara: Visitor) -> None:
    assert "Which kit did you open?" not in opened(put(LITRE, 6)).see(FORM)
    assert "Which kit did you open?" not in cara.see("/h/home/sessions/new")


def test_the_kit_that_was_opened_is_written_down(opened: Open, db: Session) -> None:
    visitor = opened(put(KIT, 4), put(LITRE, 6))
    visitor.follow(visitor.send(FORM, {VOLUME: "340"}, VOLUME))
    assert [one.item_code for one in record(db).valid_sessions[-1].bottles] == [KIT]
    changes = {VOLUME: "900", FIRST: LITRE, "bottles[2].volume_ml": "100", "time": "13:00"}
    visitor.follow(visitor.send(FORM, changes | {SECOND: LITRE}, VOLUME))
    assert (shelf(db).usable_units(KIT), shelf(db).usable_units(LITRE)) == (3, 4)


def test_not_knowing_leaves_it_to_the_rule(opened: Open, db: Session) -> None:
    visitor = opened(put(KIT, 1), put(LITRE, 6))
    unknown = {VOLUME: "300", FIRST: "", "bottles[2].volume_ml": "100"}
    visitor.follow(visitor.send(FORM, unknown, VOLUME))
    assert [one.item_code for one in record(db).valid_sessions[-1].bottles] == [None, None]
    assert (shelf(db).usable_units(KIT), shelf(db).usable_units(LITRE)) == (0, 5)


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({VOLUME: "600"}, "Volume in bottle 1 is 600. A bottle of K-HALF holds 500 mL"),
        ({VOLUME: "1001", FIRST: ""}, "Volume in bottle 1 is 1001. A bottle of K-LITRE holds 1000"),
        ({VOLUME: "1", FIRST: "K-NONE"}, "Kind of bottle 1 is K-NONE. No such item"),
        ({VOLUME: "1", SECOND: LITRE}, "Volume in bottle 2 is empty. Give a whole number"),
        (
            {VOLUME: "1", "bottles[2].volume_ml": "501", SECOND: KIT},
            "Volume in bottle 2 is 501. A bottle of K-HALF holds 500 mL",
        ),
    ],
)
def test_volumes_are_held_against_the_bottle_that_was_opened(
    changes: dict[str, str], fault: str, opened: Open, db: Session
) -> None:
    visitor = opened(put(KIT, 4), put(LITRE, 6))
    page = visitor.send(FORM, changes, VOLUME)
    assert page.status_code == 422
    assert any(fault in one for one in faults_of(page)), faults_of(page)
    assert record(db).sessions == ()


def test_a_kit_that_is_not_there_allows_no_more(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    """Litre kits fit, but none is on the shelf: a bottle holds what the half-litre kits hold."""
    household = mixed(put(KIT, 4))
    small = replace(household.catheters[0], kit_code=KIT, other_kit_codes=(LITRE,))
    write_household(db, replace(household, catheters=(small,)))
    add_member(db, people["cara"], "mixed", Role.CARER)
    db.commit()
    page = enter("cara").send(FORM, {VOLUME: "700"}, VOLUME)
    (fault,) = faults_of(page)
    assert fault.startswith("Volume in bottle 1 is 700. A bottle of K-HALF holds 500 mL; split")


def test_the_shelf_shows_them_as_supply(opened: Open) -> None:
    said = opened(put(KIT, 4), put(LITRE, 6)).see("/h/mixed/shelf")
    assert "Fits as well as Kit, litre. The soonest date goes first, whatever the size." in said
    assert said.count("Fits as well as") == 1
    assert "4 kits to use" in said
    assert "6 kits to use" in said


def test_they_are_counted_and_received_like_any_item(opened: Open, db: Session) -> None:
    visitor = opened(put(KIT, 4), put(LITRE, 6))
    more = {"lines[1].item": KIT, "lines[1].units": "2"}
    visitor.follow(visitor.send("/h/mixed/shelf/receive", more, "lines[1].units"))
    assert shelf(db).usable_units(KIT) == 6
    visitor.follow(visitor.send(f"/h/mixed/shelf/count?item={KIT}", {"units": "6"}, "units"))
    assert (shelf(db).usable_units(KIT), KIT in shelf(db).counted_items) == (6, True)
