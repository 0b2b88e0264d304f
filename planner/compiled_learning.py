# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
"""What simple sessions say of the rate, as one compiled loop.

Numbers are those of `planner.volume.seen_chances` up to rounding; tests hold the two together. It
is used when numba is installed (`pip install ebbstock[fast]`) and left out otherwise.
"""

from __future__ import annotations

import math

import numpy as np

from planner import assumptions
from planner.compiling import compile_whole
from planner.normal import Floats


def seen_chances(middles: Floats, offsets: Floats, spreads: Floats) -> Floats:
    """`planner.volume.seen_chances`, compiled.

    From one grid point to the next a normal density changes by a factor, which itself changes by
    one that is always the same. So nothing but products is needed on the way from the peak.
    """
    wet, outlier = 1.0 - assumptions.DRY_CHANCE, assumptions.OUTLIER_CHANCE
    sds = np.stack([spreads, assumptions.OUTLIER_SCALE * spreads])
    shares = np.array([[1.0 - outlier], [outlier]]) * wet / (sds * math.sqrt(2.0 * math.pi))
    seen: Floats = _seen_chances(
        middles - offsets[0], float(offsets[1] - offsets[0]), offsets.size, -0.5 / sds**2, shares
    )
    return seen


@compile_whole
def _seen_chances(from_first, step, points, steepness, shares):
    sessions, drifts = from_first.shape
    spreads = shares.shape[1]
    seen = np.empty((sessions, drifts, spreads, points))
    for n in range(sessions):
        for d in range(drifts):
            peak = min(max(round(from_first[n, d] / step), 0), points - 1)
            z = from_first[n, d] - step * peak
            for s in range(spreads):
                row = seen[n, d, s]
                for way in (1, -1):
                    # Upwards from the peak itself, downwards from the point below it.
                    at = z if way == 1 else z + step
                    after = at - way * step
                    a, b = steepness[0, s], steepness[1, s]
                    usual = shares[0, s] * math.exp(a * at * at)
                    wide = shares[1, s] * math.exp(b * at * at)
                    usual_factor = math.exp(a * (after * after - at * at))
                    wide_factor = math.exp(b * (after * after - at * at))
                    usual_bend = math.exp(2.0 * a * step * step)
                    wide_bend = math.exp(2.0 * b * step * step)
                    place = peak if way == 1 else peak - 1
                    for k in range(points - peak if way == 1 else peak):
                        row[np.uint64(place + way * k)] = usual + wide
                        usual *= usual_factor
                        wide *= wide_factor
                        usual_factor *= usual_bend
                        wide_factor *= wide_bend
    return seen
