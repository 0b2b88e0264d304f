"""Choosing on the page what a coordinator's calendar shows."""

from __future__ import annotations

import html
import re

import httpx
import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session, select

from app.models import AccountRow, FeedRow, SupplierRow
from app.wording import STANDING_CAUTION
from tests.app.pages.conftest import Enter
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.visitor import Visitor, faults_of, text_of

PATH = "/agency/ours/calendar"
CHANGE = f"{PATH}/shows"
USUAL = (
    "This address shows: households that run short or have to order within a week, "
    "of all suppliers; the day to order by."
)


@pytest.fixture
def cody(enter: Enter) -> Visitor:
    return enter("cody")


def address_in(page: httpx.Response) -> str:
    found = re.search(r"http://testserver(/calendar/[\w-]+\.ics)", text_of(page))
    assert found is not None
    return found[1]


def stored(db: Session) -> tuple[str, str, str | None] | None:
    db.expire_all()
    row = db.exec(select(FeedRow)).first()
    db.commit()
    return None if row is None else (row.least_urgency, row.entry_kinds, row.supplier_name)


def choices_on(visitor: Visitor) -> dict[str, str]:
    """The values that the form of choices would send untouched."""
    values = visitor.form(PATH, "least_urgency").values
    wanted = ("least_urgency", "order-by", "run-out", "delivery", "supplier")
    return {name: values[name] for name in wanted if name in values}


def test_the_usual_choices_stand_in_the_form_of_a_first_address(cody: Visitor, db: Session) -> None:
    assert choices_on(cody) == {"least_urgency": "order-soon", "order-by": "yes", "supplier": ""}
    assert cody.form(PATH, "least_urgency").action == PATH
    assert "This address shows" not in cody.see(PATH)
    made = cody.send(PATH, {}, "detailed")
    assert USUAL in text_of(made)
    check(made.text)
    assert stored(db) == ("order-soon", "order-by", None)
    assert USUAL in cody.see(PATH)


def test_choices_made_with_the_first_address(cody: Visitor, db: Session) -> None:
    changes = {"least_urgency": "short", "delivery": "yes", "supplier": "Tidewater Supplies"}
    made = cody.send(PATH, changes, "detailed")
    assert stored(db) == ("short", "order-by,delivery", "Tidewater Supplies")
    assert (
        "This address shows: households that run short, of Tidewater Supplies only; "
        "the day to order by and the next delivery."
    ) in text_of(made)


def test_a_change_keeps_the_address(cody: Visitor, client: TestClient, db: Session) -> None:
    address = address_in(cody.send(PATH, {}, "detailed"))
    form = cody.form(PATH, "least_urgency")
    assert form.action == CHANGE
    changes = {"least_urgency": "order-now", "run-out": "yes", "delivery": "yes"}
    said = cody.follow(cody.post(CHANGE, form.values | changes))
    assert "Saved. Your calendar follows when it next looks for changes." in said
    assert (
        "This address shows: households that run short or have to order today, of all "
        "suppliers; the day to order by, the day supplies may run out and the next delivery."
    ) in said
    assert stored(db) == ("order-now", "order-by,run-out,delivery", None)
    assert choices_on(cody) == {"supplier": "", "order-by": "yes"} | changes
    assert client.get(address).status_code == 200


def test_a_kind_can_be_taken_away(cody: Visitor, db: Session) -> None:
    cody.send(PATH, {"run-out": "yes"}, "detailed")
    form = cody.form(PATH, "least_urgency")
    del form.values["order-by"]
    said = cody.follow(cody.post(CHANGE, form.values))
    assert "; today for those that run short and the day supplies may run out." in said
    assert stored(db) == ("order-soon", "run-out", None)


def test_a_new_address_and_one_after_switching_off_keep_the_choices(
    cody: Visitor, db: Session
) -> None:
    cody.send(PATH, {"least_urgency": "short"}, "detailed")
    again = cody.form(PATH, "detailed")
    assert "least_urgency" not in again.values
    assert "It will show the same as the one you have." in cody.see(PATH)
    cody.post(PATH, again.values)
    assert stored(db) == ("short", "order-by", None)
    token = {"form_token": again.values["form_token"]}
    cody.post(f"{PATH}/off", token)
    assert choices_on(cody)["least_urgency"] == "short"
    assert "This address shows" not in cody.see(PATH)


