"""Studies in slices: each household becomes one line of a file, and a run goes on where it was.

The lines are kept under `.data/studies` for the code that made them; when the forecast or the
simulation changes, a study begins anew. Only their summary is kept for good.
"""

from __future__ import annotations

import hashlib
import json
import time
from dataclasses import asdict, dataclass
from pathlib import Path

from tests.studies.forecasts import USE_WITHIN_DAYS, bottles_used, forecast, make_case
from tests.studies.truth import AS_THE_MODEL, World

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / ".data" / "studies"
SEED = 20260311
_MADE_BY = (
    *(f"planner/{name}.py" for name in ("assumptions", "chain", "consumption", "demand", "joint")),
    *(f"planner/{name}.py" for name in ("normal", "outlook", "runout", "timing", "volume")),
    *(f"tests/studies/{name}.py" for name in ("truth", "forecasts")),
)

WORLDS: dict[str, World] = {
    "as the model": AS_THE_MODEL,
    "jumps ahead": World(jump_chance_ahead=0.005),
    "fading": World(fading_per_week=-0.3),
    "rising": World(fading_per_week=0.15),
    "seasonal": World(season_share=0.3),
    "heavier noise": World(noise_freedom=3.0),
    "one in ten not recorded": World(kept_record=0.9),
    "blocked fluid stays": World(blocked_stays=True),
    "habits just as expected": World(usual_habits=True),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One household of a study.

    Attributes:
        recorded: sessions on record when the plan was made.
        by_day: forecast chance of having run out by the end of each day.
        run_out: the day on which it truly did; None beyond the horizon.
        bottles: forecast distribution of bottles within so many days.
        used: bottles truly opened within so many days.
        past: days before the plan and bottles of each recorded session, oldest first.
        gap_days: usual gap of the prescription. [days]
    """

    number: int
    group: str
    regimen: str
    asked: int
    recorded: int
    by_day: tuple[float, ...]
    run_out: int | None
    bottles: dict[str, tuple[float, ...]]
    used: dict[str, int]
    past: tuple[tuple[int, int], ...]
    gap_days: float
    is_evening: bool


def make_row(number: int, world: World, *, seed: int = SEED) -> Row:
    """Invent a household, forecast it, and see what happens."""
    case = make_case(number, seed=seed, world=world)
    said = forecast(case)
    site, group = case.home.site.value, case.home.group.value
    return Row(
        number=number,
        group=f"{group} {site}" if group == "unknown" else group,
        regimen=case.home.regimen,
        asked=case.asked,
        recorded=len(case.past),
        by_day=tuple(round(chance, 7) for chance in said.by_day),
        run_out=case.run_out,
        bottles={str(k): _short(pmf) for k, pmf in said.bottles.items()},
        used={str(days): bottles_used(case, days) for days in USE_WITHIN_DAYS},
        past=tuple((case.past_days - drain.day, drain.bottles) for drain in case.past),
        gap_days=case.home.usual_gap_days,
        is_evening=case.is_evening,
    )


def _short(pmf: tuple[float, ...]) -> tuple[float, ...]:
    last = max((n for n, chance in enumerate(pmf) if chance > 1e-8), default=0)
    return tuple(round(chance, 9) for chance in pmf[: last + 1])


def rows_path(world: str) -> Path:
    """Where the lines of a study are kept for the code as it is."""
    digest = hashlib.sha256()
    for name in _MADE_BY:
        digest.update((ROOT / name).read_bytes())
    return FOLDER / f"{world.replace(' ', '-')}-{digest.hexdigest()[:12]}.jsonl"


def read_rows(path: Path) -> list[Row]:
    """All lines made so far."""
    if not path.exists():
        return []
    return [Row(**json.loads(line)) for line in path.read_text(encoding="utf-8").splitlines()]


def run_slice(world: str, *, households: int, seconds: float) -> int:
    """Add lines until there are so many households or the time is used up; how many there are."""
    path = rows_path(world)
    path.parent.mkdir(parents=True, exist_ok=True)
    done = len(read_rows(path))
    ends = time.monotonic() + seconds
    with path.open("a", encoding="utf-8") as file:
        while done < households and time.monotonic() < ends:
            row = make_row(done, WORLDS[world])
            file.write(json.dumps(asdict(row)) + "\n")
            file.flush()
            done += 1
    return done
