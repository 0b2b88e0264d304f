"""A copy of an SQLite database, made while the server may be writing to it."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy.engine import make_url

from app.settings import BadSetting, Settings


def back_up(settings: Settings, target: Path) -> str:
    """Copy the database into a new file that only its owner can read.

    The copy is made by SQLite itself, so it is whole although others write meanwhile; it is
    checked before it gets its name.

    Returns:
        The file's path.

    Raises:
        BadSetting: saying what stands in the way and what to do.

    References:
        SQLite documentation, "SQLite Backup API" (sqlite.org/backup.html).
    """
    source = _source(settings)
    if target.exists():
        raise BadSetting(f"FILE is {target}: it is there already; give the copy a new name.")
    part = target.with_name(f"{target.name}.part")
    try:
        part.unlink(missing_ok=True)
        os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        _copy(source, part)
        part.rename(target)
    except OSError as error:
        reason = (error.strerror or "cannot be written").lower()
        raise BadSetting(f"FILE is {target}: {reason}; choose another place.") from None
    except sqlite3.Error as error:
        raise BadSetting(f"The database could not be copied: {error}. Nothing is kept.") from None
    finally:
        part.unlink(missing_ok=True)
    return str(target)


def _source(settings: Settings) -> Path:
    url = make_url(settings.database_url)
    if url.get_backend_name() != "sqlite":
        raise BadSetting(
            "EBBSTOCK_DATABASE_URL names postgresql: copy that with its own command, for example "
            "pg_dump --format=custom --file=FILE; pg_restore reads it in again."
        )
    source = Path(url.database or "")
    if not url.database or not source.is_file():
        raise BadSetting(
            "EBBSTOCK_DATABASE_URL names no file that is there: check the address, or start the "
            "server once."
        )
    return source


def _copy(source: Path, target: Path) -> None:
    address = f"{source.resolve().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(address, uri=True)) as old,
        closing(sqlite3.connect(target)) as new,
    ):
        old.backup(new)
        # One file without a side file, so that it can be moved as it is.
        new.execute("PRAGMA journal_mode = DELETE")
        (found,) = new.execute("PRAGMA integrity_check").fetchone()
    if found != "ok":
        raise sqlite3.DatabaseError("the copy is not whole")
