"""Reminders from the command line and from the running server."""

from __future__ import annotations

import time as clock_time
from collections.abc import Iterator
from contextlib import nullcontext
from datetime import time
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from app.access import HouseholdAccess
from app.cli import BAD_INPUT, OK, main
from app.mail import MailSettings, SmtpServer
from app.models import AccountRow, LoginRow
from app.reminders import Choices, ReminderKind
from app.reminding import Reminder
from app.security import new_secret
from app.services import count_item
from app.services_reminders import Post, remind, save_choices
from app.serving import reminders_sent, serve
from app.settings import Settings
from app.writing import Request
from tests.app.data_builders import KIT, NOW, UTC_NOW
from tests.app.reminder_builders import Inbox, Sink, mail_server


@pytest.fixture
def db(sqlite_engine: Engine) -> Iterator[Session]:
    """One kind of database is enough here."""
    with Session(sqlite_engine, expire_on_commit=False) as session:
        yield session


@pytest.fixture
def settings(sqlite_engine: Engine, db: Session, carer: HouseholdAccess) -> Settings:
    """A database in which the carer of a short household wants to hear of it."""
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=1, at=NOW)
    wanted = Choices(wanted=frozenset({ReminderKind.RISK}), quiet_from=time(0), quiet_until=time(0))
    save_choices(db, carer, wanted, UTC_NOW)
    return Settings(database_url=str(sqlite_engine.url))


@pytest.fixture
def inbox() -> Iterator[Inbox]:
    with mail_server() as running:
        yield running


def run(settings: Settings, mail: str, monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.setenv("EBBSTOCK_DATABASE_URL", settings.database_url)
    monkeypatch.setenv("EBBSTOCK_MAIL", mail)
    return main(["remind", *arguments])


def test_the_command_sends_what_is_due_once_and_says_how_much(
    settings: Settings,
    inbox: Inbox,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    mail = f"smtp://127.0.0.1:{inbox.port}"
    assert run(settings, mail, monkeypatch) == OK
    assert capsys.readouterr().out == "Reminders: 1 sent, 0 later, 0 not.\n"
    assert run(settings, mail, monkeypatch) == OK
    assert capsys.readouterr().out == "Reminders: 0 sent, 0 later, 0 not.\n"
    assert len(inbox.taken) == 1


def test_the_command_tells_of_a_server_that_does_not_answer(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with mail_server() as gone:
        mail = f"smtp://127.0.0.1:{gone.port}"
    assert run(settings, mail, monkeypatch) == OK
    assert capsys.readouterr().out == "Reminders: 0 sent, 1 later, 0 not.\n"


def test_the_command_writes_into_a_folder(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(settings, f"file:{tmp_path}/mail", monkeypatch) == OK
    (path,) = (tmp_path / "mail").iterdir()
    assert b"Subject: Act on supplies today" in path.read_bytes()


@pytest.mark.parametrize("command", ["remind", "serve", "demo"])
def test_a_bad_setting_is_one_sentence(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("EBBSTOCK_MAIL", "pigeon")
    assert main([command]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("EBBSTOCK_MAIL cannot be read: write file:FOLDER")
    assert said.err.count("\n") == 1


def test_the_server_sends_in_the_background(settings: Settings, inbox: Inbox) -> None:
    place = SmtpServer(host="127.0.0.1", port=inbox.port)
    with reminders_sent(settings, MailSettings(place=place)):
        until = clock_time.monotonic() + 10
        while not inbox.taken:
            assert clock_time.monotonic() < until
            clock_time.sleep(0.02)
    assert len(inbox.taken) == 1


def test_without_a_place_for_mail_the_server_sends_nothing(settings: Settings) -> None:
    with reminders_sent(settings, None):
        pass


def test_a_busy_database_does_not_end_the_rounds(
    sqlite_engine: Engine,
    settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    sink = Sink()
    failures = [OperationalError("UPDATE secret-detail", {}, Exception("database is locked"))]

    def at_first_busy(*arguments: object) -> object:
        if failures:
            raise failures.pop()
        return remind(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr("app.reminding.remind", at_first_busy)
    post = Post(mailer=sink, sender="supplies@clinic.example", base_url="https://ebb.example")
    reminder = Reminder(sqlite_engine, post, every_seconds=0.01)
    reminder.start()
    until = clock_time.monotonic() + 10
    while not sink.taken:
        assert clock_time.monotonic() < until
        clock_time.sleep(0.02)
    reminder.stop()
    assert sink.tries == 1
    assert "reminders could not be sent: OperationalError" in caplog.text
    assert "secret-detail" not in caplog.text


@pytest.mark.parametrize(
    ("place", "told"), [(Path("mail"), True), (SmtpServer(host="mail.example", port=25), False)]
)
def test_the_page_says_when_messages_reach_nobody(
    place: Path | SmtpServer,
    told: bool,
    settings: Settings,
    people: dict[str, AccountRow],
    db: Session,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    served: list[FastAPI] = []
    monkeypatch.setattr("app.serving.reminders_sent", lambda *_: nullcontext())
    monkeypatch.setattr(uvicorn.Server, "run", lambda server: served.append(server.config.app))
    serve(settings, MailSettings(place=place))
    fresh = new_secret()
    db.add(
        LoginRow(
            token_hash=fresh.secret_hash,
            account_id=people["cara"].id or 0,
            created_at=UTC_NOW,
            last_seen_at=UTC_NOW,
        )
    )
    db.commit()
    cookies = {settings.cookie_name: fresh.secret}
    with TestClient(served[0], base_url="http://127.0.0.1:8000", cookies=cookies) as client:
        page = client.get("/h/home/reminders")
    assert page.status_code == 200
    assert ("No mail server is set up here." in page.text) is told
