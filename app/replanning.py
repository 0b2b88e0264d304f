"""Keeps stored plans up to date in the background, so that no page waits for many of them.

A new day or a passed cut-off makes every plan old at once. One thread computes them again, most
urgent first, while pages go on showing the last ones.
"""

from __future__ import annotations

import logging

from sqlalchemy import Engine

from app.db import open_session
from app.planning import refresh, stale_household_ids
from app.rounds import Rounds

LOG = logging.getLogger("ebbstock.planning")

EVERY_SECONDS = 60.0
PAUSE_SECONDS = 0.05
"""Left free after each plan, so that people's requests come through. [s]"""


class Replanner(Rounds):
    """One thread that computes old plans again until it is stopped."""

    log = LOG
    trouble = "plans could not be kept up to date"

    def __init__(self, engine: Engine, *, every_seconds: float = EVERY_SECONDS) -> None:
        super().__init__(every_seconds=every_seconds)
        self._engine = engine

    def one_round(self) -> None:
        """Compute every old plan again, most urgent first."""
        with open_session(self._engine) as db:
            household_ids = stale_household_ids(db)
            db.commit()
            for household_id in household_ids:
                if self.pause(PAUSE_SECONDS):
                    return
                refresh(db, household_id)
                db.commit()
