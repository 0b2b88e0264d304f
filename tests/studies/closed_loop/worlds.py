"""Invented worlds: what happens to a household, whoever plans its supplies.

A world is drawn once from a seed and holds every chance event day by day, so that different
ways of ordering meet the same fluid, the same missed days and the same late vans. Fluid is a
quantity in millilitres that gathers, is drained in part and stays where it was not drained;
the planner's own model knows no such store. Every number here is an assumption of this study.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

import numpy as np
import numpy.typing as npt

from planner.dates import DateRange
from planner.household import Catheter, ClinicalGroup, Site
from planner.items import SupplyItem
from planner.regimen import Pattern, Regimen, weekly_rule
from planner.supply import SupplierTerms
from tests.generators.trade import SHOPS

STUDY_DAYS = 180
RECORD_DAYS = (0, 14, 28, 56)
"""A household may have kept its diary for so long before the study. [days]"""

WALK_SD = 0.04
JUMP_CHANCE = 0.003
JUMP_SD = 0.6
FADE_CHANCE = 0.002
FADE_PER_DAY = -0.10
FADE_TO_REMOVAL_DAYS = 21
END_CHANCE = 0.001
AWAY_CHANCE = 1 / 75
DAY_NOISE_SD = 0.45
MOST_DAYS_LATE = 10
MOST_LOSSES = 12
EXPRESS_BUSINESS_DAYS = 1

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """Days away, and whether their end is known from the start."""

    days: DateRange
    end_is_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """One household's chance events. Arrays run over the days from `starts_on`.

    Attributes:
        starts_on: first day of the diary.
        study_on: first day on which the shelf is followed.
        ends_on: first day without treatment, or the end of the study.
        inflow_ml: fluid that gathers on a day. [mL]
        kept, extra, clear, flow, stop, said: uniform draws for the session of a day.
        losses: uniform draws for the bottles of a day. [day, bottle]
        lateness: uniform draw for an order placed on a day.
        waste, vanish, dated: uniform draws for breakage on the shelf, units that go without a
            note, and goods delivered on a day with a short date.
        kept_chance, loss_chance: habits of this household.
        threshold_ml: fluid at which it drains when the regimen says as needed.
        late_chance: chance that a van is late at all.
        looks_at: time of day at which the carer looks.
        opening_days: stock at first, in days of prescribed sessions.
    """

    seed: int
    starts_on: date
    study_on: date
    ends_on: date
    catheter: Catheter
    items: tuple[SupplyItem, ...]
    supplier: SupplierTerms
    time_zone: str
    inflow_ml: Floats
    kept: Floats
    extra: Floats
    clear: Floats
    flow: Floats
    stop: Floats
    said: Floats
    losses: Floats
    lateness: Floats
    waste: Floats
    vanish: Floats
    dated: Floats
    stays: tuple[Stay, ...]
    kept_chance: float
    loss_chance: float
    threshold_ml: float
    late_chance: float
    looks_at: time
    opening_days: int

    def place(self, day: date) -> int:
        """The index of a day in the arrays."""
        return (day - self.starts_on).days

    def days_late(self, placed_on: date) -> int:
        """Business days that an order placed on a day comes late."""
        draw = float(self.lateness[self.place(placed_on)])
        late, chance = 0, self.late_chance
        while draw < chance and late < MOST_DAYS_LATE:
            late += 1
            chance *= 0.4
        return late


def with_express(world: World) -> World:
    """The same world, in which the supplier also sends by express."""
    terms = replace(world.supplier, express_business_days=EXPRESS_BUSINESS_DAYS)
    return replace(world, supplier=terms)


def draw_world(seed: int) -> World:
    """The world of a seed, always the same one."""
    rng = np.random.default_rng([2026, seed])
    shop = SHOPS[int(rng.integers(len(SHOPS)))]
    belly = rng.random() < 0.25
    kit, bottle = shop.large if belly else shop.small
    record_days = int(rng.choice(RECORD_DAYS))
    study_on = date(2025, 1, 1) + timedelta(days=int(rng.integers(365)))
    starts_on = study_on - timedelta(days=record_days)
    days = record_days + STUDY_DAYS
    regimen = _regimen(rng, starts_on, limit_ml=2000 if belly else 1000)
    with_loose = rng.random() < 0.7
    catheter = Catheter(
        id="c1",
        label="belly" if belly else "chest",
        site=Site.ABDOMEN if belly else Site.CHEST,
        kit_code=kit.code,
        bottle_code=bottle.code if with_loose else None,
        clinical_group=_group(rng, belly=belly),
        regimens=(regimen,),
    )
    median, between_sd = (550.0, 0.6) if belly else (160.0, 0.7)
    fades_on = record_days + _first(rng, FADE_CHANCE)
    ln_rate = _ln_rates(
        rng, math.log(median) + between_sd * rng.standard_normal(), days, fades_on=fades_on
    )
    removed_on = min(record_days + 1 + _first(rng, END_CHANCE), fades_on + FADE_TO_REMOVAL_DAYS)
    noise = DAY_NOISE_SD * rng.standard_normal(days)
    return World(
        seed=seed,
        starts_on=starts_on,
        study_on=study_on,
        ends_on=starts_on + timedelta(days=min(removed_on, days)),
        catheter=catheter,
        items=(kit, bottle) if with_loose else (kit,),
        supplier=replace(shop.terms, minimum_boxes=0),
        time_zone=shop.time_zone,
        inflow_ml=np.clip(np.exp(ln_rate + noise - 0.5 * DAY_NOISE_SD**2), 0.0, 3000.0),
        kept=rng.random(days),
        extra=rng.random(days),
        clear=rng.random(days),
        flow=rng.random(days),
        stop=rng.random(days),
        said=rng.random(days),
        losses=rng.random((days, MOST_LOSSES)),
        lateness=rng.random(days),
        waste=rng.random(days),
        vanish=rng.random(days),
        dated=rng.random(days),
        stays=_stays(rng, starts_on, days),
        kept_chance=rng.uniform(0.85, 0.99),
        loss_chance=rng.uniform(0.005, 0.04),
        threshold_ml=rng.uniform(600.0, 1500.0) * (2.0 if belly else 1.0),
        late_chance=rng.uniform(0.05, 0.30),
        looks_at=time(8, 30) if rng.random() < 0.7 else time(18, 0),
        opening_days=int(rng.integers(14, 29)),
    )


def _regimen(rng: np.random.Generator, starts_on: date, *, limit_ml: int) -> Regimen:
    draw = rng.random()
    if draw < 0.35:
        return _every(2, starts_on, limit_ml)
    if draw < 0.50:
        return _every(1, starts_on, limit_ml)
    if draw < 0.60:
        return _every(3, starts_on, limit_ml)
    if draw < 0.95:
        weekdays = ("MO", "WE", "FR") if draw < 0.85 else ("TU", "FR")
        return Regimen(
            starts_on=starts_on,
            pattern=Pattern.RRULE,
            rrule=weekly_rule(weekdays),
            session_limit_ml=limit_ml,
        )
    return Regimen(starts_on=starts_on, pattern=Pattern.AS_NEEDED, session_limit_ml=limit_ml)


def _every(n_days: int, starts_on: date, limit_ml: int) -> Regimen:
    return Regimen(
        starts_on=starts_on,
        pattern=Pattern.EVERY_N_DAYS,
        every_n_days=n_days,
        session_limit_ml=limit_ml,
    )


def _group(rng: np.random.Generator, *, belly: bool) -> ClinicalGroup:
    chest = (
        ClinicalGroup.MALIGNANT_PLEURAL,
        ClinicalGroup.HEART_KIDNEY_PLEURAL,
        ClinicalGroup.UNKNOWN,
    )
    abdomen = (
        ClinicalGroup.MALIGNANT_ASCITES,
        ClinicalGroup.CIRRHOTIC_ASCITES,
        ClinicalGroup.UNKNOWN,
    )
    return (abdomen if belly else chest)[int(rng.integers(3))]


def _ln_rates(rng: np.random.Generator, start: float, days: int, *, fades_on: int) -> Floats:
    drift = (-0.03 + 0.05 * rng.standard_normal()) / 7.0
    steps = drift + WALK_SD * rng.standard_normal(days)
    jumps = (rng.random(days) < JUMP_CHANCE) * JUMP_SD * rng.standard_normal(days)
    fading = np.where(np.arange(days) >= fades_on, FADE_PER_DAY, 0.0)
    path = start + np.cumsum(steps + jumps + fading)
    bounded: Floats = np.clip(path, math.log(3.0), math.log(2000.0))
    return bounded


def _first(rng: np.random.Generator, chance: float) -> int:
    """Days of the study until something happens; all of them when it never does."""
    hits = np.flatnonzero(rng.random(STUDY_DAYS) < chance)
    return int(hits[0]) if len(hits) else STUDY_DAYS


def _stays(rng: np.random.Generator, starts_on: date, days: int) -> tuple[Stay, ...]:
    stays: list[Stay] = []
    free_from = 3
    for n, (draw, length, known) in enumerate(
        zip(rng.random(days), rng.integers(2, 10, days), rng.random(days), strict=True)
    ):
        if n >= free_from and draw < AWAY_CHANCE:
            first = starts_on + timedelta(days=n)
            home_on = first + timedelta(days=int(length))
            stays.append(Stay(days=DateRange(first, home_on), end_is_known=bool(known < 0.5)))
            free_from = n + int(length) + 5
    return tuple(stays)
