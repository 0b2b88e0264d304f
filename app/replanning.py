"""Keeps stored plans up to date in the background, so that no page waits for many of them.

A new day or a passed cut-off makes every plan old at once. One thread computes them again, most
urgent first, while pages go on showing the last ones.
"""

from __future__ import annotations

import logging
from threading import Event, Thread

from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from app.db import open_session
from app.planning import refresh, stale_household_ids

LOG = logging.getLogger("ebbstock.planning")

EVERY_SECONDS = 60.0
PAUSE_SECONDS = 0.05
"""Left free after each plan, so that people's requests come through. [s]"""


class Replanner:
    """One thread that computes old plans again until it is stopped."""

    def __init__(self, engine: Engine, *, every_seconds: float = EVERY_SECONDS) -> None:
        self._engine = engine
        self._every_seconds = every_seconds
        self._stopped = Event()
        self._thread = Thread(target=self._run, name="replanner", daemon=True)

    def start(self) -> None:
        """Begin; the first round starts at once."""
        self._thread.start()

    def stop(self) -> None:
        """End after the plan at hand."""
        self._stopped.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._stopped.is_set():
            try:
                self._one_round()
            except SQLAlchemyError as error:
                LOG.warning("plans could not be kept up to date: %s", type(error).__name__)
            self._stopped.wait(self._every_seconds)

    def _one_round(self) -> None:
        with open_session(self._engine) as db:
            household_ids = stale_household_ids(db)
            db.commit()
            for household_id in household_ids:
                if self._stopped.wait(PAUSE_SECONDS):
                    return
                refresh(db, household_id)
                db.commit()
