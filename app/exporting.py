"""A household of the database as a scenario file."""

from __future__ import annotations

from dataclasses import replace

from sqlmodel import Session

from app.clock import today_in
from app.convert import read_household
from app.db import create_tables, open_engine, open_session
from app.models import HouseholdRow
from app.settings import Settings
from planner.scenario import ScenarioFile
from planner.scenario_writer import write_scenario


def household_file(db: Session, household_id: str) -> str | None:
    """A household's whole record as of its today, as a file; None when there is none."""
    household = read_household(db, household_id)
    if household is None:
        return None
    row = db.get_one(HouseholdRow, household_id)
    named = replace(household, id=row.file_id or household_id)
    return write_scenario(ScenarioFile(as_of=today_in(household.time_zone), households=(named,)))


def export_household(settings: Settings, household_id: str) -> str | None:
    """The same for a command, which has no database open yet."""
    engine = open_engine(settings.database_url)
    try:
        create_tables(engine)
        with open_session(engine) as db:
            return household_file(db, household_id)
    finally:
        engine.dispose()
