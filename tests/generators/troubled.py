"""Households whose shelf is in trouble: running short, recalled, expired, miscounted, scattered."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time

from planner.household import ClinicalGroup, Household
from planner.items import SupplyItem
from planner.ledger import (
    Count,
    Departure,
    LeavingReason,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Transfer,
    WrongDelivery,
    WrongReturn,
)
from planner.scenario_writer import in_file_order
from planner.sessions import BottleUse, Session
from planner.stock import shelf_on
from planner.supply import AuthorizedQuantity, Order, OrderLine, OrderStatus
from tests.generators.building_blocks import NEVER, belly, chest, every, home, receipt
from tests.generators.simulate import Fluid, Habits, invent
from tests.generators.trade import OLLERBY, QUILLMERE, TARNBROOK, slower


def runs_short() -> Household:
    """Chest, every day. The last order was cancelled: supplies run out before anything ordered
    today can arrive. The supplier offers express.
    """
    kit, bottle = TARNBROOK.small
    catheter = chest(
        kit,
        bottle,
        clinical_group=ClinicalGroup.TRAPPED_LUNG,
        regimens=(every(1, starts_on=date(2026, 1, 2), by="Dr Anwen Hale"),),
    )
    spec = home(
        TARNBROOK,
        "hw-2113",
        "Rosalind Achterberg",
        (catheter,),
        fluids=(Fluid(ml_per_day=260, spread=0.3),),
        starts_on=date(2026, 1, 2),
        supplier=replace(slower(TARNBROOK.terms, 8), express_business_days=1),
        habits=Habits(
            opening_days=26, cover_days=32, reorder_days=14, orders_until=date(2026, 2, 1)
        ),
    )
    household = invent(spec, 19)
    cancelled = Order(
        id=f"o{len(household.orders) + 1}",
        placed_at=datetime(2026, 2, 24, 10, 40),
        lines=(OrderLine(item_code=kit.code, boxes=4),),
        status=OrderStatus.CANCELLED,
        confirmed_by="Rosalind Achterberg",
    )
    return replace(household, orders=(*household.orders, cancelled))


def shelf_troubles() -> Household:
    """Loose bottles about to expire, kits past their date, a recalled lot, a count that differed,
    an order on its way, and a limit on kits below the expected use.
    """
    kit, bottle = OLLERBY.small
    catheter = chest(
        kit,
        bottle,
        clinical_group=ClinicalGroup.HEPATIC_HYDROTHORAX,
        regimens=(every(2, starts_on=date(2025, 12, 10), by="Dr Femi Castell"),),
    )
    limit = AuthorizedQuantity(
        item_code=kit.code, units=12, per_days=30, starts_on=date(2025, 12, 10)
    )
    spec = home(
        OLLERBY,
        "hw-2274",
        "Benedikt Amsel",
        (catheter,),
        fluids=(Fluid(ml_per_day=230, spread=0.3),),
        starts_on=date(2025, 12, 10),
        authorized=(limit,),
        habits=Habits(opening_days=96, cover_days=28, reorder_days=8, orders_until=NEVER),
    )
    household = invent(spec, 20)
    receipts = (
        *(entry for entry in household.ledger if isinstance(entry, Receipt)),
        # A lot that is recalled below, short-dated kits and short-dated loose bottles.
        receipt("r3", date(2026, 1, 12), kit.code, 5, "C4471", date(2028, 8, 31)),
        receipt("r4", date(2026, 2, 19), kit.code, 6, "D1180", date(2026, 2, 28)),
        receipt("r5", date(2026, 2, 19), bottle.code, 10, "E2290", date(2026, 3, 20)),
    )
    recall = Recall(id="k1", at=datetime(2026, 2, 20), item_code=kit.code, lot="C4471")
    household = replace(household, ledger=(*receipts, recall))
    counted_on = date(2026, 3, 6)
    counts = tuple(
        Count(id=f"c{n}", at=datetime(2026, 3, 6, 20), item_code=item.code, units=units - missing)
        for n, (item, missing) in enumerate(((kit, 2), (bottle, 0)), 1)
        for units in [_units_on(household, item.code, counted_on)]
    )
    order = Order(
        id="o1",
        placed_at=datetime(2026, 3, 6, 10, 15),
        lines=(OrderLine(item_code=kit.code, boxes=2), OrderLine(item_code=bottle.code, boxes=1)),
        promised_on=date(2026, 3, 10),
        confirmed_by="Ilse Amsel",
    )
    return replace(household, ledger=(*receipts, *counts, recall), orders=(order,))


def shelf_scattered() -> Household:
    """Chest, every other day. Goods went to a clinic, expired ones back to the supplier; some
    lie packed for a journey, and of two wrong deliveries one is still here.
    """
    kit, bottle = QUILLMERE.small
    catheter = chest(
        kit,
        bottle,
        clinical_group=ClinicalGroup.HEART_KIDNEY_PLEURAL,
        regimens=(every(2, starts_on=date(2025, 12, 19), by="Dr Piet Lanning"),),
    )
    spec = home(
        QUILLMERE,
        "hw-2391",
        "Aurelia Novak",
        (catheter,),
        fluids=(Fluid(ml_per_day=210, spread=0.3),),
        starts_on=date(2025, 12, 20),
        habits=Habits(opening_days=52, cover_days=28, reorder_days=18),
    )
    household = invent(spec, 31)
    order = next(one for one in household.orders if one.status is OrderStatus.RECEIVED)
    moves = (
        Transfer(id="t1", at=datetime(2026, 1, 9, 18), item_code=kit.code, units=3, to=Place.BAG),
        Transfer(id="t2", at=datetime(2026, 1, 14, 9), item_code=kit.code, units=3, to=Place.HOME),
        Transfer(id="t3", at=datetime(2026, 2, 28, 17), item_code=kit.code, units=2, to=Place.BAG),
    )
    departures = (
        Departure(
            id="d1",
            at=datetime(2026, 1, 20, 12),
            item_code=kit.code,
            units=4,
            reason=LeavingReason.RETURNED,
            lot="F0098",
        ),
        Departure(
            id="d2",
            at=datetime(2026, 2, 24, 8, 30),
            item_code=kit.code,
            units=1,
            reason=LeavingReason.CLINIC,
        ),
    )
    expired = receipt("r90", date(2026, 1, 16), kit.code, 4, "F0098", date(2026, 1, 16))
    wrong = (
        WrongDelivery(
            id="x1",
            at=datetime(2026, 1, 5),
            what="1000 mL bottle",
            units=5,
            lot="S7710",
        ),
        WrongReturn(id="y1", at=datetime(2026, 1, 12, 12), delivery_id="x1"),
        WrongDelivery(
            id="x2",
            at=datetime.combine(order.received_on or order.placed_at.date(), time(0)),
            what="Dressing packs, large",
            units=10,
            order_id=order.id,
        ),
    )
    goods = (*household.ledger, expired, *moves, *departures, *wrong)
    return replace(household, ledger=in_file_order(_uncounted_from(goods, date(2025, 12, 20))))


def kits_left_over() -> Household:
    """Belly, every other day. 1000 mL kits are ordered; 500 mL kits from an earlier time fit as
    well. One lot of them passes its date soon and goes first, the other comes last.
    """
    small, large = TARNBROOK.small[0], TARNBROOK.large[0]
    catheter = belly(
        large,
        None,
        other_kit_codes=(small.code,),
        clinical_group=ClinicalGroup.MALIGNANT_ASCITES,
        regimens=(every(2, starts_on=date(2026, 1, 4), limit_ml=1500, by="Dr Nell Oyelaran"),),
    )
    spec = home(
        TARNBROOK,
        "hw-2508",
        "Ottoline Varga",
        (catheter,),
        fluids=(Fluid(ml_per_day=330, spread=0.25),),
        starts_on=date(2026, 1, 5),
        habits=Habits(opening_days=26, cover_days=21, reorder_days=12),
    )
    household = invent(spec, 33)
    found_on, counted_on = date(2026, 2, 27), date(2026, 3, 7)
    found = (
        receipt("r90", found_on, small.code, 12, "A0417", date(2026, 4, 30)),
        receipt("r91", found_on, small.code, 8, "H7702", date(2028, 12, 31)),
    )
    goods = (*_uncounted_from(household.ledger, found_on), *found)
    sessions = tuple(
        one if one.drained_on < found_on else replace(one, bottles=_in_bottles(one, small))
        for one in household.sessions
    )
    household = replace(household, sessions=sessions, ledger=in_file_order(goods))
    counts = tuple(
        Count(
            id=f"c{n}",
            at=datetime.combine(counted_on, time(20)),
            item_code=item.code,
            units=_units_on(household, item.code, counted_on),
        )
        for n, item in enumerate((small, large), 90)
    )
    return replace(household, ledger=in_file_order((*goods, *counts)))


def _in_bottles(session: Session, kit: SupplyItem) -> tuple[BottleUse, ...]:
    """The session's volume in as many bottles of this kit as it fills."""
    bottles: list[BottleUse] = []
    left_ml = session.volume_ml
    while left_ml > 0 or not bottles:
        bottles.append(BottleUse(volume_ml=min(left_ml, kit.bottle_ml)))
        left_ml -= kit.bottle_ml
    return tuple(bottles)


def _uncounted_from(ledger: tuple[LedgerEntry, ...], day: date) -> tuple[LedgerEntry, ...]:
    """Without the counts that know nothing of goods put in by hand afterwards."""
    return tuple(e for e in ledger if not isinstance(e, Count) or e.at.date() < day)


def _units_on(household: Household, code: str, day: date) -> int:
    """Units the record says are there, usable or not."""
    return sum(lot.units for lot in shelf_on(household, day).lots if lot.item_code == code)
