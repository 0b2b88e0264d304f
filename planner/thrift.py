"""Last boxes of an order that may well never be opened, left for a later order."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from planner import assumptions
from planner.assumptions import END_CHANCE_PER_DAY, SHORTEST_COVER_DAYS
from planner.boxes import ShelfNeed, all_last
from planner.caps import proposed_line
from planner.reorder_facts import ReorderFacts
from planner.results import ProposedLine, Reason, ReasonCode
from planner.runout import ShelfRunOut


def worth_buying(
    facts: ReorderFacts,
    needs: Sequence[ShelfNeed],
    lines: tuple[ProposedLine, ...],
    order_by: date,
    until: date,
) -> tuple[tuple[ProposedLine, ...], date, tuple[Reason, ...]]:
    """Leave the last boxes for a later order where they may well never be opened.

    The warning and the order-by date count on treatment going on; this alone does not. What is
    left still lasts, with the wanted protection, until a later order has surely come.
    """
    soon = min(facts.covers_until(order_by, SHORTEST_COVER_DAYS), until)
    kept = {line.item_code: line for line in lines}
    reasons = []
    for line in lines:
        shelf = next(one for one in facts.shelves if line.item_code in one.forecast.ordered_codes)
        boxes, chance = line.boxes, 1.0
        while boxes > 1:
            opened = _chance_opened(facts, shelf, kept, line.item_code, boxes - 1)
            if opened >= assumptions.WORTH_BUYING_CHANCE:
                break
            fewer = {
                **kept,
                line.item_code: proposed_line(facts.household, line.item_code, boxes - 1),
            }
            if not all_last(facts, needs, tuple(fewer.values()), soon):
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
    while until > soon and not all_last(facts, needs, left, until):
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
        for one in forecast.ordered_codes.union(forecast.other_kit_codes)
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
