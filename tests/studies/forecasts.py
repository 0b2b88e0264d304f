"""One household of a study: its record told to the planner, its run-out seen afterwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np

from planner.dates import WEEKDAY_NAMES
from planner.household import Household, PlanSettings
from planner.outlook import forecast_shelves
from planner.runout import follow_shelf
from planner.sessions import BottleUse, LossReason, Session, StopReason
from planner.stock import shelf_on
from tests.builders import (
    BOTTLE,
    CATHETER,
    as_needed,
    every,
    make_bottle,
    make_household,
    make_kit,
    on_weekdays,
    stocked,
)
from tests.studies.truth import (
    AS_NEEDED,
    AS_THE_MODEL,
    EVERY_DAYS,
    LONGEST_RECORD_DAYS,
    WEEKDAYS_OF,
    Drain,
    Home,
    Life,
    World,
    draw_home,
)

RECORD_LENGTHS = (0, 3, 10, 40)
FIRST_MONDAY = date(2026, 1, 5)
HORIZON_DAYS = 70
USE_WITHIN_DAYS = (7, 28)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A household at the moment of its plan, and what then happened.

    Attributes:
        household: the record, ready for the planner.
        as_of: day of the plan.
        asked: sessions the record was to have; fewer where 400 days did not bring them.
        is_evening: the session of the plan's day is over and on record.
        past: recorded sessions, by day from day 0.
        ahead: sessions after the plan, by day from the plan's day.
        run_out: day of the first session that could not be done; None beyond the horizon.
    """

    household: Household
    as_of: date
    asked: int
    is_evening: bool
    home: Home
    past: tuple[Drain, ...]
    past_days: int
    ahead: tuple[Drain, ...]
    run_out: int | None


