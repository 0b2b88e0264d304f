"""What to order, how much and by when. A person confirms it; nothing orders by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

import numpy as np

from planner import assumptions
from planner.assumptions import (
    END_CHANCE_PER_DAY,
    LATENESS_CHANCES,
    READY_DAYS_AFTER_ARRIVAL,
    SHORTEST_COVER_DAYS,
)
from planner.caps import capped_lines, proposed_line
from planner.delivery import Arrival, SupplierCalendar, likely_latest, most_likely
from planner.demand import UseChances, chance_beyond
from planner.household import Household
from planner.ledger import Receipt
from planner.normal import Floats
from planner.refill_rules import refill_window, rule_on
from planner.results import OrderProposal, ProposedLine, Reason, ReasonCode
from planner.runout import ComingOrder, ShelfRunOut, risk_before
from planner.stock import Shelf

MOST_BOXES = 200
MOST_DAYS_LATE = len(LATENESS_CHANCES) - 1
SPARE_DAYS = 30
"""Days that the next order may be due later than today and still be covered in full."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boxes:
    """Whole boxes of one shelf's kit and loose bottle."""

    kit_boxes: int
    bottle_boxes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderFacts:
    """What the reorder of one household is worked out from.

    Attributes:
        coming: open orders with goods of the shelves.
        risk_by_day: chance of a run-out by day with goods in transit.
        risk_already: part of it that an order placed now can no longer change, because it
            falls before goods in transit that come sooner.
    """

    household: Household
    as_of: date
    at: time | None
    calendar: SupplierCalendar
    lateness: tuple[float, ...]
    shelf: Shelf
    shelves: tuple[ShelfRunOut, ...]
    coming: tuple[ComingOrder, ...]
    risk_by_day: Floats
    risk_already: float
    supply_ends_on: date | None

    @property
    def allowed_risk(self) -> float:
        """Chance of running short that the household's protection accepts."""
        return 1.0 - self.household.settings.protection

    def risk_if_ordered(self, day: date, at: time | None = None) -> float:
        """Chance of a run-out before an order placed on a day can be used."""
        return risk_before(self.risk_by_day, self.arrivals_if_ordered(day, at), self.as_of)

    def arrivals_if_ordered(self, day: date, at: time | None = None) -> tuple[Arrival, ...]:
        """When an order placed on a day may arrive."""
        return self.calendar.arrivals(self.calendar.usual_arrival(day, at), self.lateness)

    def arrivals_by(self, order_by: date) -> tuple[Arrival, ...]:
        """When an order placed by its last safe day may arrive."""
        return self.arrivals_if_ordered(order_by, self.at if order_by == self.as_of else None)


def propose_order(facts: ReorderFacts) -> tuple[OrderProposal, tuple[Reason, ...]]:
    """Work out order-by date, boxes and what stands in their way."""
    today_risk = facts.risk_if_ordered(facts.as_of, facts.at)
    too_late = today_risk - facts.risk_already > facts.allowed_risk
    order_by = _order_by(facts, too_late=too_late)
    if order_by is None:
        return _nothing(today_risk), (Reason.because(ReasonCode.NOTHING_TO_ORDER),)
    until = _covers_until(facts, order_by, facts.household.settings.cover_days)
    until, short_dated = _until_use_by(facts, order_by, until)
    last_day = (until - facts.as_of).days - 1
    risk_per_shelf = facts.allowed_risk / len(facts.shelves)
    boxes = {
        n: fewest_boxes(
            _shortfall(facts, shelf, order_by, last_day), _box_sizes(facts, shelf), risk_per_shelf
        )
        for n, shelf in enumerate(facts.shelves)
    }
    wanted = _lines(facts, boxes)
    if not wanted:
        return _nothing(today_risk), (Reason.because(ReasonCode.NOTHING_TO_ORDER),)
    worth, until, left_for_later = _worth_buying(facts, wanted, order_by, until)
    lines, capped = capped_lines(
        household=facts.household,
        shelf=facts.shelf,
        coming=facts.coming,
        used_by_arrival=_used_by(facts, most_likely(facts.arrivals_by(order_by))),
        order_on=order_by,
        lines=worth,
    )
    last_day = (until - facts.as_of).days - 1
    proposal = OrderProposal(
        order_by_on=order_by,
        too_late=too_late,
        risk_if_ordered_today=today_risk,
        lines=lines,
        usual_arrival_on=most_likely(facts.arrivals_by(order_by)),
        covers_until=until,
        chance_short=_chance_short(facts, lines, order_by, last_day),
    )
    reasons = [*_order_reasons(facts, proposal), *short_dated, *left_for_later, *capped]
    proposal, conflict = _with_refill_window(facts, proposal)
    return proposal, (*reasons, *conflict)


