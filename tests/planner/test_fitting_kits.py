"""Which other kits a catheter may name, and what is said when it may not."""

from __future__ import annotations

import pytest

from planner.errors import InvalidHousehold, InvalidValue
from planner.household import Household
from planner.items import SupplyItem
from tests.builders import (
    BOTTLE,
    CATHETER,
    KIT,
    make_bottle,
    make_catheter,
    make_household,
    make_kit,
    make_session,
    moment,
)

LARGE = "KIT-1000"
SMALL = "KIT-250"
ITEMS: tuple[SupplyItem, ...] = (
    make_kit(),
    make_bottle(),
    make_kit(code=LARGE, name="Drainage kit, litre", capacity_ml=1000),
    make_kit(code=SMALL, name="Drainage kit, quarter litre", capacity_ml=250),
)


def home(*named: tuple[str, tuple[str, ...]], **changes: object) -> Household:
    """A household whose catheters order a kit and name others."""
    catheters = tuple(
        make_catheter(id=f"c{n}" if n else CATHETER, kit_code=kit, other_kit_codes=others)
        for n, (kit, others) in enumerate(named)
    )
    return make_household(**{"items": ITEMS, "catheters": catheters, **changes})


def said_about(*named: tuple[str, tuple[str, ...]]) -> list[str]:
    with pytest.raises(InvalidHousehold) as refused:
        home(*named)
    return [one.sentence for one in refused.value.faults]


def test_the_others_go_before_the_ordered_one_in_the_order_of_their_names() -> None:
    catheter = make_catheter(other_kit_codes=(SMALL, LARGE))
    assert catheter.kits_that_fit == (SMALL, LARGE, KIT)
    assert make_catheter().kits_that_fit == (KIT,)


@pytest.mark.parametrize(
    ("others", "value", "fix"),
    [
        ((KIT,), KIT, "it is the kit that is ordered; name other kits only"),
        ((LARGE, SMALL, LARGE), LARGE, "it is named twice; name each kit once"),
    ],
)
def test_a_catheter_alone_refuses(others: tuple[str, ...], value: str, fix: str) -> None:
    with pytest.raises(InvalidValue) as refused:
        make_catheter(other_kit_codes=others)
    fault = refused.value.fault
    assert (fault.field, fault.value, fault.fix) == ("other_kits", value, fix)


def test_an_unknown_kit_is_named_with_those_that_are_known() -> None:
    (said,) = said_about((KIT, ("KIT-900",)))
    assert "KIT-900" in said
    assert "catheters[1].other_kits" in said
    assert f"known: {BOTTLE}, {LARGE}" in said


def test_a_loose_bottle_is_no_kit() -> None:
    (said,) = said_about((KIT, (BOTTLE,)))
    assert all(part in said for part in ("other_kits", BOTTLE, "name a kit"))


def test_a_kit_belongs_to_one_shelf() -> None:
    both = said_about((KIT, (SMALL,)), (LARGE, (SMALL,)))
    assert len(both) == 2
    assert all("a catheter that orders another kit names it too" in one for one in both)
    (ordered,) = said_about((KIT, (LARGE,)), (LARGE, ()))
    assert "another catheter orders this kit; leave it out here" in ordered


def test_two_catheters_that_order_the_same_kit_may_share_another() -> None:
    shared = home((KIT, (SMALL,)), (KIT, (SMALL,)))
    assert [one.other_kit_codes for one in shared.catheters] == [(SMALL,), (SMALL,)]


def test_a_bottle_without_a_name_holds_as_much_as_the_largest_kit_that_fits() -> None:
    session = make_session(moment(-1), 900)
    assert home((KIT, (LARGE,)), sessions=(session,)).sessions == (session,)
    with pytest.raises(InvalidHousehold, match=f"a bottle of {KIT} holds 500 mL"):
        home((KIT, (SMALL,)), sessions=(session,))
