"""What one core of this machine does, measured: the limits that the steps are held against."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from planner.normal import Floats

_L1_NUMBERS = 1_024
_L2_NUMBERS = 32_768
_ROUNDS = 5


def limits_of_the_machine() -> dict[str, float] | None:
    """Floating-point operations a second, by what holds them up. [flop/s]

    A product of large matrices is the most that is to be had. A line added to another line
    with a weight is two operations for every three numbers moved, which is what the steps are
    made of; the two lines fit the first cache, or only the second one. None without numba.
    """
    try:
        from numba import njit
    except ImportError:
        return None

    compiled: Callable[[Any], Any] = njit(fastmath=True)

    @compiled
    def added(times: int, weight: float, line: Floats, total: Floats) -> None:
        for _ in range(times):
            for k in range(np.uint64(0), np.uint64(line.size)):
                total[k] += weight * line[k]

    def rate(numbers: int) -> float:
        line, total = np.full(numbers, 1e-3), np.zeros(numbers)
        times = 40_000_000 // numbers
        added(1, 1e-9, line, total)
        return 2.0 * times * numbers / _fastest(lambda: added(times, 1e-9, line, total))

    square = np.random.default_rng(1).random((512, 512))
    product = 2.0 * 512**3 / _fastest(lambda: square @ square)
    return {
        "a matrix product": product,
        "lines added, first cache": rate(_L1_NUMBERS),
        "lines added, second cache": rate(_L2_NUMBERS),
    }


def _fastest(action: Callable[[], object]) -> float:
    best = float("inf")
    for _ in range(_ROUNDS):
        began = time.process_time()
        action()
        best = min(best, time.process_time() - began)
    return best
