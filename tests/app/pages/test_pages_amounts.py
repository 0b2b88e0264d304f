"""A box more, a box less, kits only: compared on a page, chosen for the order form."""

from __future__ import annotations

import re
from datetime import datetime

import pytest
from sqlmodel import Session

from app.access import Role
from app.convert import write_household
from app.models import AccountRow
from app.services_accounts import add_member
from planner.ledger import Count
from tests.app.data_builders import KIT, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor

PAGE = "/h/needy/order/amounts"
ORDER = "/h/needy/order"


@pytest.fixture
def cara_at_needy(enter: Enter, db: Session, people: dict[str, AccountRow]) -> Visitor:
    """A household with six kits and nothing ordered."""
    count = Count(id="c1", at=datetime(2026, 3, 10, 20, 0), item_code=KIT, units=6)
    write_household(db, make_household(id="needy", ledger=(count,), orders=()))
    add_member(db, people["cara"], "needy", Role.CARER)
    db.commit()
    return enter("cara")


def boxes_of(cara: Visitor, query: str = "") -> int:
    return int(cara.form(ORDER + query, "version").values["lines[1].boxes"])


def test_amounts_are_compared_and_one_is_chosen(cara_at_needy: Visitor) -> None:
    cara = cara_at_needy
    said = cara.see(PAGE)
    assert "Nothing is ordered here." in said
    assert re.search(r"As proposed \d+ box(es)? of Kit, half litre", said)
    assert re.search(r"One box more 4 boxes .* \d+ days? more", said)
    assert re.search(r"One box less 2 boxes .* \d+ days? less", said)
    assert re.search(r"Chance to run out before \w{3} \d+ \w+", said)
    assert 'href="/h/needy/order/amounts"' in cara.get(ORDER).text
    proposed = boxes_of(cara)
    assert boxes_of(cara, "?amount=one-more") == proposed + 1
    assert boxes_of(cara, "?amount=one-less") in (proposed - 1, proposed)
    assert boxes_of(cara, "?amount=nonsense") == proposed


def test_without_a_proposal_there_is_nothing_to_compare(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    count = Count(id="c1", at=datetime(2026, 3, 10, 20, 0), item_code=KIT, units=200)
    write_household(db, make_household(id="rich", ledger=(count,), orders=()))
    add_member(db, people["cara"], "rich", Role.CARER)
    db.commit()
    cara = enter("cara")
    assert "there is nothing to compare" in cara.see("/h/rich/order/amounts")
    assert "order/amounts" not in cara.get("/h/rich/order").text
