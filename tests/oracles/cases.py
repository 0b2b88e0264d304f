"""Households whose run-out is worked out twice: by the engine and path by path."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any

from planner.consumption import learn_loss_chance
from planner.dates import days_between, end_of_day
from planner.household import Catheter, Household, Pause, Site
from planner.learning import learn_rate
from planner.plan import make_plan
from planner.sessions import StopReason
from planner.timing import session_timing
from planner.volume import session_limit_ml
from tests.builders import (
    BOTTLE,
    KIT,
    TODAY,
    as_needed,
    by_rule,
    counted,
    day,
    every,
    make_bottle,
    make_catheter,
    make_household,
    make_kit,
    make_order,
    make_session,
    moment,
    on_weekdays,
    receipt,
    sessions_every,
)
from tests.oracles.simulate import Delivery, Drain, Floats, Inputs, Lot, simulate

OTHER_KIT = "KIT-S"
"""A kit of another size than the one that is ordered."""

ON_TIME_TO_FIVE_LATE = (0.80, 0.12, 0.04, 0.02, 0.015, 0.005)
"""The starting expectation of lateness in business days, written out once more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One household, and its shelf as the simulation sees it.

    Attributes:
        deliveries: what is on its way, by the day on which it can be used first.
    """

    household: Household
    kits: tuple[Lot, ...]
    bottles: tuple[Lot, ...] = ()
    deliveries: tuple[Delivery, ...] = ()

    def by_engine(self) -> tuple[float, ...]:
        """Chance of having run out by the end of each day, goods on their way included."""
        by_day = make_plan(self.household, TODAY).run_out_with_coming.chance_by_day
        return by_day[: self.household.settings.horizon_days]

    def inputs(self) -> Inputs:
        """What the simulation is given."""
        return Inputs(
            drains=tuple(self._drain(one) for one in self.household.catheters),
            kits=self.kits,
            bottles=self.bottles,
            deliveries=self.deliveries,
        )

    def _drain(self, catheter: Catheter) -> Drain:
        home = self.household
        knowledge = learn_rate(home, catheter, end_of_day(TODAY))
        kit = home.item(catheter.kit_code)
        further = home.item(catheter.bottle_code) if catheter.bottle_code else kit
        own = [one for one in home.valid_sessions if one.catheter_id == catheter.id]
        return Drain(
            knowledge=knowledge,
            timing=session_timing(home, catheter, TODAY, home.settings.horizon_days),
            loss_chance=learn_loss_chance(own),
            lag_days=max(days_between(knowledge.known_at, end_of_day(TODAY)) - 0.5, 0.0),
            first_ml=kit.bottle_ml,
            further_ml=further.bottle_ml,
            limit_ml=session_limit_ml(catheter, TODAY),
            has_loose=catheter.bottle_code is not None,
        )

    def simulate(self, paths: int, seed: int, *, keeps_spread: bool = False) -> Floats:
        """The same chances, path by path."""
        return simulate(self.inputs(), paths=paths, seed=seed, keeps_spread=keeps_spread)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shelf:
    kits: tuple[Lot, ...]
    bottles: tuple[Lot, ...] = ()
    deliveries: tuple[Delivery, ...] = field(default=())


def _case(shelf: _Shelf, horizon_days: int = 50, **changes: object) -> Case:
    at = moment(0, hour=23)
    ledger = [
        counted(0, item, at=at - timedelta(minutes=1), id=f"none-{item}") for item in (KIT, BOTTLE)
    ]
    goods = [
        receipt(
            lot.units,
            item if lot.ml is None else OTHER_KIT,
            id=f"{item}-{n}",
            at=at,
            expires_on=None if lot.last_day is None else day(lot.last_day),
        )
        for item, lots in ((KIT, shelf.kits), (BOTTLE, shelf.bottles))
        for n, lot in enumerate(lots)
    ]
    whole = {
        "ledger": (*ledger, *goods),
        "settings": {"horizon_days": horizon_days, "cover_days": 7},
    } | changes
    return Case(
        household=make_household(**whole),
        kits=shelf.kits,
        bottles=shelf.bottles,
        deliveries=shelf.deliveries,
    )


def _ready(first: int, *, weekdays_late: tuple[int, ...]) -> dict[int, float]:
    """Chance of being ready by day: the morning after each possible arrival."""
    ready: dict[int, float] = {}
    for late, chance in zip(weekdays_late, ON_TIME_TO_FIVE_LATE, strict=True):
        ready[first + late + 1] = ready.get(first + late + 1, 0.0) + chance
    return ready


_SIZES: dict[str, Any] = {
    "items": (
        make_kit(capacity_ml=1000),
        make_kit(code=OTHER_KIT, capacity_ml=500),
        make_bottle(capacity_ml=500),
    ),
    "sessions": sessions_every(2, 10, 430, 600, 380, 470),
}
_LOOSE = {"bottle_code": BOTTLE}
_LARGE = {
    "site": Site.ABDOMEN,
    "regimens": (every(3, session_limit_ml=2000),),
    "bottle_code": BOTTLE,
}

CASES: dict[str, Case] = {
    "kits only": _case(_Shelf(kits=(Lot(units=12),))),
    "kits only, volumes near one bottle": _case(
        _Shelf(kits=(Lot(units=14),)),
        sessions=sessions_every(2, 10, 430, 500, 380, 470),
    ),
    "kits and loose bottles": _case(
        _Shelf(kits=(Lot(units=14),), bottles=(Lot(units=5),)),
        catheter=_LOOSE,
        sessions=sessions_every(2, 10, 430, 500, 380, 470),
    ),
    "kits that expire": _case(
        _Shelf(kits=(Lot(units=6, last_day=8), Lot(units=7, last_day=20), Lot(units=3))),
    ),
    "loose bottles that expire": _case(
        _Shelf(kits=(Lot(units=12),), bottles=(Lot(units=4, last_day=10), Lot(units=2))),
        catheter=_LOOSE,
        sessions=sessions_every(2, 10, 430, 500, 380, 470),
    ),
    # Promised on Monday 16 March, day 5; ready the day after.
    "goods in transit": _case(
        _Shelf(
            kits=(Lot(units=4),),
            bottles=(Lot(units=2),),
            deliveries=(
                Delivery(kits=10, bottles=5, ready=_ready(5, weekdays_late=(0, 1, 2, 3, 4, 7))),
            ),
        ),
        catheter=_LOOSE,
        orders=(make_order([(KIT, 1), (BOTTLE, 1)], promised_on=day(5)),),
    ),
    # Either of them may come first.
    "two orders in transit": _case(
        _Shelf(
            kits=(Lot(units=4),),
            deliveries=(
                Delivery(kits=10, ready=_ready(5, weekdays_late=(0, 1, 2, 3, 4, 7))),
                Delivery(kits=20, ready=_ready(6, weekdays_late=(0, 1, 2, 3, 6, 7))),
            ),
        ),
        horizon_days=75,
        orders=(make_order(1, promised_on=day(5)), make_order(2, id="o2", promised_on=day(6))),
    ),
    "fixed weekdays": _case(
        _Shelf(kits=(Lot(units=13),)),
        catheter={"regimens": (on_weekdays("MO", "WE", "FR"),)},
        sessions=tuple(
            session
            for session in sessions_every(1, 60, 330, 420, 290)
            if session.drained_on.weekday() in (0, 2, 4)
        ),
    ),
    "as needed": _case(
        _Shelf(kits=(Lot(units=4),), bottles=(Lot(units=3),)),
        horizon_days=45,
        catheter={"regimens": (as_needed(),), "bottle_code": BOTTLE},
        sessions=sessions_every(9, 6, 400, 500, 450, last=-4),
    ),
    # Fluid of many days is held when a session comes at last; no limit hides it.
    "as needed, weeks apart": _case(
        _Shelf(kits=(Lot(units=8),)),
        horizon_days=90,
        catheter={"regimens": (as_needed(starts_on=day(-200), session_limit_ml=2000),)},
        sessions=tuple(
            make_session(moment(-9 - 18 * n), 500, 300 if n % 2 else 100) for n in range(8)
        ),
    ),
    # A missed day of a calendar with long gaps: twice as much fluid the next time.
    "every other week": _case(
        _Shelf(kits=(Lot(units=7),)),
        horizon_days=90,
        catheter={
            "regimens": (
                by_rule(
                    "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", starts_on=day(-204), session_limit_ml=2000
                ),
            )
        },
        sessions=tuple(
            make_session(moment(-15 - 14 * n), 500, 400 if n % 2 else 150)
            for n in range(8)
            if n != 3
        ),
    ),
    "abdomen at its limit, with carry-over": _case(
        _Shelf(kits=(Lot(units=12),), bottles=(Lot(units=6),)),
        horizon_days=40,
        catheter=_LARGE,
        items=(make_kit(capacity_ml=1000), make_bottle(capacity_ml=1000)),
        sessions=tuple(
            make_session(moment(-1 - 3 * n), 1000, 1000, stop=StopReason.LIMIT_REACHED)
            if n % 3
            else make_session(moment(-1 - 3 * n), 1000, 700)
            for n in range(9)
        ),
    ),
    "days away ahead": _case(
        _Shelf(kits=(Lot(units=10),)),
        pauses=(Pause(starts_on=day(6), ends_on=day(13)),),
    ),
    "another regimen ahead": _case(
        _Shelf(kits=(Lot(units=16),)),
        catheter={"regimens": (every(2), every(1, starts_on=day(9)))},
    ),
    "drained today": _case(
        _Shelf(kits=(Lot(units=8),)),
        sessions=sessions_every(2, 10, 300, 340, last=0),
    ),
    "no record yet": _case(
        _Shelf(kits=(Lot(units=12),)),
        horizon_days=35,
        sessions=(),
    ),
    "kits of two sizes": _case(
        _Shelf(kits=(Lot(units=9, last_day=26, ml=500), Lot(units=9))),
        catheter={"other_kit_codes": (OTHER_KIT,)},
        **_SIZES,
    ),
    "kits of two sizes and loose bottles": _case(
        _Shelf(kits=(Lot(units=6), Lot(units=8, last_day=30, ml=500)), bottles=(Lot(units=3),)),
        catheter={"other_kit_codes": (OTHER_KIT,), "bottle_code": BOTTLE},
        **_SIZES,
    ),
    "stopped at the limit every time": _case(
        _Shelf(kits=(Lot(units=16),)),
        horizon_days=35,
        sessions=sessions_every(2, 6, 500, stop=StopReason.PAIN),
    ),
}

_RIGHT = make_catheter()
_LEFT = make_catheter(id="left", label="left", regimens=(every(3),))
_BELLY = make_catheter(
    id="belly", label="belly", site=Site.ABDOMEN, regimens=(on_weekdays("MO", "TH"),)
)
_OF_EACH = (
    *sessions_every(2, 10, 430, 500, 380, 470),
    *(
        make_session(moment(-2 - 3 * n), 500, 60, catheter_id="left", id=f"left-{n}")
        for n in range(6)
    ),
    *(
        make_session(moment(ago), 500, 400, 90, catheter_id="belly", id=f"belly-{ago}")
        for ago in range(-28, 0)
        if day(ago).weekday() in (0, 3)
    ),
)


def _shared(
    shelf: _Shelf, *catheters: Catheter, has_loose: bool = False, **changes: object
) -> Case:
    """Several catheters that open the same kit, the second bottle being a loose one or none."""
    ids = [one.id for one in catheters]
    whole = {
        "catheters": tuple(
            replace(one, bottle_code=BOTTLE if has_loose else None) for one in catheters
        ),
        "sessions": tuple(one for one in _OF_EACH if one.catheter_id in ids),
    } | changes
    return _case(shelf, 40, **whole)


def _coming(kits: int, bottles: int = 0) -> tuple[Delivery, ...]:
    late = _ready(5, weekdays_late=(0, 1, 2, 3, 4, 7))
    return (Delivery(kits=kits, bottles=bottles, ready=late),)


def _orders(*lines: tuple[str, int]) -> dict[str, Any]:
    return {"orders": (make_order(list(lines), promised_on=day(5)),)}


_TWO = (_RIGHT, _LEFT)

SHARED_CASES: dict[str, Case] = {
    "two catheters": _shared(_Shelf(kits=(Lot(units=24),)), *_TWO),
    "two catheters and loose bottles": _shared(
        _Shelf(kits=(Lot(units=18),), bottles=(Lot(units=8),)), *_TWO, has_loose=True
    ),
    "three catheters and loose bottles": _shared(
        _Shelf(kits=(Lot(units=22),), bottles=(Lot(units=20),)), *_TWO, _BELLY, has_loose=True
    ),
    "two catheters, kits that expire": _shared(
        _Shelf(kits=(Lot(units=14, last_day=9), Lot(units=9))), *_TWO
    ),
    "two catheters, goods in transit": _shared(
        _Shelf(kits=(Lot(units=7),), deliveries=_coming(10)), *_TWO, **_orders((KIT, 1))
    ),
    "two catheters, loose bottles, kits that expire": _shared(
        _Shelf(kits=(Lot(units=7, last_day=7), Lot(units=10)), bottles=(Lot(units=8),)),
        *_TWO,
        has_loose=True,
    ),
    "two catheters, loose bottles that expire": _shared(
        _Shelf(kits=(Lot(units=16),), bottles=(Lot(units=6, last_day=8), Lot(units=4))),
        *_TWO,
        has_loose=True,
    ),
}
"""Several catheters on one shelf, where the engine is exact."""

BOUNDED_CASES: dict[str, Case] = {
    "two catheters, two lots that expire": _shared(
        _Shelf(kits=(Lot(units=9, last_day=6), Lot(units=9, last_day=14), Lot(units=9))), *_TWO
    ),
    "two catheters, loose bottles in transit": _shared(
        _Shelf(kits=(Lot(units=8),), bottles=(Lot(units=2),), deliveries=_coming(10, 5)),
        *_TWO,
        has_loose=True,
        **_orders((KIT, 1), (BOTTLE, 1)),
    ),
    "two catheters, kits that expire and goods in transit": _shared(
        _Shelf(kits=(Lot(units=8, last_day=7), Lot(units=3)), deliveries=_coming(10)),
        *_TWO,
        **_orders((KIT, 1)),
    ),
    "two catheters, all together": _shared(
        _Shelf(
            kits=(Lot(units=6, last_day=7), Lot(units=5)),
            bottles=(Lot(units=4, last_day=6), Lot(units=3)),
            deliveries=_coming(10, 5),
        ),
        *_TWO,
        has_loose=True,
        **_orders((KIT, 1), (BOTTLE, 1)),
    ),
}
"""Several catheters on one shelf, where the engine gives an upper bound."""
