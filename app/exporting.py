"""A household of the database as a scenario file."""

from __future__ import annotations

from app.clock import today_in
from app.convert import read_household
from app.db import create_tables, open_engine, open_session
from app.settings import Settings
from planner.scenario import ScenarioFile
from planner.scenario_writer import write_scenario


def export_household(settings: Settings, household_id: str) -> str | None:
    """Write a household's whole record as of its today; None when there is no such household."""
    engine = open_engine(settings.database_url)
    try:
        create_tables(engine)
        with open_session(engine) as db:
            household = read_household(db, household_id)
    finally:
        engine.dispose()
    if household is None:
        return None
    as_of = today_in(household.time_zone)
    return write_scenario(ScenarioFile(as_of=as_of, households=(household,)))
