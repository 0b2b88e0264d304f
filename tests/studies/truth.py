"""Households invented from the planner's stated expectations, and played out day by day.

Written from the description of the model alone; nothing that learns or forecasts is used.
The rate, its drift, the noise, the habits of timing and the losses of each household are
drawn from the same starting expectations as the planner's (`planner.assumptions`), without
its grids: the spread of the noise and the drift are normal draws, carry-over is in mL and
not in steps, and every draw stays the household's own for good.

Two settings are the study's own: a carry-over is at most one session limit, as in learning,
and sudden changes of the rate happen only while the record is made, as the planner says of
its forecast. `World` changes the truth where a study asks for another one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from planner import assumptions
from planner.assumptions import UNKNOWN_PRIORS, USUAL_SESSION_LIMIT_ML, VOLUME_PRIORS
from planner.household import ClinicalGroup, Site

WEEKDAYS_OF = {"three a week": (0, 2, 4), "two a week": (1, 4)}
EVERY_DAYS = {"daily": 1, "every 2 days": 2, "every 3 days": 3}
AS_NEEDED = "as needed"
REGIMENS = (*EVERY_DAYS, *WEEKDAYS_OF, AS_NEEDED)

LONGEST_RECORD_DAYS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """What is known of a household from its first day.

    Attributes:
        capacity_ml: of the kit's bottle and of further ones. [mL]
        weekday: weekday of day 0, Monday is 0; a prescribed one where weekdays are.
    """

    site: Site
    group: ClinicalGroup
    regimen: str
    limit_ml: int
    capacity_ml: int
    has_loose: bool
    weekday: int

    @property
    def usual_gap_days(self) -> float:
        """Mean days between prescribed sessions. [days]"""
        if self.regimen in EVERY_DAYS:
            return float(EVERY_DAYS[self.regimen])
        if self.regimen in WEEKDAYS_OF:
            return 7.0 / len(WEEKDAYS_OF[self.regimen])
        return assumptions.AS_NEEDED_GAP_DAYS


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """How the truth departs from the planner's model; by default not at all.

    Attributes:
        jump_chance_ahead: sudden changes of the rate on a day after the record. [1/day]
        fading_per_week: change of the log rate after the record, on top of its drift.
        season_share: swing of the rate over 60 days, up and down. [fraction]
        noise_freedom: degrees of freedom of a Student t in place of the noise.
        kept_record: chance that a session is written down. [fraction]
        blocked_stays: fluid of a session that yields nothing comes with the next one.
        usual_habits: timing and losses are just as expected; they differ in no household.
    """

    jump_chance_ahead: float = 0.0
    fading_per_week: float = 0.0
    season_share: float = 0.0
    noise_freedom: float | None = None
    kept_record: float = 1.0
    blocked_stays: bool = False
    usual_habits: bool = False


AS_THE_MODEL = World()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """One session that took place.

    Attributes:
        day: counted from day 0.
        volume_ml: collected, whole mL. [mL]
        good, lost: bottles that did and did not hold fluid.
        at_limit: fluid stayed behind.
        is_recorded: the household wrote it down.
    """

    day: int
    volume_ml: int
    good: int
    lost: int
    at_limit: bool
    is_recorded: bool

    @property
    def bottles(self) -> int:
        """Bottles opened."""
        return self.good + self.lost


@dataclass(slots=True)
class Life:
    """One household in motion; `live` moves it through a day.

    Attributes:
        ahead: the record is made and the plan is drawn up.
        drains: the sessions so far.
    """

    home: Home
    world: World
    rng: np.random.Generator
    ahead: bool = False
    drains: list[Drain] = field(default_factory=list)
    _x: float = 0.0
    _drift: float = 0.0
    _spread: float = 0.0
    _loss_chance: float = 0.0
    _age: int = 0
    _carry_ml: float = 0.0
    _gaps: tuple[int, ...] = ()
    _gap_chances: tuple[float, ...] = ()
    _gap: int = 0
    _kept: float = 0.0
    _extra: float = 0.0
    _season_at: float = 0.0

    def __post_init__(self) -> None:
        rng, home = self.rng, self.home
        prior = VOLUME_PRIORS.get(home.group, UNKNOWN_PRIORS[home.site])
        self._x = rng.normal(prior.log_median, prior.between_sd)
        drift_sd = assumptions.WEEKLY_DRIFT_SD
        self._drift = rng.normal(prior.weekly_drift, drift_sd) / 7.0
        self._spread = prior.session_sd * math.exp(rng.normal(0.0, assumptions.SESSION_SD_LOG_SD))
        self._loss_chance = self._beta(assumptions.LOSS_CHANCE, assumptions.LOSS_WEIGHT)
        self._season_at = rng.uniform(0.0, 2.0 * math.pi)
        self._draw_habits()
        self._age = math.ceil(home.usual_gap_days)
        if self._gaps:
            self._gap = max(self._age, self._next_gap(at_least=self._age))

    def _beta(self, mean: float, weight: float) -> float:
        drawn = float(self.rng.beta(mean * weight, (1.0 - mean) * weight))
        return mean if self.world.usual_habits else drawn

    def _draw_habits(self) -> None:
        if self.home.regimen in EVERY_DAYS:
            every = EVERY_DAYS[self.home.regimen]
            weights: dict[int, float] = {}
            for slip, chance in assumptions.GAP_SLIP_CHANCES.items():
                gap = min(max(every + slip, 1), 3 * every + 1)
                weights[gap] = weights.get(gap, 0.0) + assumptions.GAP_WEIGHT * chance
            self._gaps = tuple(weights)
            drawn = self.rng.dirichlet(list(weights.values()))
            usual = np.array(list(weights.values())) / assumptions.GAP_WEIGHT
            shares = usual if self.world.usual_habits else drawn
            self._gap_chances = tuple(float(chance) for chance in shares)
        elif self.home.regimen == AS_NEEDED:
            mean = 1.0 / assumptions.AS_NEEDED_GAP_DAYS
            weight = assumptions.AS_NEEDED_WEIGHT * assumptions.AS_NEEDED_GAP_DAYS
            self._extra = self._beta(mean, weight)
        else:
            self._kept = self._beta(assumptions.KEPT_CHANCE, assumptions.KEPT_WEIGHT)
            self._extra = self._beta(assumptions.EXTRA_CHANCE, assumptions.EXTRA_WEIGHT)

    def _next_gap(self, at_least: int = 1) -> int:
        able = [
            (gap, chance)
            for gap, chance in zip(self._gaps, self._gap_chances, strict=True)
            if gap >= at_least
        ]
        total = sum(chance for _, chance in able)
        if total <= 0.0:
            return at_least
        shares = [chance / total for _, chance in able]
        return int(able[int(self.rng.choice(len(able), p=shares))][0])

    def live(self, day: int, *, begins: bool = False) -> Drain | None:
        """One day: the rate moves, a session may take place at noon; one does if it begins."""
        if day > 0:
            self._move()
        drain = self._session(day) if begins or self._is_session_day(day) else None
        self._age += 1
        return drain

    def _move(self) -> None:
        rng = self.rng
        fading = self.world.fading_per_week / 7.0 if self.ahead else 0.0
        step = assumptions.RATE_WALK_SD_PER_SQRT_DAY
        self._x += self._drift + fading + rng.normal(0.0, step)
        chance = self.world.jump_chance_ahead if self.ahead else assumptions.JUMP_CHANCE_PER_DAY
        if rng.random() < chance:
            self._x += rng.normal(0.0, assumptions.JUMP_SD)

    def _is_session_day(self, day: int) -> bool:
        if self._gaps:
            return self._age >= self._gap
        weekdays = WEEKDAYS_OF.get(self.home.regimen, ())
        is_due = (self.home.weekday + day) % 7 in weekdays
        return bool(self.rng.random() < (self._kept if is_due else self._extra))

    def _session(self, day: int) -> Drain:
        rng, limit = self.rng, self.home.limit_ml
        season = math.sin(2.0 * math.pi * day / 60.0 + self._season_at)
        rate = math.exp(self._x) * (1.0 + self.world.season_share * season)
        held = self._carry_ml + rate * self._age
        is_blocked = rng.random() < assumptions.DRY_CHANCE
        volume = 0.0 if is_blocked else held * math.exp(self._noise())
        drained = round(min(volume, limit))
        beyond = max(drained - self.home.capacity_ml, 0)
        good = 1 + math.ceil(beyond / self.home.capacity_ml)
        drain = Drain(
            day=day,
            volume_ml=drained,
            good=good,
            lost=int(rng.negative_binomial(good, 1.0 - self._loss_chance)),
            at_limit=volume > limit,
            is_recorded=bool(self.ahead or rng.random() < self.world.kept_record),
        )
        self._carry_ml = min(max(volume - limit, 0.0), float(limit))
        if is_blocked and self.world.blocked_stays:
            self._carry_ml = min(held, float(limit))
        self._age = 0
        if self._gaps:
            self._gap = self._next_gap()
        self.drains.append(drain)
        return drain

    def _noise(self) -> float:
        freedom = self.world.noise_freedom
        if freedom is not None:
            return self._spread * float(self.rng.standard_t(freedom))
        is_outlier = self.rng.random() < assumptions.OUTLIER_CHANCE
        scale = assumptions.OUTLIER_SCALE if is_outlier else 1.0
        return self._spread * scale * float(self.rng.normal())


def draw_home(number: int, rng: np.random.Generator) -> Home:
    """A household of the study: groups and regimens in turn, the rest at random."""
    groups = [(Site.CHEST, ClinicalGroup.UNKNOWN), (Site.ABDOMEN, ClinicalGroup.UNKNOWN)]
    for group in VOLUME_PRIORS:
        site = Site.ABDOMEN if "ascites" in group.value else Site.CHEST
        groups.append((site, group))
    site, group = groups[number // len(REGIMENS) % len(groups)]
    usual = USUAL_SESSION_LIMIT_ML[site]
    regimen = REGIMENS[number % len(REGIMENS)]
    return Home(
        site=site,
        group=group,
        regimen=regimen,
        limit_ml=usual if rng.random() < 0.75 else usual // 2,
        capacity_ml=500 if rng.random() < (0.75 if site is Site.CHEST else 0.25) else 1000,
        has_loose=bool(rng.random() < 0.25),
        weekday=int(rng.choice(WEEKDAYS_OF.get(regimen, range(7)))),
    )
