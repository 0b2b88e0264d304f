"""A household of the database as a scenario file."""

from __future__ import annotations

from dataclasses import replace

from sqlmodel import Session

from app.changes_rows import read_changes
from app.clock import today_in
from app.convert import read_household
from app.db import create_tables, open_engine, open_session
from app.later_settings import later_text
from app.models import HouseholdRow
from app.settings import Settings
from planner.scenario import ScenarioFile
from planner.scenario_writer import write_scenario

NOT_EXPORTED = {
    "membership": "people belong to this server",
    "feed": "calendar addresses are secrets of this server",
    "reminder_choice": "each person chooses anew",
    "one_time_link": "links are secrets of this server",
    "stored_plan": "worked out again from the record",
    "submission": "only guards against forms that are sent twice",
    "setting_change": "the file holds what is set on its day and for later days, not its history",
    "declined_order": "an answer that changes no plan",
    "lot_recall": "the entry itself is in the file; what an agency marked at once is its own",
    "carton_code": "asked again when a box is next read",
}
"""Tables of a household that its file leaves out, and why."""


def household_file(db: Session, household_id: str) -> str | None:
    """A household's whole record as of its today, as a file; None when there is none."""
    household = read_household(db, household_id)
    if household is None:
        return None
    row = db.get_one(HouseholdRow, household_id)
    named = replace(household, id=row.file_id or household_id)
    today = today_in(household.time_zone)
    record = write_scenario(ScenarioFile(as_of=today, households=(named,)))
    return record + later_text(read_changes(db, household_id), today)


def export_household(settings: Settings, household_id: str) -> str | None:
    """The same for a command, which has no database open yet."""
    engine = open_engine(settings.database_url)
    try:
        create_tables(engine)
        with open_session(engine) as db:
            return household_file(db, household_id)
    finally:
        engine.dispose()
