"""Two plans of one household held side by side. Facts only: the wording belongs elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from planner.results import Plan, Urgency


class Direction(StrEnum):
    """How one plan differs from another in one respect, for the person who needs the goods."""

    BETTER = "better"
    SAME = "same"
    WORSE = "worse"


@dataclass(frozen=True, slots=True, kw_only=True)
class DateChange:
    """One date in both plans; None where it lies beyond what a plan looks at."""

    before: date | None
    after: date | None

    @property
    def days(self) -> int | None:
        """How many days later; negative for sooner, None unless both are known. [days]"""
        if self.before is None or self.after is None:
            return None
        return (self.after - self.before).days

    @property
    def direction(self) -> Direction:
        """Later is better, and beyond the horizon is latest."""
        if self.before == self.after:
            return Direction.SAME
        later = self.after is None or (self.before is not None and self.after > self.before)
        return Direction.BETTER if later else Direction.WORSE


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxChange:
    """Boxes of one item that the two plans propose to order."""

    item_code: str
    before: int
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What a change does to a plan.

    Attributes:
        before, after: the two plans, of the same day.
        expected, cautious: run-out with the goods at home only.
        expected_with_coming: run-out with goods in transit as well.
        order_by: last business day to order; None when nothing needs to be ordered.
        delivery: most likely day of the next delivery.
        boxes: items of which either plan proposes boxes, in the order of the catalogue.
    """

    before: Plan
    after: Plan
    expected: DateChange
    cautious: DateChange
    expected_with_coming: DateChange
    order_by: DateChange
    delivery: DateChange
    boxes: tuple[BoxChange, ...]

    @property
    def risk_before(self) -> float:
        """Chance to run out before the next delivery, without the change. [fraction]"""
        return self.before.next_delivery.risk

    @property
    def risk_after(self) -> float:
        """The same with the change. [fraction]"""
        return self.after.next_delivery.risk

    @property
    def urgency(self) -> Direction:
        """Whether somebody has to act sooner with the change."""
        ranks = list(Urgency)
        before, after = ranks.index(self.before.urgency), ranks.index(self.after.urgency)
        if before == after:
            return Direction.SAME
        return Direction.BETTER if after > before else Direction.WORSE


def compare(before: Plan, after: Plan) -> Comparison:
    """Hold two plans side by side.

    Args:
        before: the plan as it is.
        after: the plan with a change, of the same household and day.

    Raises:
        ValueError: when they are not of the same household and day.
    """
    if (before.household_id, before.as_of) != (after.household_id, after.as_of):
        raise ValueError("only plans of one household and day can be compared")
    return Comparison(
        before=before,
        after=after,
        expected=DateChange(before=before.run_out.expected_on, after=after.run_out.expected_on),
        cautious=DateChange(before=before.run_out.cautious_on, after=after.run_out.cautious_on),
        expected_with_coming=DateChange(
            before=before.run_out_with_coming.expected_on,
            after=after.run_out_with_coming.expected_on,
        ),
        order_by=DateChange(before=_order_by(before), after=_order_by(after)),
        delivery=DateChange(
            before=before.next_delivery.usual_on, after=after.next_delivery.usual_on
        ),
        boxes=_boxes(before, after),
    )


def _order_by(plan: Plan) -> date | None:
    return plan.order.order_by_on if plan.order.lines else None


def _boxes(before: Plan, after: Plan) -> tuple[BoxChange, ...]:
    was = {line.item_code: line.boxes for line in before.order.lines}
    will = {line.item_code: line.boxes for line in after.order.lines}
    return tuple(
        BoxChange(
            item_code=one.item_code,
            before=was.get(one.item_code, 0),
            after=will.get(one.item_code, 0),
        )
        for one in before.on_hand
        if one.item_code in was or one.item_code in will
    )