def _until_use_by(
    facts: ReorderFacts, order_by: date, until: date
) -> tuple[date, tuple[Reason, ...]]:
    """Order no more than can be used in date, going by the last delivery of each item."""
    codes = {code for shelf in facts.shelves for code in shelf.forecast.item_codes}
    dated = {
        entry.item_code: (entry.expires_on - entry.at.date()).days
        for entry in sorted(
            (one for one in facts.household.valid_entries if isinstance(one, Receipt)),
            key=lambda one: one.at,
        )
        if entry.order_id and entry.expires_on is not None and entry.item_code in codes
    }
    if not dated:
        return until, ()
    item = min(dated, key=lambda code: dated[code])
    arrival = most_likely(facts.arrivals_by(order_by))
    usable_until = arrival + timedelta(days=dated[item] + 1)
    if usable_until >= until:
        return until, ()
    reason = Reason.because(ReasonCode.GOODS_COME_SHORT_DATED, item=item, days=dated[item])
    return max(usable_until, arrival + timedelta(days=1)), (reason,)


def _nothing(today_risk: float) -> OrderProposal:
    return OrderProposal(
        order_by_on=None,
        too_late=False,
        risk_if_ordered_today=today_risk,
        lines=(),
        usual_arrival_on=None,
        covers_until=None,
        chance_short=0.0,
    )


def _order_by(facts: ReorderFacts, *, too_late: bool) -> date | None:
    """The last business day whose order still arrives in time; today when none does."""
    horizon_end = facts.as_of + timedelta(days=len(facts.risk_by_day) - 1)
    day = facts.calendar.open_on_or_after(facts.as_of)
    if too_late:
        return day
    best = day
    while True:
        if facts.arrivals_if_ordered(day)[-1].on > horizon_end:
            return None
        if facts.risk_if_ordered(day) - facts.risk_already > facts.allowed_risk:
            return best
        best = day
        day = facts.calendar.add_business_days(day, 1)


def _covers_until(facts: ReorderFacts, order_by: date, cover_days: int) -> date:
    """Day until which an order must last: when an order so many days later has surely come.

    Never beyond the days that were forecast.
    """
    wanted = order_by + timedelta(days=cover_days)
    next_order = facts.calendar.open_on_or_after(wanted)
    arrivals = facts.arrivals_if_ordered(next_order)
    latest = likely_latest(arrivals, facts.household.settings.protection)
    end = facts.as_of + timedelta(days=len(facts.risk_by_day))
    return min(latest + timedelta(days=1), end)


def days_to_forecast(household: Household, calendar: SupplierCalendar, as_of: date) -> int:
    """Days that a plan has to look ahead: the wanted horizon, or one whole order cycle."""
    settings = household.settings
    first = calendar.open_on_or_after(as_of + timedelta(days=settings.cover_days))
    arrival = calendar.usual_arrival(first)
    cycle_days = (calendar.add_business_days(arrival, MOST_DAYS_LATE) - as_of).days
    return max(settings.horizon_days, cycle_days + SPARE_DAYS)


def fewest_boxes(
    short_with: Callable[[int, int], float], box_sizes: tuple[int, int], allowed_risk: float
) -> Boxes:
    """The fewest whole boxes of kits and loose bottles that keep the risk allowed.

    Of mixes with as few boxes the one with the fewest units is taken.

    Args:
        short_with: chance of running short with so many further kits and loose bottles;
            never rises with either.
        box_sizes: units per box of kits and of loose bottles; 0 when there is no such item.
        allowed_risk: chance of running short that is accepted. [fraction]
    """
    kit_size, bottle_size = box_sizes

    def enough(mix: Boxes) -> bool:
        kits, bottles = mix.kit_boxes * kit_size, mix.bottle_boxes * bottle_size
        return short_with(kits, bottles) <= allowed_risk

    def units(mix: Boxes) -> tuple[int, int]:
        return (
            mix.kit_boxes * kit_size + mix.bottle_boxes * bottle_size,
            mix.bottle_boxes,
        )

    for total in range(MOST_BOXES + 1):
        most_bottles = total if bottle_size else 0
        mixes = [
            Boxes(kit_boxes=total - bottles, bottle_boxes=bottles)
            for bottles in range(most_bottles + 1)
        ]
        good = [mix for mix in mixes if enough(mix)]
        if good:
            return min(good, key=units)
    return Boxes(kit_boxes=MOST_BOXES, bottle_boxes=0)