def make_case(number: int, *, seed: int, world: World = AS_THE_MODEL) -> Case:
    """Invent household `number` of a study, play it out, and pick a moment to plan at."""
    rng = np.random.default_rng([seed, number])
    home = draw_home(number // len(RECORD_LENGTHS), rng)
    asked = RECORD_LENGTHS[number % len(RECORD_LENGTHS)]
    life = Life(home, world, rng)
    is_evening, plan_day = _make_record(life, asked)
    past = tuple(drain for drain in life.drains if drain.is_recorded)
    kits, bottles = _stock(home, past, rng)
    made = len(life.drains)
    life.ahead = True
    first = plan_day + 1 if is_evening else plan_day
    for day in range(first, plan_day + HORIZON_DAYS):
        life.live(day)
    ahead = tuple(replace(drain, day=drain.day - plan_day) for drain in life.drains[made:])
    day_0 = FIRST_MONDAY + timedelta(days=home.weekday)
    as_of = day_0 + timedelta(days=plan_day)
    household = make_household(
        items=(make_kit(capacity_ml=home.capacity_ml), make_bottle(capacity_ml=home.capacity_ml)),
        catheter=_catheter_changes(home),
        sessions=tuple(_session(home, day_0, drain) for drain in past),
        ledger=stocked(kits, bottles, on=as_of),
        settings=PlanSettings(horizon_days=HORIZON_DAYS),
    )
    return Case(
        household=household,
        as_of=as_of,
        asked=asked,
        is_evening=is_evening,
        home=home,
        past=past,
        past_days=plan_day,
        ahead=ahead,
        run_out=_run_out(ahead, kits, bottles),
    )


def _make_record(life: Life, asked: int) -> tuple[bool, int]:
    """Live until enough sessions are on record. (plan in the evening, day of the plan)

    Day 0 has the first session, and the rate is drawn for it, as the planner has it. Half of
    the plans are made in the evening after the last session, half on the next morning. When
    to plan hangs on the record alone, so it gives nothing away that the planner cannot see.
    """
    if asked == 0:
        return False, 0
    life.live(0, begins=True)
    recorded = sum(drain.is_recorded for drain in life.drains)
    day = 0
    while recorded < asked and day < LONGEST_RECORD_DAYS:
        day += 1
        drain = life.live(day)
        recorded += drain is not None and drain.is_recorded
    is_evening = life.drains[-1].day == day and bool(life.rng.random() < 0.5)
    return is_evening, day if is_evening else day + 1


def _stock(home: Home, past: tuple[Drain, ...], rng: np.random.Generator) -> tuple[int, int]:
    """Kits and loose bottles for one to six weeks, going by the record alone."""
    sessions = rng.uniform(7.0, 42.0) / home.usual_gap_days
    per_session = float(np.mean([drain.bottles for drain in past])) if past else 1.3
    if home.has_loose:
        further = (per_session - 1.0) * rng.uniform(0.7, 1.3)
        return max(round(sessions), 1), round(sessions * further)
    return max(round(sessions * per_session), 1), 0


def _run_out(ahead: tuple[Drain, ...], kits: int, bottles: int) -> int | None:
    """Day of the first session that cannot be done; loose bottles go first for further ones."""
    for drain in ahead:
        if kits < 1 or kits + bottles < drain.bottles:
            return drain.day
        loose = min(bottles, drain.bottles - 1)
        bottles -= loose
        kits -= drain.bottles - loose
    return None


def _catheter_changes(home: Home) -> dict[str, object]:
    starts_on = FIRST_MONDAY - timedelta(days=1)
    limit = {"starts_on": starts_on, "session_limit_ml": home.limit_ml}
    if home.regimen in EVERY_DAYS:
        regimen = every(EVERY_DAYS[home.regimen], **limit)
    elif home.regimen == AS_NEEDED:
        regimen = as_needed(**limit)
    else:
        names = [WEEKDAY_NAMES[one] for one in WEEKDAYS_OF[home.regimen]]
        regimen = on_weekdays(*names, **limit)
    return {
        "site": home.site,
        "clinical_group": home.group,
        "regimens": (regimen,),
        "bottle_code": BOTTLE if home.has_loose else None,
    }


def _session(home: Home, day_0: date, drain: Drain) -> Session:
    at = datetime.combine(day_0 + timedelta(days=drain.day), time(12))
    left = drain.volume_ml
    bottles = [BottleUse(volume_ml=0, loss=LossReason.VACUUM_LOST) for _ in range(drain.lost)]
    for _ in range(drain.good):
        bottles.append(BottleUse(volume_ml=min(left, home.capacity_ml)))
        left -= bottles[-1].volume_ml
    return Session(
        id=f"s{drain.day}",
        catheter_id=CATHETER,
        started_at=at,
        bottles=tuple(bottles),
        stop_reason=StopReason.LIMIT_REACHED if drain.at_limit else StopReason.RAN_DRY,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What the planner says of a case.

    Attributes:
        by_day: chance of having run out by the end of each day from the plan's day on.
        bottles: distribution of bottles opened within 7 and 28 days of the plan.
    """

    by_day: tuple[float, ...]
    bottles: dict[int, tuple[float, ...]]


def forecast(case: Case) -> Forecast:
    """The run-out at home and the use, by the parts that `make_plan` puts together."""
    shelf = shelf_on(case.household, case.as_of)
    (one,) = forecast_shelves(case.household, case.as_of, HORIZON_DAYS)
    followed = follow_shelf(one, shelf, (), HORIZON_DAYS)
    ends = {days: last_day(case, days) for days in USE_WITHIN_DAYS}
    return Forecast(
        by_day=tuple(float(chance) for chance in followed.at_home.by_day),
        bottles={
            days: tuple(float(chance) for chance in followed.use.bottles[end])
            for days, end in ends.items()
        },
    )


def last_day(case: Case, days: int) -> int:
    """The last of so many whole days after the plan, counted from the plan's day."""
    return days if case.is_evening else days - 1


def bottles_used(case: Case, days: int) -> int:
    """Bottles that were in truth opened within so many days of the plan."""
    end = last_day(case, days)
    return sum(drain.bottles for drain in case.ahead if drain.day <= end)
