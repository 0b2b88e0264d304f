"""Copying the database while it is in use, and starting from the copy."""

from __future__ import annotations

import sqlite3
import stat
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from app import backup
from app.access import HouseholdAccess
from app.cli import BAD_INPUT, OK, main
from app.convert import read_household
from app.db import create_tables, open_engine, open_session
from app.services import count_item
from app.writing import Request
from tests.app.data_builders import KIT, NOW


@pytest.fixture
def db(sqlite_engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Session:
    """Only SQLite is copied by the command."""
    monkeypatch.setenv("EBBSTOCK_DATABASE_URL", f"sqlite:///{tmp_path}/ebbstock.db")
    return open_session(sqlite_engine)


def test_the_copy_holds_everything_and_opens_as_a_database(
    db: Session, carer: HouseholdAccess, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Not yet in the main file: SQLite keeps the latest writes beside it.
    count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=9, at=NOW)
    whole = read_household(db, "home")
    target = tmp_path / "copy.db"
    assert main(["backup", str(target)]) == OK
    assert str(target) in capsys.readouterr().out
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    assert sorted(path.name for path in tmp_path.glob("copy*")) == ["copy.db"]
    engine = open_engine(f"sqlite:///{target}")
    create_tables(engine)
    with open_session(engine) as copy:
        assert read_household(copy, "home") == whole
    engine.dispose()
    db.close()


def test_a_copy_made_while_others_write_is_whole(
    db: Session, carer: HouseholdAccess, tmp_path: Path
) -> None:
    done = Event()

    def write() -> None:
        while not done.is_set():
            count_item(Request(db=db, access=carer, now=NOW), item_code=KIT, units=9, at=NOW)

    writer = Thread(target=write)
    writer.start()
    try:
        codes = [main(["backup", str(tmp_path / f"copy{n}.db")]) for n in range(5)]
    finally:
        done.set()
        writer.join()
    assert codes == [OK] * 5
    counted = []
    for n in range(5):
        with sqlite3.connect(tmp_path / f"copy{n}.db") as copy:
            (entries,) = copy.execute("SELECT count(*) FROM ledger").fetchone()
            (version,) = copy.execute(
                "SELECT input_version FROM household WHERE id = 'home'"
            ).fetchone()
        # Six entries were there before; each count adds one and raises the version by one.
        assert entries == 6 + version - 1
        counted.append(entries)
        copy.close()
    assert counted == sorted(counted)
    db.close()


def test_an_existing_file_is_never_written_over(
    db: Session, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "copy.db"
    target.write_text("precious")
    assert main(["backup", str(target)]) == BAD_INPUT
    assert capsys.readouterr().err == (
        f"FILE is {target}: it is there already; give the copy a new name.\n"
    )
    assert target.read_text() == "precious"


@pytest.mark.parametrize(
    ("url", "sentence"),
    [
        ("postgresql://t@/t", "EBBSTOCK_DATABASE_URL names postgresql: copy that with its own"),
        ("sqlite:///nowhere/x.db", "EBBSTOCK_DATABASE_URL names no file that is there"),
        ("sqlite://", "EBBSTOCK_DATABASE_URL names no file that is there"),
    ],
)
def test_what_cannot_be_copied_is_said(
    url: str,
    sentence: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("EBBSTOCK_DATABASE_URL", url)
    assert main(["backup", str(tmp_path / "copy.db")]) == BAD_INPUT
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(sentence)
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_written_is_named(
    db: Session, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "nowhere" / "copy.db"
    assert main(["backup", str(target)]) == BAD_INPUT
    assert capsys.readouterr().err == (
        f"FILE is {target}: no such file or directory; choose another place.\n"
    )


def test_a_copy_that_fails_leaves_nothing_behind(
    db: Session,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fail(*args: object) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr(backup, "_copy", fail)
    assert main(["backup", str(tmp_path / "copy.db")]) == BAD_INPUT
    assert "The database could not be copied: disk I/O error." in capsys.readouterr().err
    assert list(tmp_path.glob("copy*")) == []