BAD = {
    "level": (
        {"least_urgency": "steady"},
        "The choice of households is steady. Choose one of the three below.",
    ),
    "no level": (
        {"least_urgency": ""},
        "The choice of households is empty. Choose one of the three below.",
    ),
    "no kind": (
        {"order-by": "no"},
        "The choice of entries is empty. Tick at least one kind of entry.",
    ),
    "supplier": (
        {"supplier": "Moon & <b>Sons"},
        "Supplier is Moon & <b>Sons. Choose a supplier of your households, or all suppliers.",
    ),
}


@pytest.mark.parametrize("path", [PATH, CHANGE])
@pytest.mark.parametrize("what", list(BAD))
def test_a_bad_value_is_named_beside_its_field_and_nothing_is_saved(
    what: str, path: str, cody: Visitor, db: Session
) -> None:
    changes, sentence = BAD[what]
    if path == CHANGE:
        cody.send(PATH, {}, "detailed")
    before = stored(db)
    values = cody.form(PATH, "least_urgency").values | {"run-out": "no"} | changes
    page = cody.post(path, values | {"detailed": "yes"})
    assert page.status_code == 422
    assert faults_of(page) == [sentence]
    assert f">{html.escape(sentence, quote=False)}</p>" in page.text
    assert "<b>Sons" not in page.text
    assert STANDING_CAUTION in page.text
    assert "testserver/calendar/" not in page.text
    check(page.text)
    assert stored(db) == before
    if path == PATH:
        assert 'name="detailed" value="yes" checked' in page.text


def test_all_faults_are_named_at_once_and_what_was_chosen_stays(cody: Visitor, db: Session) -> None:
    values = cody.form(PATH, "least_urgency").values
    bad = values | {"least_urgency": "x", "order-by": "", "supplier": "Tidewater Supplies"}
    page = cody.post(PATH, bad)
    assert len(faults_of(page)) == 2
    assert '<option value="Tidewater Supplies" selected>' in page.text
    assert stored(db) is None


def test_a_supplier_that_is_gone_is_still_shown_and_may_stay(cody: Visitor, db: Session) -> None:
    cody.send(PATH, {"supplier": "Tidewater Supplies"}, "detailed")
    row = db.exec(select(SupplierRow).where(SupplierRow.household_id == "home")).one()
    row.name = "Brackenfold Goods"
    db.commit()
    page = cody.see(PATH)
    assert "of Tidewater Supplies only" in page
    assert "Tidewater Supplies (no household has it now)" in page
    assert choices_on(cody)["supplier"] == "Tidewater Supplies"
    cody.follow(cody.send(PATH, {"delivery": "yes"}, "least_urgency"))
    assert stored(db) == ("order-soon", "order-by,delivery", "Tidewater Supplies")


def test_without_an_address_there_is_nothing_to_change(cody: Visitor, db: Session) -> None:
    page = cody.post(CHANGE, cody.form(PATH, "least_urgency").values)
    assert page.status_code == 404
    assert "There is no calendar address to change." in text_of(page)
    assert stored(db) is None


def test_a_households_calendar_offers_no_such_choices(enter: Enter) -> None:
    cara = enter("cara")
    page = cara.see("/h/home/calendar")
    assert "Who appears?" not in page
    made = cara.send("/h/home/calendar", {"least_urgency": "nonsense"}, "detailed")
    assert made.status_code == 200
    assert "This address shows" not in text_of(made)


@pytest.mark.parametrize("who", ["stranger", "rival", "cara"])
def test_nobody_else_changes_it(
    who: str, enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    cody = enter("cody")
    cody.send(PATH, {}, "detailed")
    values = cody.form(PATH, "least_urgency").values | {"least_urgency": "short"}
    assert cody.post(CHANGE, values | {"form_token": "guess"}).status_code == 403
    other = enter(who)
    token = other.form("/when-to-call", "form_token").values["form_token"]
    assert other.post(CHANGE, values | {"form_token": token}).status_code == 404
    assert stored(db) == ("order-soon", "order-by", None)
