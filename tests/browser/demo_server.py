"""Serves part of the demo from a database of its own: `demo_server.py DATABASE PORT`."""

from __future__ import annotations

import shutil
import sys
import tempfile
from datetime import time, timedelta
from pathlib import Path

import uvicorn
from sqlmodel import Session, select

from app import clock
from app.db import create_tables, open_engine, transaction
from app.demo import HOME_FILE, SECOND_FILE, load_demo
from app.main import create_app
from app.models import FeedRow, MembershipRow
from app.models_links import OneTimeLinkRow
from app.models_reminders import OutboxRow, ReminderChoiceRow
from app.security import hash_secret
from app.settings import SEED_SCENARIOS, Settings
from tests.browser.every_page import RESET, SECRET

FILES = (
    HOME_FILE,
    SECOND_FILE,
    "brand_new.toml",
    "hospital_stay.toml",
    "runs_short.toml",
    "shelf_troubles.toml",
    "two_catheters.toml",
)
"""Few enough to be planned quickly; between them, pages show every state there is."""


def add_secret_links(db: Session) -> None:
    """Give the patient a calendar address, a link that stops messages, an invite and the like."""
    mine = db.exec(select(MembershipRow).where(MembershipRow.role == "patient")).first()
    assert mine is not None
    now = clock.utc_now()
    choice = ReminderChoiceRow(
        account_id=mine.account_id,
        household_id=mine.household_id,
        quiet_from=time(22),
        quiet_until=time(7),
        time_zone="Europe/Lisbon",
        changed_at=now,
    )
    db.add(choice)
    db.flush()
    sent = OutboxRow(
        choice_id=choice.id or 0,
        fact_key="shown",
        state="sent",
        next_try_at=now,
        changed_at=now,
        stop_hash=hash_secret(SECRET),
    )
    feed = FeedRow(
        feed_key="shown",
        token_hash=hash_secret(SECRET),
        account_id=mine.account_id,
        household_id=mine.household_id,
        created_at=now,
    )
    invite = OneTimeLinkRow(
        token_hash=hash_secret(SECRET),
        purpose="invite",
        household_id=mine.household_id,
        role="viewer",
        made_by=mine.account_id,
        note="a neighbour",
        made_at=now,
        expires_at=now + timedelta(days=7),
    )
    reset = OneTimeLinkRow(
        token_hash=hash_secret(RESET),
        purpose="password",
        account_id=mine.account_id,
        made_at=now,
        expires_at=now + timedelta(days=1),
    )
    db.add_all([sent, feed, invite, reset])


def main() -> None:
    """Load the chosen scenarios and serve them until the process is ended."""
    database, port = sys.argv[1], int(sys.argv[2])
    engine = open_engine(f"sqlite:///{database}")
    create_tables(engine)
    with tempfile.TemporaryDirectory() as folder:
        for name in FILES:
            shutil.copy(SEED_SCENARIOS / name, folder)
        load_demo(engine, Path(folder))
    with transaction(engine) as db:
        add_secret_links(db)
    settings = Settings(base_url=f"http://127.0.0.1:{port}", port=port)
    uvicorn.run(create_app(settings, engine), port=port, log_level="error")


if __name__ == "__main__":
    main()
