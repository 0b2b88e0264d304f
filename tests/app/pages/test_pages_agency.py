"""The coordinator's pages: urgency first, finding a household, the combined order."""

from __future__ import annotations

import csv
import io
import re
from datetime import datetime

import pytest
from fhirclient.models.bundle import Bundle
from sqlmodel import Session

from app.convert import write_household
from app.models import AccountRow, StoredPlanRow
from app.planning import plan_for
from planner.household import Household
from planner.ledger import Count
from planner.supply import Contact, SupplierTerms
from tests.app.data_builders import KIT, NOW, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, text_of

LIST = "/agency/ours"


def short_household() -> Household:
    """Two kits left, nothing ordered, and a name that a spreadsheet could take for a formula."""
    count = Count(id="c1", at=datetime(2026, 3, 10, 20, 0), item_code=KIT, units=2)
    return make_household(
        id="short", name="=Sum of us", ledger=(count,), orders=(), care_team=Contact(name="Nurses")
    )


def elsewhere() -> Household:
    """Another supplier, and plenty."""
    count = Count(id="c1", at=datetime(2026, 3, 10, 20, 0), item_code=KIT, units=60)
    supplier = SupplierTerms(name="Upland Goods", lead_business_days=2)
    return make_household(
        id="plenty", name="O'Hara & Sons <b>", ledger=(count,), orders=(), supplier=supplier
    )


@pytest.fixture
def cody(enter: Enter, db: Session, people: dict[str, AccountRow]) -> Visitor:
    """The coordinator of an agency with a short, a usual and a rich household."""
    for household in (elsewhere(), short_household()):
        write_household(db, household, agency_id="ours")
    db.commit()
    return enter("cody")


def names(page: str) -> list[str]:
    return re.findall(r'<th scope="row"><a href="/h/(\w+)', page)


def test_the_most_urgent_household_comes_first_with_whom_to_call(cody: Visitor) -> None:
    page = cody.get(LIST)
    assert names(page.text)[0] == "short"
    assert names(page.text)[-1] == "plenty"
    said = text_of(page)
    assert "3 households" in said
    assert "Running short Call Tidewater desk (555 0100) today and ask for express" in said
    assert "Tell Nurses that supplies may run short." in said
    assert "O'Hara & Sons <b>" in said
    assert "stretch" not in said


def test_one_urgency_can_be_chosen(cody: Visitor) -> None:
    assert names(cody.get(f"{LIST}?urgency=short").text) == ["short"]
    assert len(names(cody.get(f"{LIST}?urgency=nonsense").text)) == 3
    assert "No household fits." in cody.see(f"{LIST}?urgency=resting")


def test_a_name_is_searched_without_standing_in_the_address(cody: Visitor) -> None:
    answer = cody.send(LIST, {"search": "sum of"}, "search")
    assert answer.status_code == 200
    assert names(answer.text) == ["short"]
    assert 'value="sum of"' in answer.text
    assert names(cody.get(f"{LIST}?search=sum").text) != ["short"]
    for odd in ("%", "_", "'; --", "x" * 500):
        assert names(cody.send(LIST, {"search": odd}, "search").text) == []


def test_searching_needs_a_coordinator(enter: Enter) -> None:
    visitor = enter("cara")
    token = visitor.form("/when-to-call", "form_token").values
    assert visitor.post(LIST, token | {"search": "x"}).status_code == 404


def test_many_households_come_in_pages(enter: Enter, db: Session) -> None:
    for n in range(30):
        write_household(db, make_household(id=f"n{n:02}", sessions=()), agency_id="ours")
    db.commit()
    plan_for(db, "n00", NOW)
    plan = db.get_one(StoredPlanRow, "n00").model_dump()
    db.add_all(StoredPlanRow(**plan | {"household_id": f"n{n:02}"}) for n in range(1, 30))
    db.commit()
    cody = enter("cody")
    first = cody.get(LIST)
    assert len(names(first.text)) == 25
    assert "Page 1 of 2" in text_of(first)
    second = cody.send(LIST, {"page": "2"}, "search")
    assert len(names(second.text)) == 6
    assert not set(names(first.text)) & set(names(second.text))
    for odd in ("0", "-1", "x", "9" * 30):
        assert cody.send(LIST, {"page": odd}, "search").status_code == 200


def test_the_combined_order_says_who_places_what_by_when(cody: Visitor) -> None:
    said = cody.see(f"{LIST}/order")
    assert "Tidewater Supplies, for" in said
    assert "Place by Wed 11 March. Call Tidewater desk (555 0100)." in said
    assert "=Sum of us" in said
    assert "Upland Goods" not in said


def test_the_spreadsheet_has_whole_boxes_and_no_formulas(cody: Visitor) -> None:
    answer = cody.get(f"{LIST}/order.csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert 'filename="combined-order-2026-03-11.csv"' in answer.headers["content-disposition"]
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    mine = [row for row in rows if row["household"] == "short" and row["item"] == KIT]
    assert len(mine) == 1
    assert mine[0]["household_name"] == "'=Sum of us"
    assert int(mine[0]["units"]) == 10 * int(mine[0]["boxes"]) > 0
    assert mine[0]["order_by"] == "2026-03-11"
    assert mine[0]["delivery"] > "2026-03-11"


def test_the_combined_order_for_a_supplier_s_system_is_made_of_drafts(cody: Visitor) -> None:
    """Read by fhirclient, generated from HL7 FHIR 4.0.1."""
    answer = cody.get(f"{LIST}/order.fhir.json")
    assert answer.headers["content-type"] == "application/fhir+json"
    requests = [one.resource for one in Bundle(answer.json(), strict=True).entry]
    assert {one.status for one in requests} == {"draft"}
    assert "short" in {one.deliverTo.identifier.value for one in requests}
    assert "Sum of us" not in answer.text
