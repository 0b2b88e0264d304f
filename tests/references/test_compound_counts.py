"""Bottles used are a compound count: sessions times bottles, against Panjer's recursion."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import numpy.typing as npt
import pytest
from scipy import stats

from planner import assumptions
from planner.demand import follow
from tests.references.chains import chain_of, daily, known_rate

SPREAD = 0.1
TABLE = 1e-4
"""So much the table of the noise may cost at so narrow a spread. [probability]"""


def panjer(
    a: Fraction, b: Fraction, none: Fraction, sizes: Sequence[Fraction], top: int
) -> npt.NDArray[np.float64]:
    """Compound count with p(n) = (a + b / n) p(n - 1) claims of sizes 1, 2, ...

    Panjer, ASTIN Bulletin 12:22-26, 1981 (from memory). In fractions, because the recursion
    loses figures for a binomial number of claims.
    """
    total = [none]
    for s in range(1, top + 1):
        reach = range(1, min(s, len(sizes)) + 1)
        terms = ((a + b * j / s) * sizes[j - 1] * total[s - j] for j in reach)
        total.append(sum(terms, Fraction(0)))
    return np.array([float(one) for one in total])


def test_the_recursion_itself() -> None:
    """Poisson(4), sizes 1, 2, 3 with chances .25, .5, .25.

    Kaas, Goovaerts, Dhaene & Denuit, Modern Actuarial Risk Theory using R, 2nd ed. 2008,
    ex. 3.5.2 (from memory): f(s) = (f(s - 1) + 4 f(s - 2) + 3 f(s - 3)) / s, mean 8, variance 18.
    """
    quarter = Fraction(1, 4)
    sizes = (quarter, 2 * quarter, quarter)
    found = panjer(Fraction(0), Fraction(4), Fraction(1), sizes, 60) * math.exp(-4.0)
    assert found[:4] * math.exp(4.0) == pytest.approx([1.0, 1.0, 2.5, 19.0 / 6.0])
    counts = np.arange(61)
    mean = found @ counts
    assert mean == pytest.approx(8.0)
    assert found @ counts**2 - mean**2 == pytest.approx(18.0)


@pytest.mark.parametrize(
    ("session", "second"),
    [(Fraction(1, 2), Fraction(2, 5)), (Fraction(9, 10), Fraction(3, 20))],
)
def test_bottles_of_sessions_by_chance_are_a_compound_binomial(
    session: Fraction, second: Fraction, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A session a day with one chance, a second bottle in it with another."""
    monkeypatch.setattr(assumptions, "RATE_WALK_SD_PER_SQRT_DAY", 1e-9)
    monkeypatch.setattr(assumptions, "OUTLIER_CHANCE", 0.0)
    monkeypatch.setattr(assumptions, "DRY_CHANCE", 0.0)
    days = 28
    rate = math.log(500.0) + SPREAD * float(stats.norm.ppf(float(second)))
    chain = chain_of(known_rate(rate, spread=SPREAD), daily(days, float(session)), limit_ml=1500)
    found = follow(chain).use.bottles[days - 1]
    odds = session / (1 - session)
    none = Fraction((1 - session) ** days)
    expected = panjer(-odds, (days + 1) * odds, none, (1 - second, second), 2 * days)
    assert expected.sum() == pytest.approx(1.0)
    assert found[: len(expected)] == pytest.approx(expected[: len(found)], abs=TABLE)