def _shortfall(
    facts: ReorderFacts, shelf: ShelfRunOut, order_by: date, last_day: int
) -> Callable[[int, int], float]:
    """Chance of running short with so many further kits and loose bottles.

    An upper bound: the chances to run short before each later order in transit, and in the
    end, are added up.
    """
    stages = tuple(_stages(facts, shelf, order_by, last_day))
    use: UseChances = shelf.use

    def short_with(more_kits: int, more_bottles: int) -> float:
        chances = (
            chance_beyond(
                use, stage.day, kits=stage.kits + more_kits, bottles=stage.bottles + more_bottles
            )
            for stage in stages
        )
        return min(sum(chances), 1.0)

    return short_with


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stage:
    """Units that have to last through a day, a new order not counted."""

    day: int
    kits: int
    bottles: int


def _stages(
    facts: ReorderFacts, shelf: ShelfRunOut, order_by: date, last_day: int
) -> Iterator[_Stage]:
    """What is there until each order that usually comes later than the new one, and at the end.

    Units expected to pass their date are left out, rounded against us, and so is an order
    that may come after the last day.
    """
    forecast = shelf.forecast
    bottle = forecast.bottle_code or ""
    kits = facts.shelf.usable_units(forecast.kit_code)
    kits -= _rounded_up(shelf.with_coming.kits_expired)
    bottles = facts.shelf.usable_units(bottle) // forecast.bottle_shares
    bottles -= _rounded_up(shelf.with_coming.bottles_expired)
    new_order_on = most_likely(facts.arrivals_by(order_by))
    for one in facts.coming:
        latest = likely_latest(one.arrivals, facts.household.settings.protection)
        day = (latest - facts.as_of).days + READY_DAYS_AFTER_ARRIVAL - 1
        if most_likely(one.arrivals) > new_order_on:
            if day >= last_day:
                break
            yield _Stage(day=day, kits=kits, bottles=bottles)
        kits += one.units.get(forecast.kit_code, 0)
        bottles += one.units.get(bottle, 0) // forecast.bottle_shares
    yield _Stage(day=last_day, kits=kits, bottles=bottles)


def _rounded_up(units: float) -> int:
    return int(units + 0.999) if units > 0.05 else 0


def _box_sizes(facts: ReorderFacts, shelf: ShelfRunOut) -> tuple[int, int]:
    bottle = shelf.forecast.bottle_code
    kit_size = facts.household.item(shelf.forecast.kit_code).units_per_box
    return kit_size, facts.household.item(bottle).units_per_box if bottle else 0


def _lines(facts: ReorderFacts, boxes: dict[int, Boxes]) -> tuple[ProposedLine, ...]:
    by_item: dict[str, int] = {}
    for n, mix in boxes.items():
        forecast = facts.shelves[n].forecast
        pairs = ((forecast.kit_code, mix.kit_boxes), (forecast.bottle_code, mix.bottle_boxes))
        for code, count in pairs:
            if code is not None and count:
                by_item[code] = by_item.get(code, 0) + count
    return tuple(proposed_line(facts.household, code, count) for code, count in by_item.items())


def _chance_short(
    facts: ReorderFacts, lines: Sequence[ProposedLine], order_by: date, last_day: int
) -> float:
    """Upper bound of the chance to run short with these lines, over all shelves."""
    units = {line.item_code: line.units for line in lines}
    total = 0.0
    for shelf in facts.shelves:
        short_with = _shortfall(facts, shelf, order_by, last_day)
        forecast = shelf.forecast
        total += short_with(
            units.get(forecast.kit_code, 0), units.get(forecast.bottle_code or "", 0)
        )
    return min(total, 1.0)


def _used_by(facts: ReorderFacts, day: date) -> float:
    """Units of all shelves expected to be used before a day."""
    last = (day - facts.as_of).days - 1
    if last < 0:
        return 0.0
    return sum(
        float(one.use.bottles[last] @ np.arange(one.use.bottles.shape[1])) for one in facts.shelves
    )


