"""The database: engine, connection settings and tables."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Engine, Table, event, inspect
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import ConnectionPoolEntry
from sqlalchemy.schema import CreateColumn
from sqlalchemy.sql.base import ReadOnlyColumnCollection
from sqlmodel import Session, SQLModel, create_engine

# Imported so that their tables are known before they are made.
from app import (  # noqa: F401
    models,
    models_feed,
    models_links,
    models_orders,
    models_reminders,
    models_settings,
    models_shelf,
)

SQLITE_PRAGMAS = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA busy_timeout = 10000",
)


def open_engine(database_url: str) -> Engine:
    """Open SQLite or PostgreSQL, whichever the address names.

    A missing folder for an SQLite file is made. Tables are made by `create_tables`. Values
    are kept out of error texts, as those may end up in a log.
    """
    url = make_url(database_url)
    if url.get_backend_name() != "sqlite":
        driver = url.drivername if "+" in url.drivername else "postgresql+psycopg"
        return create_engine(url.set(drivername=driver), pool_pre_ping=True, hide_parameters=True)
    if url.database and url.database != ":memory:":
        Path(url.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(url, connect_args={"check_same_thread": False}, hide_parameters=True)
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN"))
    return engine


def _set_up_sqlite(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    # The driver must not start transactions by itself, or reads would stand outside of them.
    connection.isolation_level = None
    cursor = connection.cursor()
    for pragma in SQLITE_PRAGMAS:
        cursor.execute(pragma)
    cursor.close()


def create_tables(engine: Engine) -> None:
    """Make every table, and every column of an older table, that is not there yet.

    A column that comes to a table later must be nullable or have a server default, since
    rows may be there already.
    """
    SQLModel.metadata.create_all(engine)
    for column in _missing_columns(engine):
        _add_column(engine, column)


def _missing_columns(engine: Engine) -> list[Column[Any]]:
    found = inspect(engine).get_multi_columns()
    present = {(table, one["name"]) for (_, table), columns in found.items() for one in columns}
    tables = SQLModel.metadata.sorted_tables
    columns = [column for table in tables for column in table.columns]
    return [one for one in columns if (one.table.name, one.name) not in present]


def _add_column(engine: Engine, column: Column[Any]) -> None:
    quoted = engine.dialect.identifier_preparer.format_table(column.table)
    definition = CreateColumn(column).compile(dialect=engine.dialect)
    try:
        with engine.begin() as connection:
            connection.exec_driver_sql(f"ALTER TABLE {quoted} ADD COLUMN {definition}")
    except DBAPIError:
        # Another process that starts at the same moment may have added it first.
        if column in _missing_columns(engine):
            raise


def open_session(engine: Engine) -> Session:
    """A session whose objects stay readable after a commit."""
    return Session(engine, expire_on_commit=False)


@contextmanager
def transaction(engine: Engine) -> Iterator[Session]:
    """One transaction: all of it is saved, or nothing."""
    with open_session(engine) as db, db.begin():
        yield db


@contextmanager
def whole(db: Session) -> Iterator[None]:
    """The same in a session that is open already; what was read before is read anew."""
    db.commit()
    try:
        yield
        db.commit()
    except BaseException:
        db.rollback()
        raise


def columns(row: type[SQLModel]) -> ReadOnlyColumnCollection[str, Column[Any]]:
    """The plain columns of a table, for what every request asks: quicker than attributes."""
    table: Table = row.__table__  # type: ignore[attr-defined]
    return table.columns


def upsert(db: Session, row: SQLModel) -> None:
    """Write a row over the one with the same primary key; the caller commits.

    It is one statement, so two writers take turns and neither fails.
    """
    table = type(row).__table__  # type: ignore[attr-defined]
    make = postgresql.insert if db.get_bind().dialect.name == "postgresql" else sqlite.insert
    values = row.model_dump()
    keys = [column.name for column in table.primary_key]
    rest = {name: value for name, value in values.items() if name not in keys}
    db.execute(make(table).values(**values).on_conflict_do_update(index_elements=keys, set_=rest))
