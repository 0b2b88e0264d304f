"""Written and read again, a household is the same, whatever it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.household import (
    Catheter,
    ClinicalGroup,
    Household,
    Pause,
    PlanSettings,
    Site,
)
from planner.items import ItemKind, SupplyItem
from planner.ledger import (
    Count,
    Departure,
    DifferenceCause,
    LeavingReason,
    LedgerEntry,
    Place,
    Recall,
    Receipt,
    Reversal,
    Transfer,
    Waste,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.order_life import next_kinds, take_back_last, take_step
from planner.order_steps import LONGEST_WAIT_DAYS, OrderStep
from planner.regimen import Pattern, Regimen
from planner.scenario import ScenarioFile, parse_scenario
from planner.scenario_writer import in_file_order, write_scenario
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.supply import (
    AuthorizedQuantity,
    Closure,
    Contact,
    Order,
    OrderLine,
    OrderStatus,
    StandingDelivery,
    SupplierTerms,
)
from tests.planner.scenario_builders import SMALL

AS_OF = date(2026, 3, 8)
CODES = ("K1", "K2", "B1")

days = st.dates(date(2025, 6, 1), AS_OF)
LONGEST_WAIT = timedelta(days=LONGEST_WAIT_DAYS)
later_days = st.dates(AS_OF, date(2030, 1, 1))
clocks = st.one_of(
    st.sampled_from([time(0), time(12), time(23, 59)]),
    st.times(),
)
moments = st.builds(datetime.combine, days, clocks)
texts = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=12
).filter(lambda text: bool(text.strip()))
maybe_texts = st.one_of(st.just(""), texts)
codes = st.sampled_from(CODES)

ITEMS = (
    SupplyItem(code="K1", name='Kit "one"', kind=ItemKind.KIT, capacity_ml=500, units_per_box=10),
    SupplyItem(code="K2", name="Kit \\ two", kind=ItemKind.KIT, capacity_ml=1000),
    SupplyItem(code="K3", name="Kit, três", kind=ItemKind.KIT, capacity_ml=500),
    SupplyItem(code="K4", name="Kit 'four'", kind=ItemKind.KIT, capacity_ml=700),
    SupplyItem(code="K5", name="Kit # five", kind=ItemKind.KIT, capacity_ml=1000),
    SupplyItem(code="B1", name="Bottle", kind=ItemKind.BOTTLE, capacity_ml=600, units_per_box=5),
    SupplyItem(code="D1", name="Dressing", kind=ItemKind.DRESSING),
)

OTHERS = {"left": ((), ("K3",), ("K4", "K3")), "right": ((), ("K5",))}
"""Kits of other sizes that fit each catheter."""

contacts = st.builds(Contact, name=texts, phone=maybe_texts)
regimens = st.one_of(
    st.builds(
        Regimen,
        starts_on=days,
        pattern=st.just(Pattern.EVERY_N_DAYS),
        every_n_days=st.integers(1, 60),
        session_limit_ml=st.one_of(st.none(), st.integers(50, 6000)),
        ordered_by=maybe_texts,
    ),
    st.builds(
        Regimen,
        starts_on=days,
        pattern=st.just(Pattern.RRULE),
        rrule=st.sampled_from(
            (
                "FREQ=WEEKLY;BYDAY=MO,WE,FR",
                "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU",
                "FREQ=DAILY;INTERVAL=2",
                "FREQ=WEEKLY",
            )
        ),
    ),
    st.builds(Regimen, starts_on=days, pattern=st.just(Pattern.AS_NEEDED)),
)


def catheter(name: str) -> st.SearchStrategy[Catheter]:
    return st.builds(
        Catheter,
        id=st.just(name),
        label=texts,
        site=st.sampled_from(Site),
        regimens=st.lists(
            regimens, min_size=1, max_size=3, unique_by=lambda one: one.starts_on
        ).map(tuple),
        kit_code=st.sampled_from(("K1", "K2")),
        bottle_code=st.sampled_from((None, "B1")),
        other_kit_codes=st.sampled_from(OTHERS[name]),
        clinical_group=st.sampled_from(ClinicalGroup),
        expected_ml_per_day=st.one_of(st.none(), st.integers(1, 5000)),
        removed_on=st.one_of(st.none(), later_days),
    )


bottles = st.builds(
    BottleUse,
    volume_ml=st.integers(0, 500),
    item_code=st.sampled_from((None, *CODES)),
    loss=st.one_of(st.none(), st.sampled_from(LossReason)),
)
units = st.integers(1, 10_000)


@st.composite
def suppliers(draw: st.DrawFn) -> SupplierTerms:
    name = draw(texts)
    start = draw(later_days)
    standing = StandingDelivery(rrule="FREQ=WEEKLY;INTERVAL=2;BYDAY=TU", starts_on=start)
    weekdays = st.lists(st.integers(0, 6), min_size=1, unique=True).map(tuple)
    agreed: dict[str, Any] = draw(
        st.one_of(
            st.just({}),
            st.just({"standing": standing}),
            weekdays.map(lambda days: {"delivery_weekdays": days}),
        )
    )
    lead = draw(st.integers(0, 60))
    express = st.one_of(st.none(), st.integers(0, min(lead, 10)))
    return SupplierTerms(
        name=name,
        lead_business_days=lead,
        express_business_days=draw(express),
        cut_off=draw(st.times()),
        time_zone=draw(st.sampled_from([None, "Asia/Tokyo"])),
        **agreed,
        holiday_country=draw(st.sampled_from((None, "GB", "US"))),
        closures=draw(
            st.lists(
                st.builds(
                    Closure,
                    starts_on=st.just(start),
                    ends_on=st.just(start + timedelta(days=3)),
                    reason=maybe_texts,
                ),
                max_size=2,
            ).map(tuple)
        ),
        minimum_boxes=draw(st.integers(0, 100)),
        contact=draw(st.one_of(st.none(), contacts, st.just(Contact(name=name, phone="5")))),
    )


keys = st.just("numbered later")
named = {"id": keys, "at": moments, "item_code": codes, "units": units}
causes = st.one_of(st.none(), st.sampled_from(DifferenceCause))
entries_by_themselves: st.SearchStrategy[LedgerEntry] = st.one_of(
    st.builds(Receipt, **named, lot=maybe_texts, expires_on=st.one_of(st.none(), later_days)),
    st.builds(Waste, **named, reason=texts, lot=maybe_texts),
    st.builds(Count, **(named | {"units": st.integers(0, 10_000)}), cause=causes),
    st.builds(Departure, **named, reason=st.sampled_from(LeavingReason), lot=maybe_texts),
    st.builds(Transfer, **named, to=st.sampled_from(Place), lot=maybe_texts),
    st.builds(Recall, id=keys, at=moments, item_code=codes, lot=texts),
    st.builds(WrongDelivery, id=keys, at=moments, what=texts, units=units, lot=maybe_texts),
)
references = st.one_of(
    st.builds(Reversal, id=keys, at=moments, reverses_id=st.just("x0")),
    st.builds(
        WrongReturn,
        id=keys,
        at=moments,
        delivery_id=st.just("x0"),
        units=st.one_of(st.none(), units),
    ),
    st.builds(
        WrongKept,
        **named,
        delivery_id=st.just("x0"),
        lot=maybe_texts,
        expires_on=st.one_of(st.none(), later_days),
    ),
)


@st.composite
def ledgers(draw: st.DrawFn) -> tuple[LedgerEntry, ...]:
    first = draw(st.lists(entries_by_themselves, max_size=6))
    after = draw(st.lists(references, max_size=2)) if first else []
    if not isinstance(next(iter(first), None), WrongDelivery):
        after = [one for one in after if isinstance(one, Reversal)]
    return tuple(replace(one, id=f"x{n}") for n, one in enumerate((*first, *after)))


@st.composite
def followed_orders(draw: st.DrawFn, key: str, at: datetime) -> Order:
    """An order with a history: some steps in turn, the last one perhaps taken back."""
    line = OrderLine(item_code="K1", boxes=draw(st.integers(1, 9)))
    first = OrderStep(
        kind=OrderStatus.CONFIRMED, at=at, by=draw(maybe_texts), note=draw(maybe_texts)
    )
    order = Order(id=key, placed_at=at, lines=(line,), status=OrderStatus.CONFIRMED, steps=(first,))
    for _ in range(draw(st.integers(0, 4))):
        kinds = [kind for kind in next_kinds(order, ()) if kind is not OrderStatus.RECEIVED]
        if not kinds:
            break
        kind = draw(st.sampled_from(kinds))
        delivery = "v1" if kind is OrderStatus.RECEIVED_IN_PART else ""
        order = take_step(
            order, OrderStep(kind=kind, at=at, by=draw(maybe_texts), delivery=delivery)
        )
    if len(order.steps) > 1 and draw(st.booleans()):
        order = take_back_last(order, (), at=at, by=draw(maybe_texts))
    return order


@st.composite
def orders(draw: st.DrawFn) -> tuple[Order, ...]:
    made = []
    for n in range(draw(st.integers(0, 3))):
        placed_at = draw(moments)
        status = draw(st.sampled_from(OrderStatus))
        received = draw(st.dates(placed_at.date(), AS_OF))
        if draw(st.booleans()):
            made.append(draw(followed_orders(f"o{n}", placed_at)))
            continue
        made.append(
            Order(
                id=f"o{n}",
                placed_at=placed_at,
                lines=draw(
                    st.lists(
                        st.builds(OrderLine, item_code=codes, boxes=st.integers(1, 200)),
                        min_size=1,
                        max_size=3,
                    ).map(tuple)
                ),
                status=status,
                promised_on=draw(
                    st.one_of(st.none(), st.dates(AS_OF, placed_at.date() + LONGEST_WAIT))
                ),
                received_on=received if status is OrderStatus.RECEIVED else None,
                confirmed_by=draw(maybe_texts),
                is_express=draw(st.booleans()),
            )
        )
    return tuple(made)


@st.composite
def households(draw: st.DrawFn) -> Household:
    names = draw(st.sampled_from((("left",), ("left", "right"))))
    sessions = tuple(
        Session(
            id=f"s{n}",
            catheter_id=draw(st.sampled_from(names)),
            started_at=draw(moments),
            bottles=draw(st.lists(bottles, min_size=1, max_size=3).map(tuple)),
            stop_reason=draw(st.sampled_from(StopReason)),
        )
        for n in range(draw(st.integers(0, 4)))
    )
    start = draw(days)
    return Household(
        id=draw(texts),
        name=draw(texts),
        time_zone=draw(st.sampled_from(("Europe/London", "America/Chicago", "UTC"))),
        items=ITEMS,
        catheters=tuple(draw(catheter(name)) for name in names),
        supplier=draw(suppliers()),
        sessions=sessions,
        ledger=draw(ledgers()),
        orders=draw(orders()),
        pauses=draw(
            st.lists(
                st.builds(
                    Pause,
                    starts_on=st.just(start),
                    ends_on=st.sampled_from((None, start, start + timedelta(days=9))),
                    reason=maybe_texts,
                    catheter_id=st.sampled_from((None, "left")),
                ),
                max_size=2,
            ).map(tuple)
        ),
        authorized=draw(
            st.lists(
                st.builds(
                    AuthorizedQuantity,
                    item_code=codes,
                    units=units,
                    per_days=st.integers(1, 366),
                    starts_on=days,
                ),
                max_size=2,
            ).map(tuple)
        ),
        care_team=draw(st.one_of(st.none(), contacts)),
        settings=PlanSettings(
            protection=draw(st.floats(0.5, 1.0, exclude_max=True)),
            cover_days=draw(st.integers(7, 92)),
            horizon_days=draw(st.integers(14, 180)),
            refill_rule=draw(st.sampled_from((None, "us-medicare"))),
        ),
    )


def grouped(household: Household) -> Household:
    return replace(household, ledger=in_file_order(household.ledger))


@settings(max_examples=40, deadline=None)
@given(households(), maybe_texts)
def test_one_household_comes_back_exactly(household: Household, description: str) -> None:
    file = ScenarioFile(as_of=AS_OF, households=(grouped(household),), description=description)
    assert parse_scenario(write_scenario(file)) == file


@settings(max_examples=8, deadline=None)
@given(st.lists(households(), min_size=2, max_size=3, unique_by=lambda one: one.id))
def test_many_households_come_back_exactly(several: list[Household]) -> None:
    file = ScenarioFile(as_of=AS_OF, households=tuple(grouped(one) for one in several))
    assert parse_scenario(write_scenario(file)) == file


def test_what_all_households_share_is_written_once() -> None:
    (home,) = parse_scenario(SMALL).households
    twins = (home, replace(home, id="hw-2"))
    text = write_scenario(ScenarioFile(as_of=AS_OF, households=twins))
    assert text.count("supplier.name") == text.count("items = [") == 1
    assert text.count("sessions = [") == 2


def test_entries_of_one_kind_keep_their_order() -> None:
    at = datetime(2026, 3, 1)
    count = Count(id="c", at=at, item_code="K1", units=1)
    first = Receipt(id="b", at=at, item_code="K1", units=1)
    second = Receipt(id="a", at=at, item_code="K1", units=1)
    assert in_file_order((count, first, second)) == (first, second, count)


def test_names_with_quotes_and_signs_survive() -> None:
    (home,) = parse_scenario(SMALL).households
    name = 'Zoë "Zip" O\'Neill \\ 山田 #1'
    file = ScenarioFile(as_of=AS_OF, households=(replace(home, name=name),))
    assert parse_scenario(write_scenario(file)).households[0].name == name