def _worth_buying(
    facts: ReorderFacts, lines: tuple[ProposedLine, ...], order_by: date, until: date
) -> tuple[tuple[ProposedLine, ...], date, tuple[Reason, ...]]:
    """Leave the last boxes for a later order where they may well never be opened.

    The warning and the order-by date count on treatment going on; this alone does not. What is
    left still lasts, with the wanted protection, until a later order has surely come.
    """
    soon = min(_covers_until(facts, order_by, SHORTEST_COVER_DAYS), until)
    kept = {line.item_code: line for line in lines}
    reasons = []
    for line in lines:
        shelf = next(one for one in facts.shelves if line.item_code in one.forecast.item_codes)
        boxes, chance = line.boxes, 1.0
        while boxes > 1:
            opened = _chance_opened(facts, shelf, kept, line.item_code, boxes - 1)
            fewer = {
                **kept,
                line.item_code: proposed_line(facts.household, line.item_code, boxes - 1),
            }
            short = _chance_short(
                facts, tuple(fewer.values()), order_by, (soon - facts.as_of).days - 1
            )
            if opened >= assumptions.WORTH_BUYING_CHANCE or short > facts.allowed_risk:
                break
            boxes, chance, kept = boxes - 1, opened, fewer
        if boxes < line.boxes:
            reasons.append(
                Reason.because(
                    ReasonCode.LAST_BOX_LEFT_FOR_LATER,
                    item=line.item_code,
                    wanted_boxes=line.boxes,
                    allowed_boxes=boxes,
                    chance=chance,
                )
            )
    if not reasons:
        return lines, until, ()
    left = tuple(kept.values())
    while until > soon and (
        _chance_short(facts, left, order_by, (until - facts.as_of).days - 1) > facts.allowed_risk
    ):
        until -= timedelta(days=1)
    return left, until, tuple(reasons)


def _chance_opened(
    facts: ReorderFacts,
    shelf: ShelfRunOut,
    lines: dict[str, ProposedLine],
    code: str,
    boxes_before: int,
) -> float:
    """Chance that a box after so many others of the order is opened before treatment ends.

    Treatment is taken to end with the same chance every day. Beyond the days forecast the box
    is taken to be opened, so the chance is not understated.
    """
    forecast = shelf.forecast
    per_box = facts.household.item(code).units_per_box
    units = sum(
        facts.shelf.usable_units(one) + sum(order.units.get(one, 0) for order in facts.coming)
        for one in forecast.item_codes
    )
    units += sum(line.units for one, line in lines.items() if one != code)
    units += boxes_before * per_box
    reached = shelf.use.bottles[:, units + 1 :].sum(axis=1)
    going_on = (1.0 - _end_chance_per_day(shelf)) ** np.arange(1, len(reached) + 1)
    newly = np.diff(reached, prepend=0.0)
    return float(newly @ going_on + (1.0 - reached[-1]) * going_on[-1])


def _end_chance_per_day(shelf: ShelfRunOut) -> float:
    """The smallest chance a day that one of the catheters of a shelf comes to its end."""
    return min(
        END_CHANCE_PER_DAY.get(one.catheter.clinical_group, assumptions.UNKNOWN_END_CHANCE_PER_DAY)
        for one in shelf.forecast.catheters
    )


def _order_reasons(facts: ReorderFacts, proposal: OrderProposal) -> Iterator[Reason]:
    by = proposal.order_by_on
    if proposal.too_late:
        risk = proposal.risk_if_ordered_today
        yield Reason.because(ReasonCode.SHORT_BEFORE_DELIVERY, risk=risk, order_on=by)
    else:
        yield Reason.because(ReasonCode.ORDER_BY, order_by=by)
    boxes = sum(line.boxes for line in proposal.lines)
    minimum = facts.household.supplier.minimum_boxes
    if 0 < boxes < minimum:
        yield Reason.because(ReasonCode.BELOW_MINIMUM_ORDER, boxes=boxes, minimum_boxes=minimum)


def _with_refill_window(
    facts: ReorderFacts, proposal: OrderProposal
) -> tuple[OrderProposal, tuple[Reason, ...]]:
    """Add the payer's window, and say so when the safe days lie before it."""
    rule = rule_on(facts.household.settings.refill_rule, facts.as_of)
    order_by, arrival = proposal.order_by_on, proposal.usual_arrival_on
    if rule is None or facts.supply_ends_on is None or order_by is None or arrival is None:
        return proposal, ()
    window = refill_window(rule, facts.supply_ends_on)
    proposal = replace(
        proposal,
        earliest_contact_on=window.contact_on,
        earliest_delivery_on=window.delivery_on,
    )
    if order_by >= window.contact_on and arrival >= window.delivery_on:
        return proposal, ()
    conflict = Reason.because(
        ReasonCode.REFILL_WINDOW_CONFLICT,
        order_by=order_by,
        arrival=arrival,
        earliest_contact=window.contact_on,
        earliest_delivery=window.delivery_on,
    )
    return proposal, (conflict,)
