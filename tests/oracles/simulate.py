"""The forecast's model played out path by path, written from its description alone.

Nothing of the engine is used: what was learned (rate, session chances, loss chance) comes
in, every path draws its own rate, days, volumes, losses and deliveries, and the shelf is
kept as a list of lots. `python -m tests.oracles.simulate` writes `reference.json` anew.

Left as the model has it: noise is drawn anew each session from what is known of its spread,
carry-over is kept in whole steps of half a usual gap, at most two.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from planner import assumptions
from planner.timing import SessionTiming
from planner.volume import RateKnowledge

REFERENCE = Path(__file__).with_name("reference.json")
REFERENCE_PATHS = 1_000_000
REFERENCE_SEED = 20260311
_BATCH = 125_000

Floats = npt.NDArray[np.float64]
Counts = npt.NDArray[np.int64]
Truths = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """Units of one item; they can be used up to and including `last_day`.

    Attributes:
        ml: capacity of their bottles where they are kits of another size than the ordered one.
    """

    units: int
    last_day: int | None = None
    ml: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """Goods on their way and the chance that they are ready on the morning of a day."""

    kits: int = 0
    bottles: int = 0
    ready: dict[int, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """What one simulated catheter is made of.

    Attributes:
        lag_days: from the moment the rate is known at to the middle of the first day.
        first_ml, further_ml: capacity of the kit's bottle and of further ones.
        has_loose: whether further bottles are loose ones.
    """

    knowledge: RateKnowledge
    timing: SessionTiming
    loss_chance: float
    lag_days: float
    first_ml: int
    further_ml: int
    limit_ml: int
    has_loose: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What one simulated household is made of: its catheters, and the shelf they share."""

    drains: tuple[Drain, ...]
    kits: tuple[Lot, ...]
    bottles: tuple[Lot, ...] = ()
    deliveries: tuple[Delivery, ...] = ()

    @property
    def days(self) -> int:
        """How many days are played out."""
        return int(self.drains[0].timing.chance.shape[1])


def simulate(inputs: Inputs, *, paths: int, seed: int, keeps_spread: bool = False) -> Floats:
    """Share of paths that have run out by the end of each day.

    Args:
        keeps_spread: draw the noise's spread once per path, not once per session.
    """
    rng = np.random.default_rng(seed)
    gone = np.zeros(inputs.days)
    left = paths
    while left:
        size = min(left, _BATCH)
        gone += _Paths(inputs, size, rng, keeps_spread=keeps_spread).run()
        left -= size
    return gone / paths


class _Paths:
    """A shelf and the catheters that draw on it, on many paths at once."""

    def __init__(
        self, inputs: Inputs, size: int, rng: np.random.Generator, *, keeps_spread: bool
    ) -> None:
        self.inputs, self.size, self.rng = inputs, size, rng
        self.drains = [_Drains(one, size, rng, keeps_spread=keeps_spread) for one in inputs.drains]
        self.alive = np.ones(size, dtype=bool)
        self.kit_lots = _lots(inputs.kits, size)
        self.bottle_lots = _lots(inputs.bottles, size)
        self.ready_on = [self._ready_days(one) for one in inputs.deliveries]

    def _ready_days(self, delivery: Delivery) -> Counts:
        days = np.array([*delivery.ready, 10**6])
        never = 1.0 - sum(delivery.ready.values())
        return self.rng.choice(days, size=self.size, p=[*delivery.ready.values(), max(never, 0.0)])

    def run(self) -> Floats:
        gone = np.zeros(self.inputs.days)
        for day in range(self.inputs.days):
            for drain in self.drains:
                drain.morning(day)
            self._deliver(day)
            for drain in self.drains:
                if not (day == 0 and drain.of.timing.start_age_days == 0):
                    self._session(drain, day)
            for drain in self.drains:
                drain.age += 1
            self._evening(day)
            gone[day] = self.size - self.alive.sum()
        return gone

    def _deliver(self, day: int) -> None:
        for delivery, ready_on in zip(self.inputs.deliveries, self.ready_on, strict=True):
            came = ready_on == day
            self.kit_lots[-1][came] += delivery.kits
            self.bottle_lots[-1][came] += delivery.bottles

    def _session(self, drain: _Drains, day: int) -> None:
        who = np.flatnonzero(drain.takes_place(day) & self.alive)
        volume = drain.volumes(who)
        good = self._bottles_for(drain.of, who, np.minimum(volume, drain.of.limit_ml))
        lost = self.rng.negative_binomial(good, 1.0 - drain.of.loss_chance)
        self._open(drain.of, who, good + lost)
        drain.leave_behind(who, volume)

    def _bottles_for(self, drain: Drain, who: Counts, drained: Floats) -> Counts:
        """Good bottles that a volume fills, the kits being opened in their order."""
        stock = _soonest_first(self.inputs.kits)
        sizes = [lot.ml or drain.first_ml for lot in stock] + [drain.first_ml]
        lasting_to = np.cumsum([lot[who] for lot in self.kit_lots], axis=0)
        bottles = np.zeros(who.size, dtype=np.int64)
        held = np.zeros(who.size)
        while True:
            at_lot = np.minimum((lasting_to <= bottles).sum(axis=0), len(sizes) - 1)
            next_ml = np.array(sizes)[at_lot]
            if drain.has_loose:
                next_ml = np.where(bottles > 0, drain.further_ml, next_ml)
            more = (bottles == 0) | (held < drained)
            if not more.any():
                return bottles
            held += more * next_ml
            bottles += more

    def _open(self, drain: Drain, who: Counts, bottles: Counts) -> None:
        kits = sum(lot[who] for lot in self.kit_lots)
        loose = sum(lot[who] for lot in self.bottle_lots) if drain.has_loose else 0
        served = (kits >= 1) & (kits + loose >= bottles)
        self.alive[who[~served]] = False
        who, bottles = who[served], bottles[served]
        further = bottles - 1
        from_loose = self._take(self.bottle_lots, who, further) if drain.has_loose else 0
        self._take(self.kit_lots, who, bottles - from_loose)

    @staticmethod
    def _take(lots: list[Counts], who: Counts, wanted: Counts) -> Counts:
        """First expired first out; how many were there to take."""
        taken = np.zeros_like(wanted)
        for lot in lots:
            here = np.minimum(lot[who], wanted - taken)
            lot[who] -= here
            taken += here
        return taken

    def _evening(self, day: int) -> None:
        for lots, stock in (
            (self.kit_lots, self.inputs.kits),
            (self.bottle_lots, self.inputs.bottles),
        ):
            for held, lot in zip(lots, _soonest_first(stock), strict=False):
                if lot.last_day == day:
                    held[:] = 0


