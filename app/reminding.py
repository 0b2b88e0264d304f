"""Sends reminders: once for a command that cron starts, or again and again in the server."""

from __future__ import annotations

import logging
from collections import Counter

from sqlalchemy import Engine

from app import clock
from app.db import create_tables, open_engine, open_session
from app.mail import MailSettings, Outcome, make_mailer
from app.rounds import Rounds
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


class Reminder(Rounds):
    """One thread that sends what is due until it is stopped."""

    log = LOG
    trouble = "reminders could not be sent"

    def __init__(self, engine: Engine, post: Post, *, every_seconds: float = EVERY_SECONDS) -> None:
        super().__init__(every_seconds=every_seconds)
        self._engine = engine
        self._post = post

    def one_round(self) -> None:
        """Send what is due now."""
        with open_session(self._engine) as db:
            remind(db, self._post, clock.utc_now())
