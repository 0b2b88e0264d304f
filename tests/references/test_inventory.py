"""Reorder quantity and reorder point against published inventory examples.

The planner orders up to a service level; it weighs no costs. A newsvendor's critical ratio
p / (p + h) is such a level, so its textbook answers are answers of the same search. What the
planner does not compute (costs, fill rates, loss functions, lot sizes, pooled safety stock) is
not checked here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats

from planner.boxes import fewest_boxes
from planner.delivery import Arrival
from planner.demand import StockPath, UseChances, chance_beyond, follow
from planner.normal import normal_cdf
from planner.runout import risk_before
from tests.builders import TODAY
from tests.references.chains import chain_of, daily, known_rate

SNYDER_SHEN = "Snyder & Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019"
"""Examples as carried by the docstrings of the library stockpyl 1.0.2; the book was not opened."""


def normal_demand(mean: float, sd: float, allowed: float) -> Callable[[int, int], bool]:
    """Whether normal demand exceeds so many units with at most this chance."""

    def lasts(kits: int, bottles: int) -> bool:
        return float(normal_cdf(np.array((mean - kits - bottles) / sd))) <= allowed

    return lasts


@pytest.mark.parametrize(
    ("mean", "sd", "holding", "penalty", "published"),
    [
        (50.0, 8.0, 0.18, 0.70, 56.60395593),  # SNYDER_SHEN, example 4.3
        (250.0, 8.0 * math.sqrt(5.0), 0.18, 0.70, 264.76689437),  # SNYDER_SHEN, ex. 4.4, L + R = 5
        (10.0, 2.0, 1.0, 5.0, 11.93484313),  # Rossi, Inventory Analytics, 2021, newsvendor test
    ],
)
@pytest.mark.parametrize("box", [2, 5, 10])
def test_normal_newsvendor_in_whole_boxes(
    mean: float, sd: float, holding: float, penalty: float, published: float, box: int
) -> None:
    allowed = holding / (holding + penalty)
    found = fewest_boxes(normal_demand(mean, sd, allowed), (box, 0))
    assert found.kit_boxes == math.ceil(published / box)


@pytest.mark.parametrize(
    ("mean", "holding", "penalty", "published"),
    [
        (50.0, 0.18, 0.70, 56),  # stockpyl 1.0.2, newsvendor_poisson, parameters of example 4.3
        (6.0, 1.0, 4.0, 8),  # SNYDER_SHEN, example 4.7 without fixed cost: S* = 8
    ],
)
def test_poisson_newsvendor_from_a_table_of_use(
    mean: float, holding: float, penalty: float, published: int
) -> None:
    law = stats.poisson.pmf(np.arange(200), mean)[None, :]
    use = UseChances(sessions=law, bottles=law)
    allowed = holding / (holding + penalty)
    found = fewest_boxes(
        lambda kits, bottles: chance_beyond(use, 0, kits=kits, bottles=bottles) <= allowed, (1, 0)
    )
    assert found.kit_boxes == published


def test_a_service_level_is_a_quantile_of_the_normal() -> None:
    """Normal table: 1.645, 2.326 and 3.090 standard deviations for 95, 99 and 99.9 percent."""
    for level, sds in ((0.95, 1.645), (0.99, 2.326), (0.999, 3.090)):
        found = fewest_boxes(normal_demand(100.0, 10.0, 1.0 - level), (1, 0))
        assert found.kit_boxes == math.ceil(100.0 + 10.0 * sds)


@pytest.mark.parametrize(("drains", "arrives"), [(0.5, 0.25), (0.3, 0.2), (0.9, 0.5)])
@pytest.mark.parametrize("kits", [0, 1, 3])
def test_demand_over_a_memoryless_lead_time(drains: float, arrives: float, kits: int) -> None:
    """Daily chance of use p, daily chance of arrival q: P(use >= k) = r (r (1 - q))^(k - 1).

    r = p / (p + q - p q) is the chance of a use before the arrival. Derived; the discrete form of
    Poisson demand over an exponential lead time, Hadley & Whitin, Analysis of Inventory Systems,
    1963, ch. 3 (from memory).
    """
    days = 60
    by_day = follow(
        chain_of(known_rate(0.0), daily(days, drains)), [StockPath(kits=kits, bottles=0)]
    )
    arrivals = [
        Arrival(TODAY + timedelta(days=n), arrives * (1.0 - arrives) ** n) for n in range(days)
    ]
    first = drains / (drains + arrives - drains * arrives)
    expected = first * (first * (1.0 - arrives)) ** kits
    found = risk_before(by_day.run_outs[0].by_day, arrivals, TODAY)
    assert found == pytest.approx(expected, abs=2e-6)
