"""A household's forecast: every catheter learned, and grouped by the shelf it draws on."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from planner.chain import BottleSizes, CatheterChain, build_chain
from planner.consumption import learn_loss_chance
from planner.dates import days_from, end_of_day
from planner.demand import UseChances
from planner.fitting_kits import others_on_shelf
from planner.household import Catheter, Household
from planner.learning import learn_rate
from planner.normal import Floats
from planner.results import CatheterOutlook, KitsLeft, UseByDay
from planner.timing import SessionTiming, session_timing
from planner.volume import RateKnowledge, session_limit_ml, weighted_quantile

_LOW, _HIGH = 0.1, 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterForecast:
    """One catheter's chain with what it was learned from."""

    catheter: Catheter
    knowledge: RateKnowledge
    timing: SessionTiming
    chain: CatheterChain
    loss_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfForecast:
    """All catheters that open the same kit.

    Attributes:
        kit_code: the kit that is ordered.
        kits_ml: capacity of every kit that fits, by its code. [mL]
        bottle_shares: how many shelves share this loose bottle.
    """

    kit_code: str
    kits_ml: Mapping[str, int]
    bottle_code: str | None
    bottle_shares: int
    catheters: tuple[CatheterForecast, ...]

    @property
    def other_kit_codes(self) -> tuple[str, ...]:
        """Kits of other sizes that are used too, in the order in which they are named."""
        return tuple(code for code in self.kits_ml if code != self.kit_code)

    @property
    def ordered_codes(self) -> frozenset[str]:
        """Codes of what is ordered for it: its kit and, if there is one, its loose bottle."""
        return frozenset(code for code in (self.kit_code, self.bottle_code) if code is not None)

    @property
    def item_codes(self) -> frozenset[str]:
        """Codes of what serves it when it comes: see `goods_among`."""
        return self.ordered_codes.union(self._coming_kit_codes)

    def goods_among(self, units: Mapping[str, int]) -> tuple[int, int]:
        """Kits and loose bottles that goods in transit bring it. [units]

        What comes is counted on as if it were of the ordered size, so a kit of another size
        counts only where it holds at least as much; smaller ones count once they are at home.
        """
        kits = sum(units.get(code, 0) for code in self._coming_kit_codes)
        return kits, units.get(self.bottle_code or "", 0) // self.bottle_shares

    @property
    def _coming_kit_codes(self) -> tuple[str, ...]:
        ordered_ml = self.kits_ml[self.kit_code]
        return tuple(code for code, held_ml in self.kits_ml.items() if held_ml >= ordered_ml)


def forecast_shelves(
    household: Household, as_of: date, horizon_days: int
) -> tuple[ShelfForecast, ...]:
    """Learn every catheter and set up its chain from the day of the plan.

    Catheters that open the same kit draw on one shelf. Where their loose bottles differ the
    shelf is taken to have none; where shelves share a loose bottle each gets its part of them.
    Both err on the safe side.
    """
    sharing_kit: dict[str, list[Catheter]] = {}
    for catheter in household.catheters:
        sharing_kit.setdefault(catheter.kit_code, []).append(catheter)
    fitting = {kit: (kit, *others_on_shelf(members)) for kit, members in sharing_kit.items()}
    by_kit = {
        kit: [_forecast(household, one, fitting[kit], as_of, horizon_days) for one in members]
        for kit, members in sharing_kit.items()
    }
    bottles = {kit: _common_bottle(members) for kit, members in by_kit.items()}
    sharing = Counter(bottles.values())
    return tuple(
        ShelfForecast(
            kit_code=kit,
            kits_ml={code: household.item(code).bottle_ml for code in fitting[kit]},
            bottle_code=bottles[kit],
            bottle_shares=sharing[bottles[kit]],
            catheters=tuple(members),
        )
        for kit, members in by_kit.items()
    )


def _common_bottle(members: Sequence[CatheterForecast]) -> str | None:
    codes = {one.catheter.bottle_code for one in members}
    return codes.pop() if len(codes) == 1 else None


def _forecast(
    household: Household,
    catheter: Catheter,
    kit_codes: Sequence[str],
    as_of: date,
    horizon_days: int,
) -> CatheterForecast:
    moment = end_of_day(as_of)
    knowledge = learn_rate(household, catheter, moment)
    timing = session_timing(household, catheter, as_of, horizon_days)
    own = [s for s in household.valid_sessions if s.catheter_id == catheter.id]
    loss_chance = learn_loss_chance([s for s in own if s.drained_on <= as_of])
    sizes = bottle_sizes(household, catheter, kit_codes, as_of, horizon_days)
    chain = build_chain(knowledge, timing, sizes, as_of, loss_chance)
    return CatheterForecast(
        catheter=catheter,
        knowledge=knowledge,
        timing=timing,
        chain=chain,
        loss_chance=loss_chance,
    )


