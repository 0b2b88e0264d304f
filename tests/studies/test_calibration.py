"""A quick slice of the calibration study, and checks of what it is made of."""

from __future__ import annotations

import math
from itertools import accumulate
from pathlib import Path

import numpy as np
import pytest

from planner.plan import make_plan
from planner.stock import shelf_on
from tests.builders import KIT
from tests.studies import results, rows, scores
from tests.studies.calibration import happened, summary
from tests.studies.forecasts import HORIZON_DAYS, Case, forecast, make_case
from tests.studies.rows import Row, make_row
from tests.studies.truth import AS_THE_MODEL, EVERY_DAYS

SEED = 5


def quick_cases(count: int) -> list[Case]:
    """Households on a regimen counted in days: the quickest to forecast."""
    cases = (make_case(n, seed=SEED) for n in range(10_000))
    wanted = (one for one in cases if one.home.regimen in EVERY_DAYS and not one.home.has_loose)
    return [next(wanted) for _ in range(count)]


def test_a_household_is_the_same_every_time() -> None:
    assert make_case(8, seed=SEED) == make_case(8, seed=SEED)
    assert make_case(8, seed=SEED) != make_case(8, seed=SEED + 1)


@pytest.mark.parametrize("number", [0, 2, 9])
def test_studies_forecast_as_a_plan_does(number: int) -> None:
    case = make_case(number, seed=SEED)
    said = forecast(case).by_day
    planned = make_plan(case.household, case.as_of).run_out.chance_by_day
    assert len(said) == HORIZON_DAYS
    assert said == pytest.approx(planned[:HORIZON_DAYS], abs=1e-6)


def test_a_record_has_the_sessions_it_was_to_have() -> None:
    for n in range(48):
        case = make_case(n, seed=SEED)
        recorded = [drain for drain in case.past if drain.is_recorded]
        assert len(case.household.sessions) == len(recorded)
        assert len(recorded) == case.asked or case.past_days > 400
        assert all(drain.day >= int(case.is_evening) for drain in case.ahead)


def test_run_out_is_the_first_session_that_the_shelf_cannot_serve() -> None:
    for case in quick_cases(12):
        kits = shelf_on(case.household, case.as_of).usable_units(KIT)
        opened = accumulate(drain.bottles for drain in case.ahead)
        short = [drain.day for drain, sum_ in zip(case.ahead, opened, strict=True) if sum_ > kits]
        assert case.run_out == (short[0] if short else None)


def test_run_out_dates_are_about_as_sure_as_they_say() -> None:
    """A slice of the study. The mean of 16 uniform transforms is off by 0.07 as a rule."""
    cases = quick_cases(16)
    transforms = []
    for case in cases:
        by_day = forecast(case).by_day
        day = scores.BEYOND if case.run_out is None else case.run_out
        transforms.append(sum(scores.pit_range(by_day, day)) / 2.0)
    assert abs(float(np.mean(transforms)) - 0.5) < 3.5 / math.sqrt(12 * len(cases))
    assert float(np.std(transforms)) > 0.15


def row_of(by_day: tuple[float, ...], run_out: int | None) -> Row:
    return Row(
        number=0,
        group="unknown chest",
        regimen="daily",
        asked=3,
        recorded=3,
        by_day=by_day,
        run_out=run_out,
        bottles={},
        used={},
        past=(),
        gap_days=1.0,
        is_evening=False,
    )


def test_the_summary_tells_a_right_forecast_from_one_that_is_too_late() -> None:
    by_day = tuple(np.arange(1, 101) / 100)
    right = summary([row_of(by_day, day) for day in range(100)])
    late = summary([row_of(by_day, day // 2) for day in range(100)])
    assert right["pit_bins"] == pytest.approx([0.1] * 10)
    assert late["pit_bins"] == pytest.approx([0.2] * 5 + [0.0] * 5)
    intervals = right["intervals"]
    assert isinstance(intervals, dict)
    for level, found in intervals.items():
        assert found["pit"] == pytest.approx(float(level))
        assert found["seen"] == pytest.approx(found["promised"], abs=1e-4)


def test_goods_that_last_beyond_the_horizon_are_one_last_day() -> None:
    row = row_of((0.1, 0.2), None)
    assert happened(row) == scores.BEYOND
    assert scores.pit_range(row.by_day, happened(row)) == (0.2, 1.0)


def test_a_run_goes_on_where_it_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = {n: row_of((n / 10, 1.0), n) for n in range(4)}
    monkeypatch.setattr(rows, "FOLDER", tmp_path)
    monkeypatch.setattr(rows, "make_row", lambda number, world: made[number])
    assert rows.run_slice("fading", households=2, seconds=60.0) == 2
    assert rows.run_slice("fading", households=4, seconds=60.0) == 4
    assert [row.by_day[0] for row in rows.read_rows(rows.rows_path("fading"))] == [0, 0.1, 0.2, 0.3]


def test_a_line_holds_what_the_summary_needs() -> None:
    row = make_row(1, AS_THE_MODEL, seed=SEED)
    assert row.asked == 3
    assert len(row.past) == 3
    assert sum(row.bottles["7"]) == pytest.approx(1.0, abs=1e-5)
    assert row.used["7"] <= row.used["28"]


def test_the_page_of_results_shows_the_stored_summaries() -> None:
    assert results.TARGET.read_text(encoding="utf-8") == results.render()
