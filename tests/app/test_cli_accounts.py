"""Letting people in from the command line, and the link of the first start."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from app.cli import BAD_INPUT, OK, main
from app.models import AgencyRow, CoordinatorRow
from app.models_links import OneTimeLinkRow
from app.services_accounts import create_account
from app.services_joining import NewPerson, join_as_new
from app.services_own import set_password_by_link
from app.serving import tell_first_link
from app.settings import Settings
from tests.app.data_builders import UTC_NOW

PERSON = NewPerson(name="Nora", email="nora@test.example", password="a long enough one")


@pytest.fixture
def settings(
    tmp_path: Path, sqlite_engine: Engine, monkeypatch: pytest.MonkeyPatch, frozen_clock: None
) -> Settings:
    """The database of the tests, as the command finds it."""
    url = f"sqlite:///{tmp_path}/ebbstock.db"
    monkeypatch.setenv("EBBSTOCK_DATABASE_URL", url)
    monkeypatch.setenv("EBBSTOCK_BASE_URL", "https://supplies.example")
    return Settings(database_url=url, base_url="https://supplies.example")


def secret_in(text: str) -> str:
    found = re.search(r"https://supplies\.example/join/([\w-]{43,})\n", text)
    assert found is not None, text
    return found[1]


def added(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["account", "add", *arguments]) == OK
    said = capsys.readouterr()
    assert said.err == ""
    assert "within 24 hours" in said.out
    return secret_in(said.out)


def test_the_command_gives_a_link_that_opens_an_account(
    settings: Settings, sqlite_engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    secret = added(capsys)
    with Session(sqlite_engine) as db:
        assert join_as_new(db, secret, PERSON, UTC_NOW, "")
        assert db.exec(select(AgencyRow)).all() == []


def test_an_agency_is_made_once(
    settings: Settings, sqlite_engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    added(capsys, "--agency", "Harbour Home Care", "--time-zone", "Europe/Lisbon")
    secret = added(capsys, "--agency", " Harbour Home Care ")
    with Session(sqlite_engine) as db:
        agency = db.exec(select(AgencyRow)).one()
        assert (agency.name, agency.time_zone) == ("Harbour Home Care", "Europe/Lisbon")
        assert re.fullmatch(r"[0-9a-f]{32}", agency.id)
        join_as_new(db, secret, PERSON, UTC_NOW, "")
        assert db.exec(select(CoordinatorRow.agency_id)).all() == [agency.id]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (
            ["--time-zone", "Lisbon"],
            "--time-zone is Lisbon: write a name such as Europe/Lisbon.\n",
        ),
        (["--agency", ""], "--agency is 0 letters long: use 1 to 120.\n"),
        (["--agency", "a" * 121], "--agency is 121 letters long: use 1 to 120.\n"),
    ],
)
def test_bad_arguments_are_named_and_nothing_is_made(
    arguments: list[str],
    sentence: str,
    settings: Settings,
    sqlite_engine: Engine,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["account", "add", *arguments]) == BAD_INPUT
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", sentence)
    with Session(sqlite_engine) as db:
        assert db.exec(select(OneTimeLinkRow)).all() == []
        assert db.exec(select(AgencyRow)).all() == []


def test_the_first_start_tells_a_link_and_a_later_one_does_not(
    settings: Settings, sqlite_engine: Engine
) -> None:
    told: list[str] = []
    tell_first_link(settings, told.append)
    secret = secret_in("\n".join(told) + "\n")
    with Session(sqlite_engine) as db:
        join_as_new(db, secret, PERSON, UTC_NOW, "")
    told.clear()
    tell_first_link(settings, told.append)
    assert told == []


def test_a_link_for_a_lost_password_is_given(
    settings: Settings, sqlite_engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    with Session(sqlite_engine) as db:
        create_account(db, email=PERSON.email, name="Nora", password=PERSON.password, now=UTC_NOW)
        db.commit()
    assert main(["account", "password", " Nora@test.example"]) == OK
    found = re.search(r"https://supplies\.example/password/(\S+)\n", capsys.readouterr().out)
    assert found is not None
    with Session(sqlite_engine) as db:
        set_password_by_link(db, found[1], "another long one", UTC_NOW)
    assert main(["account", "password", "nobody@test.example"]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == (
        "EMAIL is nobody@test.example: nobody signs in with it; check the address.\n"
    )