def bottle_sizes(
    household: Household,
    catheter: Catheter,
    kit_codes: Sequence[str],
    as_of: date,
    horizon_days: int,
) -> BottleSizes:
    """The bottles a session of this catheter opens, and its limit on each day."""
    bottle = catheter.bottle_code
    kit_ml, *others_ml = (household.item(code).bottle_ml for code in kit_codes)
    return BottleSizes(
        kit_ml=kit_ml,
        other_kits_ml=tuple(others_ml),
        loose_ml=household.item(bottle).bottle_ml if bottle else None,
        limits_ml=tuple(session_limit_ml(catheter, day) for day in days_from(as_of, horizon_days)),
    )


def describe(forecast: CatheterForecast) -> CatheterOutlook:
    """The few facts that drive a catheter's dates."""
    knowledge = forecast.knowledge
    _, sd = knowledge.mean_and_sd()
    drift_weights = knowledge.weights.sum(axis=(1, 2))
    weekly = float((drift_weights * knowledge.drifts).sum()) * 7.0
    further, bottles = _usual_session(forecast)
    return CatheterOutlook(
        catheter_id=forecast.catheter.id,
        rate_ml_per_day=_rate_quantile(forecast.chain, 0.5),
        rate_low_ml_per_day=_rate_quantile(forecast.chain, _LOW),
        rate_high_ml_per_day=_rate_quantile(forecast.chain, _HIGH),
        weekly_change=math.exp(weekly) - 1.0,
        usual_gap_days=forecast.timing.usual_gap_days,
        further_bottle_chance=further,
        bottles_per_session=bottles,
        loss_chance=forecast.loss_chance,
        kept_chance=forecast.timing.kept_chance,
        sessions_learned_from=knowledge.learned_from,
        record_weight=min(max(1.0 - (sd / knowledge.prior_sd) ** 2, 0.0), 1.0),
    )


def _rate_quantile(chain: CatheterChain, chance: float) -> float:
    """The rate on the day of the plan that is not exceeded with this probability. [mL/day]"""
    return math.exp(weighted_quantile(chain.ln_rates, chain.start.sum(axis=(0, 3)), chance))


def _usual_session(forecast: CatheterForecast) -> tuple[float, float]:
    """Chance of more than one bottle, and mean bottles, in a session on the usual gap."""
    chain = forecast.chain
    age = min(max(round(forecast.timing.usual_gap_days), 1), int(chain.states.ages.max()))
    held_days = chain.states.held_days
    at_age = replace(chain.states, held_days=held_days[[np.argmax(held_days == age)]])
    chances = replace(chain, states=at_age).outcome_chances(0)[..., 0]
    weights = chain.start.sum(axis=(0, 3))[..., None]
    by_outcome = (chances * weights).sum(axis=(0, 1))
    counts = np.array([outcome.bottles for outcome in chain.outcomes])
    return float(by_outcome[counts > 1].sum()), float((by_outcome * counts).sum())


def describe_use(use: UseChances) -> UseByDay:
    """Means and quantiles of cumulative use by day."""
    cumulative = np.cumsum(use.bottles, axis=1)
    return UseByDay(
        sessions_mean=_means(use.sessions),
        bottles_mean=_means(use.bottles),
        bottles_low=_quantiles(cumulative, _LOW),
        bottles_high=_quantiles(cumulative, _HIGH),
    )


def describe_left(kits_left: Floats) -> KitsLeft:
    """Mean and quantiles of the kits left by day."""
    cumulative = np.cumsum(kits_left, axis=1)
    return KitsLeft(
        mean=_means(kits_left),
        low=_quantiles(cumulative, _LOW),
        high=_quantiles(cumulative, _HIGH),
    )


def _means(by_day: Floats) -> tuple[float, ...]:
    counts = np.arange(by_day.shape[1])
    return tuple((by_day @ counts).tolist())


def _quantiles(cumulative: Floats, chance: float) -> tuple[int, ...]:
    reached = cumulative >= chance * cumulative[:, -1:]
    return tuple(reached.argmax(axis=1).tolist())


def all_forecasts(shelves: Sequence[ShelfForecast]) -> tuple[CatheterForecast, ...]:
    """Every catheter's forecast, in the order of the shelves."""
    return tuple(one for shelf in shelves for one in shelf.catheters)
