"""What a coordinator's feed shows. Chosen by the person it belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.errors import InvalidValue
from planner.household import Household
from planner.results import Plan, Urgency

LEVELS = (Urgency.SHORT, Urgency.ORDER_NOW, Urgency.ORDER_SOON)
"""How urgent a household must be to appear, strictest first. Each takes in those before it."""


class DueKind(StrEnum):
    """The entries that may be chosen."""

    ORDER_BY = "order-by"
    RUN_OUT = "run-out"
    DELIVERY = "delivery"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedFilter:
    """What one feed shows; without a choice, every day on which somebody has to act.

    A household that runs short has its entry whatever kinds are chosen: a shortage must not
    stay unseen because somebody wanted to see deliveries only.

    Attributes:
        least_urgency: one of `LEVELS`; households less urgent than this are left out.
        kinds: at least one.
        supplier: name of the only supplier whose households appear; None for all.

    Raises:
        InvalidValue: when nothing could ever appear.
    """

    least_urgency: Urgency = Urgency.ORDER_SOON
    kinds: frozenset[DueKind] = frozenset({DueKind.ORDER_BY})
    supplier: str | None = None

    def __post_init__(self) -> None:
        if self.least_urgency not in LEVELS:
            fix = f"choose one of {', '.join(LEVELS)}"
            raise InvalidValue("least_urgency", self.least_urgency.value, fix)
        if not self.kinds:
            raise InvalidValue("kinds", "", f"choose at least one of {', '.join(DueKind)}")

    @property
    def urgencies(self) -> tuple[Urgency, ...]:
        """The urgencies that appear."""
        return LEVELS[: LEVELS.index(self.least_urgency) + 1]

    def admits(self, plan: Plan, household: Household) -> bool:
        """Whether a household appears at all."""
        if self.supplier is not None and household.supplier.name != self.supplier:
            return False
        return plan.urgency in self.urgencies

    def wants(self, kind: DueKind) -> bool:
        """Whether entries of this kind were chosen."""
        return kind in self.kinds


ALL_DUE = FeedFilter()
