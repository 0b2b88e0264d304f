"""Starting the server and the demo."""

from __future__ import annotations

import logging
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from sqlalchemy import Engine

from app import demo
from app.admin import join_address, make_first_link
from app.db import create_tables, open_engine, open_session
from app.mail import MailSettings
from app.main import create_app
from app.middleware import LOG as REQUEST_LOG
from app.planning import plans_for
from app.reminding import Reminder, post_of
from app.settings import SEED_SCENARIOS, Settings

Tell = Callable[[str], None]


def serve(settings: Settings, mail: MailSettings | None = None, *, tell: Tell = print) -> None:
    """Serve the application until it is stopped. Request lines are logged by the app itself.

    Args:
        settings: where and from which database.
        mail: where reminders go; None sends none.
        tell: is given the link for the first account while there is none.
    """
    logging.Formatter.converter = time.gmtime
    logging.basicConfig(format="%(asctime)sZ %(message)s", datefmt="%Y-%m-%dT%H:%M:%S")
    REQUEST_LOG.setLevel(logging.INFO)
    application = create_app(settings, replan=True)
    application.state.mail_reaches_people = mail is not None and mail.reaches_people
    if mail is not None and mail.reaches_people:
        application.state.post = post_of(settings, mail)
    tell_first_link(settings, tell)
    config = uvicorn.Config(
        application,
        host=settings.host,
        port=settings.port,
        access_log=False,
        server_header=False,
        log_level="warning",
    )
    with reminders_sent(settings, mail):
        uvicorn.Server(config).run()


def tell_first_link(settings: Settings, tell: Tell = print) -> None:
    """Say how the first account is made, as long as there is none."""
    secret = make_first_link(settings)
    if secret is not None:
        tell("Nobody has an account yet. Open this link within 24 hours to make the first one.")
        tell("It works once. Whoever has it gets in, so keep it to yourself.")
        tell(join_address(settings, secret))
        sys.stdout.flush()


@contextmanager
def reminders_sent(settings: Settings, mail: MailSettings | None) -> Iterator[None]:
    """Send reminders in the background for the time of the block."""
    if mail is None:
        yield
        return
    engine = open_engine(settings.database_url)
    create_tables(engine)
    reminder = Reminder(engine, post_of(settings, mail))
    reminder.start()
    try:
        yield
    finally:
        reminder.stop()
        engine.dispose()


def run_demo(
    settings: Settings,
    mail: MailSettings | None = None,
    *,
    folder: Path = SEED_SCENARIOS,
    tell: Tell = print,
) -> None:
    """Load the demo into a new database, say where it is, and serve it.

    A database that holds households is left as it is.
    """
    prepare_demo(settings, folder=folder, tell=tell)
    tell("")
    tell(f"Ebbstock is ready at {settings.base_url}/")
    tell(f"Sign in with one of these; the password is {demo.PASSWORD}")
    tell(f"  patient      {demo.PATIENT}")
    tell(f"  carer        {demo.CARER}")
    tell(f"  coordinator  {demo.COORDINATOR}")
    tell("Stop it with Ctrl+C.")
    serve(settings, mail)


def prepare_demo(settings: Settings, *, folder: Path = SEED_SCENARIOS, tell: Tell = print) -> None:
    """Load the demo and compute its first plans, unless the database holds households."""
    engine = open_engine(settings.database_url)
    try:
        create_tables(engine)
        if demo.has_households(engine):
            tell("The database holds households already; they are kept.")
            return
        tell("Loading the invented households of the demo ...")
        household_ids = demo.load_demo(engine, folder)
        compute_plans(engine, household_ids, tell)
    finally:
        engine.dispose()


def compute_plans(engine: Engine, household_ids: tuple[str, ...], tell: Tell) -> None:
    """Compute and store plans, telling how far it has come."""
    total = len(household_ids)
    step = max(total // 5, 1)
    with open_session(engine) as db:
        for done, _ in enumerate(plans_for(db, household_ids), 1):
            if done % step == 0 or done == total:
                tell(f"Planned {done} of {total} households")
                sys.stdout.flush()
