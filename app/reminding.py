"""Sends reminders: once for a command that cron starts, or again and again in the server."""

from __future__ import annotations

import logging
from collections import Counter
from threading import Event, Thread

from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from app import clock
from app.db import create_tables, open_engine, open_session
from app.mail import MailSettings, Outcome, make_mailer
from app.services_reminders import Post, remind
from app.settings import Settings

LOG = logging.getLogger("ebbstock.reminders")

EVERY_SECONDS = 600.0


def remind_once(settings: Settings, mail: MailSettings) -> Counter[Outcome]:
    """Send what is due now."""
    engine = open_engine(settings.database_url)
    try:
        create_tables(engine)
        with open_session(engine) as db:
            return remind(db, post_of(settings, mail), clock.utc_now())
    finally:
        engine.dispose()


def post_of(settings: Settings, mail: MailSettings) -> Post:
    """How messages leave by these settings."""
    return Post(mailer=make_mailer(mail), sender=mail.sender, base_url=settings.base_url)


class Reminder:
    """One thread that sends what is due until it is stopped."""

    def __init__(self, engine: Engine, post: Post, *, every_seconds: float = EVERY_SECONDS) -> None:
        self._engine = engine
        self._post = post
        self._every_seconds = every_seconds
        self._stopped = Event()
        self._thread = Thread(target=self._run, name="reminder", daemon=True)

    def start(self) -> None:
        """Begin; the first round starts at once."""
        self._thread.start()

    def stop(self) -> None:
        """End after the round at hand."""
        self._stopped.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._stopped.is_set():
            try:
                with open_session(self._engine) as db:
                    remind(db, self._post, clock.utc_now())
            except SQLAlchemyError as error:
                LOG.warning("reminders could not be sent: %s", type(error).__name__)
            self._stopped.wait(self._every_seconds)
