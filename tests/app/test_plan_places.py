"""A plan as text and as JSON tells apart what is usable, away, expired, recalled and coming."""

from __future__ import annotations

from datetime import timedelta

import pytest

from app import wording
from app.plan_json import plan_json
from app.plan_text import plan_text
from planner.household import Household
from planner.ledger import LedgerEntry, Place, Recall, Receipt, Transfer, WrongDelivery
from planner.plan import make_plan
from tests.builders import KIT, TODAY, day, make_household, make_order, moment, stocked

LATE = moment(0, hour=23) + timedelta(minutes=40)


@pytest.fixture
def home() -> Household:
    entries: tuple[LedgerEntry, ...] = (
        *stocked(12),
        Receipt(id="bad", at=LATE, item_code=KIT, units=3, lot="B"),
        Receipt(id="short", at=LATE, item_code=KIT, units=2, lot="S", expires_on=day(0)),
        Recall(id="k", at=LATE, item_code=KIT, lot="B"),
        Transfer(id="t", at=LATE, item_code=KIT, units=2, to=Place.BAG, lot=""),
        WrongDelivery(id="x", at=LATE, what="One litre bottle", units=5),
    )
    return make_household(ledger=entries, orders=(make_order(1),), sessions=())


def test_the_text_tells_places_apart(home: Household) -> None:
    tomorrow = day(1)
    said = " ".join(plan_text(make_plan(home, tomorrow), home).split())
    assert (
        "Drainage kit, half litre: 12 kits to use, 2 kits expired, 3 kits recalled, "
        "10 kits on the way" in said
    )
    assert "Wrong goods came: One litre bottle, 5 pieces. Do not use them." in said
    today = " ".join(plan_text(make_plan(home, TODAY), home).split())
    assert "12 kits to use, 3 kits recalled, 2 kits in the travel bag, 10 kits on" in today


def test_the_json_tells_places_apart(home: Household) -> None:
    content = plan_json(make_plan(home, TODAY), wording.names_of(home))
    on_hand = content["on_hand"]
    assert isinstance(on_hand, list)
    kits = on_hand[0]
    found = {key: kits[key] for key in ("usable", "away", "expired", "recalled", "in_transit")}
    assert found == {"usable": 12, "away": 2, "expired": 0, "recalled": 3, "in_transit": 10}