class _Drains:
    """One catheter on many paths at once."""

    def __init__(
        self, drain: Drain, size: int, rng: np.random.Generator, *, keeps_spread: bool
    ) -> None:
        self.of, self.size, self.rng = drain, size, rng
        known = drain.knowledge
        drifts, spreads, points = known.weights.shape
        flat = known.weights.ravel()
        drawn = rng.choice(flat.size, size=size, p=flat / flat.sum())
        d, s, x = np.unravel_index(drawn, (drifts, spreads, points))
        log_rate = known.centres[d] + known.offsets[x]
        self.step_days = max(1, round(drain.timing.usual_gap_days / 2))
        left_days = known.carry_ml[d, s, x] / np.exp(log_rate)
        self.carry = self._whole_steps_at_random(left_days / self.step_days)
        self.drift = known.drifts[d]
        walk = assumptions.RATE_WALK_SD_PER_SQRT_DAY
        self.x = log_rate + self.drift * drain.lag_days
        self.x += walk * np.sqrt(drain.lag_days) * rng.standard_normal(size)
        self.spread = known.spreads[s] if keeps_spread else None
        by_spread = known.weights.sum(axis=2)
        self.spread_shares = (by_spread / by_spread.sum(axis=1, keepdims=True))[d].cumsum(axis=1)
        self.variant = rng.choice(len(drain.timing.weights), size=size, p=drain.timing.weights)
        self.age = np.full(size, drain.timing.start_age_days)

    def _whole_steps_at_random(self, steps: Floats) -> Counts:
        held = np.clip(steps, 0.0, 2.0)
        whole = np.floor(held)
        more = self.rng.random(self.size) < held - whole
        return (whole + more).astype(np.int64)

    def morning(self, day: int) -> None:
        if day > 0:
            walk = assumptions.RATE_WALK_SD_PER_SQRT_DAY
            self.x += self.drift + walk * self.rng.standard_normal(self.size)
        if day in self.of.timing.restarts:
            self.age[:] = 1
            self.carry[:] = 0

    def takes_place(self, day: int) -> Truths:
        chance = self.of.timing.chance
        age = np.minimum(self.age, chance.shape[2])
        found: Truths = self.rng.random(self.size) < chance[self.variant, day, age - 1]
        return found

    def leave_behind(self, who: Counts, volume: Floats) -> None:
        left_days = np.maximum(volume - self.of.limit_ml, 0.0) / np.exp(self.x[who])
        steps = np.floor(left_days / self.step_days + 0.5)
        self.carry[who] = np.minimum(steps, 2).astype(np.int64)
        self.age[who] = 0

    def volumes(self, who: Counts) -> Floats:
        fluid_days = self.age[who] + self.step_days * self.carry[who]
        if self.spread is None:
            point = (self.rng.random(who.size)[:, None] > self.spread_shares[who]).sum(axis=1)
            spread = self.of.knowledge.spreads[np.minimum(point, 4)]
        else:
            spread = self.spread[who]
        outlier = self.rng.random(who.size) < assumptions.OUTLIER_CHANCE
        spread = np.where(outlier, assumptions.OUTLIER_SCALE * spread, spread)
        noise = spread * self.rng.standard_normal(who.size)
        dry = self.rng.random(who.size) < assumptions.DRY_CHANCE
        volume = np.exp(self.x[who] + noise) * fluid_days
        return np.where(dry, 0.0, volume)


def _soonest_first(lots: tuple[Lot, ...]) -> list[Lot]:
    return sorted(lots, key=lambda lot: 10**6 if lot.last_day is None else lot.last_day)


def _lots(lots: tuple[Lot, ...], size: int) -> list[Counts]:
    """One array per lot, soonest expiry first, and a last one for what is delivered."""
    return [*(np.full(size, lot.units) for lot in _soonest_first(lots)), np.zeros(size, np.int64)]


def main() -> None:
    """Write the reference values of every case."""
    from tests.oracles.cases import BOUNDED_CASES, CASES, SHARED_CASES

    found = {
        name: [round(float(share), 6) for share in case.simulate(REFERENCE_PATHS, REFERENCE_SEED)]
        for name, case in (CASES | SHARED_CASES | BOUNDED_CASES).items()
    }
    record = {"paths": REFERENCE_PATHS, "seed": REFERENCE_SEED, "run_out_by_day": found}
    REFERENCE.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
