"""A household's whole record: what the planner is told and all it is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from planner.dates import DateRange, require_time_zone
from planner.errors import Fault, InvalidHousehold, InvalidValue, require_int, require_text
from planner.fitting_kits import (
    OTHER_KITS,
    bottle_faults,
    in_order_of_use,
    other_kit_faults,
    require_others,
)
from planner.items import ItemKind, SupplyItem
from planner.ledger import (
    ItemEntry,
    LedgerEntry,
    Receipt,
    Reversal,
    StandingEntry,
    WrongDelivery,
    WrongKept,
    WrongReturn,
)
from planner.regimen import Regimen
from planner.sessions import Session
from planner.supply import AuthorizedQuantity, Contact, Order, SupplierTerms

MOST_BOTTLES_PER_SESSION = 12


class Site(StrEnum):
    """Where the catheter lies."""

    CHEST = "chest"
    ABDOMEN = "abdomen"


class ClinicalGroup(StrEnum):
    """Which published group the starting expectation of volume is taken from."""

    MALIGNANT_PLEURAL = "malignant-pleural"
    TRAPPED_LUNG = "trapped-lung"
    HEART_KIDNEY_PLEURAL = "heart-kidney-pleural"
    HEPATIC_HYDROTHORAX = "hepatic-hydrothorax"
    MALIGNANT_ASCITES = "malignant-ascites"
    CIRRHOTIC_ASCITES = "cirrhotic-ascites"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Catheter:
    """One indwelling drainage catheter and what is prescribed for it.

    Attributes:
        label: how the household tells it from another one, e.g. "left".
        regimens: every version, past and future.
        kit_code: the kit that is ordered, and that each session opens while no other is there.
        other_kit_codes: kits of other sizes that fit as well; used, never ordered.
        bottle_code: the loose bottle opened when one is full; None when a further kit is.
        expected_ml_per_day: the prescriber's expectation, if entered. [mL/day]
        removed_on: first day without the catheter.
    """

    id: str
    label: str
    site: Site
    regimens: tuple[Regimen, ...]
    kit_code: str
    bottle_code: str | None = None
    clinical_group: ClinicalGroup = ClinicalGroup.UNKNOWN
    expected_ml_per_day: int | None = None
    removed_on: date | None = None
    other_kit_codes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("label", self.label, at_most=40)
        require_others(self.kit_code, self.other_kit_codes)
        if not self.regimens:
            raise InvalidValue("regimens", None, "give the prescribed drain frequency")
        expected = self.expected_ml_per_day
        if expected is not None:
            require_int("expected_ml_per_day", expected, at_least=1, at_most=5000, unit="mL")

    @property
    def kits_that_fit(self) -> tuple[str, ...]:
        """All its kits, as they go where dates do not decide: others first, the ordered last."""
        return in_order_of_use(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """Days away from home supplies, such as a hospital stay.

    Attributes:
        starts_on: first day away.
        ends_on: first day at home again; None while that is not known.
        catheter_id: the one catheter it concerns; None for all.
    """

    starts_on: date
    ends_on: date | None = None
    reason: str = ""
    catheter_id: str | None = None

    def __post_init__(self) -> None:
        DateRange(self.starts_on, self.ends_on)

    @property
    def days(self) -> DateRange:
        """The days away."""
        return DateRange(self.starts_on, self.ends_on)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSettings:
    """Choices of the household or agency that steer a plan.

    Attributes:
        protection: wanted chance of not running short before each delivery. [fraction]
        cover_days: how long one usual order should last. [days]
        horizon_days: how far the forecast looks. [days]
        refill_rule: name of a dated refill rule, None when no payer's rule applies.
        most_units_at_home: kits and loose bottles that there is room for, None when no matter.
        prescription_ends_on: last day on which the prescription on file allows an order, None
            when it has no end.
    """

    protection: float = 0.99
    cover_days: int = 28
    horizon_days: int = 120
    refill_rule: str | None = None
    most_units_at_home: int | None = None
    prescription_ends_on: date | None = None

    def __post_init__(self) -> None:
        if not 0.5 <= self.protection < 1.0:
            raise InvalidValue("protection", self.protection, "give 0.5 to 0.999, for example 0.99")
        require_int("cover_days", self.cover_days, at_least=7, at_most=92, unit="days")
        require_int("horizon_days", self.horizon_days, at_least=14, at_most=180, unit="days")
        if self.most_units_at_home is not None:
            require_int(
                "most_units_at_home",
                self.most_units_at_home,
                at_least=1,
                at_most=5000,
                unit="units",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Household:
    """Everything the planner knows of one household.

    Attributes:
        id: opaque key, safe in logs and addresses.
        name: label for people.
        time_zone: IANA name; all days and times of the record are its wall clock.
    """

    id: str
    name: str
    time_zone: str
    items: tuple[SupplyItem, ...]
    catheters: tuple[Catheter, ...]
    supplier: SupplierTerms
    sessions: tuple[Session, ...] = ()
    ledger: tuple[LedgerEntry, ...] = ()
    orders: tuple[Order, ...] = ()
    pauses: tuple[Pause, ...] = ()
    authorized: tuple[AuthorizedQuantity, ...] = ()
    care_team: Contact | None = None
    settings: PlanSettings = PlanSettings()

    def __post_init__(self) -> None:
        require_text("id", self.id, at_most=64)
        require_text("name", self.name)
        require_time_zone("time_zone", self.time_zone)
        faults = tuple(_crossing_faults(self))
        if faults:
            raise InvalidHousehold(faults)

    def item(self, code: str) -> SupplyItem:
        """The catalogue line with this code.

        Raises:
            InvalidValue: when the household's catalogue has no such item.
        """
        for item in self.items:
            if item.code == code:
                return item
        raise InvalidValue("item", code, "no such item; add it to items or correct the code")

    def catheter(self, catheter_id: str) -> Catheter:
        """The catheter with this id.

        Raises:
            InvalidValue: when the household has no such catheter.
        """
        for catheter in self.catheters:
            if catheter.id == catheter_id:
                return catheter
        raise InvalidValue("catheter", catheter_id, "no such catheter; correct the id")

    def pauses_of(self, catheter_id: str) -> tuple[DateRange, ...]:
        """Days on which this catheter uses nothing from the home shelf."""
        return tuple(p.days for p in self.pauses if p.catheter_id in (None, catheter_id))

    @property
    def taken_back_ids(self) -> frozenset[str]:
        """Ids of the sessions and entries that a reversal took back."""
        return frozenset(e.reverses_id for e in self.ledger if isinstance(e, Reversal))

    @property
    def valid_entries(self) -> tuple[StandingEntry, ...]:
        """Entries of the ledger that no reversal took back, reversals left out."""
        gone = self.taken_back_ids
        return tuple(e for e in self.ledger if not isinstance(e, Reversal) and e.id not in gone)

    @property
    def valid_sessions(self) -> tuple[Session, ...]:
        """Sessions that no reversal took back, in order of time."""
        gone = self.taken_back_ids
        kept = (s for s in self.sessions if s.id not in gone)
        return tuple(sorted(kept, key=lambda s: (s.started_at, s.id)))


def refuse_future(household: Household, as_of: date) -> None:
    """Refuse a record that claims to know what happens after the day of the plan.

    Raises:
        InvalidHousehold: when sessions, ledger entries or orders lie after `as_of`.
    """
    faults = tuple(_future_faults(household, as_of))
    if faults:
        raise InvalidHousehold(faults)


def _future_faults(household: Household, as_of: date) -> Iterator[Fault]:
    fix = f"it lies after the day of the plan, {as_of}; correct it or plan for a later day"
    for place, field, day in _dated(household):
        if day > as_of:
            yield Fault(field=field, value=str(day), fix=fix, place=place)


def _dated(household: Household) -> Iterator[tuple[str, str, date]]:
    for n, session in enumerate(household.sessions, 1):
        yield f"sessions[{n}]", "at", session.drained_on
    for n, entry in enumerate(household.ledger, 1):
        yield f"ledger[{n}] ({type(entry).__name__.lower()})", "at", entry.at.date()
    for n, order in enumerate(household.orders, 1):
        yield f"orders[{n}]", "placed_at", order.placed_at.date()
        if order.received_on is not None:
            yield f"orders[{n}]", "received_on", order.received_on


def _crossing_faults(household: Household) -> Iterator[Fault]:
    """Faults that only show when two parts of the record are held side by side."""
    codes = {item.code for item in household.items}
    kinds = {item.code: item.kind for item in household.items}
    if not household.catheters:
        yield Fault(field="catheters", value="empty", fix="describe at least one catheter")
    yield from _repeated(household)
    for place, code in _item_mentions(household):
        if code not in codes:
            known = ", ".join(sorted(codes)) or "none"
            yield Fault(
                field="item",
                value=code,
                fix=f"no such item; correct the code or add it (known: {known})",
                place=place,
            )
    for n, catheter in enumerate(household.catheters, 1):
        place = f"catheters[{n}]"
        if kinds.get(catheter.kit_code, ItemKind.KIT) is not ItemKind.KIT:
            yield Fault(field="kit", value=catheter.kit_code, fix="name a kit", place=place)
        bottle = catheter.bottle_code
        if bottle is not None and kinds.get(bottle, ItemKind.BOTTLE) is not ItemKind.BOTTLE:
            yield Fault(field="bottle", value=bottle, fix="name a loose bottle", place=place)
        yield from _regimen_faults(household, catheter, place)
    yield from other_kit_faults(household.catheters, kinds)
    yield from _pause_faults(household)
    yield from _session_faults(household)


def _regimen_faults(household: Household, catheter: Catheter, place: str) -> Iterator[Fault]:
    starts = Counter(regimen.starts_on for regimen in catheter.regimens)
    for starts_on, times in starts.items():
        if times > 1:
            fix = f"{times} regimens start on this day; keep one"
            yield Fault(field="starts_on", value=str(starts_on), fix=fix, place=f"{place}.regimens")
    sizes = [
        item.capacity_ml
        for item in household.items
        if item.code in (*catheter.kits_that_fit, catheter.bottle_code) and item.capacity_ml
    ]
    for n, regimen in enumerate(catheter.regimens, 1):
        limit_ml = regimen.session_limit_ml
        if sizes and limit_ml and limit_ml > MOST_BOTTLES_PER_SESSION * min(sizes):
            fix = (
                f"that takes more than {MOST_BOTTLES_PER_SESSION} bottles of {min(sizes)} mL; "
                "check the limit and the capacity"
            )
            spot = f"{place}.regimens[{n}]"
            yield Fault(field="session_limit_ml", value=str(limit_ml), fix=fix, place=spot)


def _pause_faults(household: Household) -> Iterator[Fault]:
    known = {catheter.id for catheter in household.catheters}
    for n, pause in enumerate(household.pauses, 1):
        if pause.catheter_id is not None and pause.catheter_id not in known:
            fix = "no such catheter; correct the id"
            place = f"pauses[{n}]"
            yield Fault(field="catheter", value=pause.catheter_id, fix=fix, place=place)


def _session_faults(household: Household) -> Iterator[Fault]:
    catheters = {catheter.id: catheter for catheter in household.catheters}
    items = {item.code: item for item in household.items}
    for n, session in enumerate(household.sessions, 1):
        place = f"sessions[{n}]"
        catheter = catheters.get(session.catheter_id)
        if catheter is None:
            known = ", ".join(sorted(catheters))
            fix = f"no such catheter; correct the id (known: {known})"
            yield Fault(field="catheter", value=session.catheter_id, fix=fix, place=place)
            continue
        for m, bottle in enumerate(session.bottles, 1):
            spot = f"{place}.bottles[{m}]"
            yield from bottle_faults(bottle, catheter, items, spot, is_first=m == 1)


def _item_mentions(household: Household) -> Iterator[tuple[str, str]]:
    for n, catheter in enumerate(household.catheters, 1):
        yield f"catheters[{n}].kit", catheter.kit_code
        if catheter.bottle_code is not None:
            yield f"catheters[{n}].bottle", catheter.bottle_code
        for code in catheter.other_kit_codes:
            yield f"catheters[{n}].{OTHER_KITS}", code
    yield from _used_items(household)
    for n, order in enumerate(household.orders, 1):
        for m, line in enumerate(order.lines, 1):
            yield f"orders[{n}].lines[{m}]", line.item_code
    for n, limit in enumerate(household.authorized, 1):
        yield f"authorized[{n}]", limit.item_code


def _used_items(household: Household) -> Iterator[tuple[str, str]]:
    for n, session in enumerate(household.sessions, 1):
        for m, bottle in enumerate(session.bottles, 1):
            if bottle.item_code is not None:
                yield f"sessions[{n}].bottles[{m}]", bottle.item_code
    for n, entry in enumerate(household.ledger, 1):
        if isinstance(entry, ItemEntry):
            yield f"ledger[{n}] ({type(entry).__name__.lower()})", entry.item_code


def _repeated(household: Household) -> Iterator[Fault]:
    groups: tuple[tuple[str, str, Iterable[str]], ...] = (
        ("items", "code", (item.code for item in household.items)),
        ("catheters", "id", (catheter.id for catheter in household.catheters)),
        (
            "sessions and ledger",
            "id",
            (entry.id for entry in (*household.sessions, *household.ledger)),
        ),
        ("orders", "id", (order.id for order in household.orders)),
    )
    for place, field, keys in groups:
        for key, times in Counter(keys).items():
            if times > 1:
                fix = f"it stands there {times} times; each must be different"
                yield Fault(field=field, value=key, fix=fix, place=place)
    yield from _dangling(household)


def _dangling(household: Household) -> Iterator[Fault]:
    """Entries that refer to something that is not there."""
    order_ids = {order.id for order in household.orders}
    entry_ids = {entry.id for entry in (*household.sessions, *household.ledger)}
    wrong_ids = {entry.id for entry in household.ledger if isinstance(entry, WrongDelivery)}
    for n, entry in enumerate(household.ledger, 1):
        place = f"ledger[{n}] ({type(entry).__name__.lower()})"
        ordered = entry.order_id if isinstance(entry, Receipt | WrongDelivery) else None
        if ordered and ordered not in order_ids:
            fix = "no such order; correct it or leave it out"
            yield Fault(field="order", value=ordered, fix=fix, place=place)
        if isinstance(entry, Reversal) and entry.reverses_id not in entry_ids:
            fix = "no such session or entry; correct the id"
            yield Fault(field="reverses", value=entry.reverses_id, fix=fix, place=place)
        if isinstance(entry, WrongReturn | WrongKept) and entry.delivery_id not in wrong_ids:
            fix = "no such wrong delivery; correct the id"
            yield Fault(field="delivery", value=entry.delivery_id, fix=fix, place=place)
