"""Watches that no change of a household's record is saved without a new version of it."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field

from sqlalchemy import Connection, Engine, event

RECORD_TABLES = {
    "household",
    "contact",
    "item",
    "regimen",
    "catheter",
    "supplier",
    "closure",
    "pause",
    "authorized",
    "setting_change",
    "bottle",
    "drain_session",
    "ledger",
    "order_line",
    "order_step",
    "supply_order",
}
"""What a record is read from."""

NOT_IN_A_RECORD = {"recorded_by", "confirmed_account_id", "file_id"}
"""Columns of those tables that a record has not."""

_WRITE = re.compile(r'(INSERT INTO|UPDATE|DELETE FROM) "?(\w+)"?(.*)', re.DOTALL)
_LOCK = "SET name=household.name"
"""Sets a name to itself, so that others wait."""


@dataclass
class _Transaction:
    written: set[str] = field(default_factory=set)
    is_told: bool = False


@dataclass
class WatchedChanges:
    """What was saved; `silent` names the tables of each change that left the version as it was."""

    seen: int = 0
    silent: list[set[str]] = field(default_factory=list)
    _running: defaultdict[Connection, _Transaction] = field(
        default_factory=lambda: defaultdict(_Transaction)
    )

    def note(self, connection: Connection, statement: str) -> None:
        """One statement."""
        found = _WRITE.match(statement)
        if found is None or found[2] not in RECORD_TABLES or _LOCK in found[3]:
            return
        verb, table, rest = found.groups()
        columns = set(re.findall(r"(\w+)=", rest.partition(" WHERE ")[0]))
        if verb == "UPDATE" and columns <= NOT_IN_A_RECORD:
            return
        running = self._running[connection]
        running.written.add(table)
        # A household that is new or gone has no version that anybody could remember.
        running.is_told |= table == "household" and (verb != "UPDATE" or "input_version" in columns)

    def end(self, connection: Connection, *, saved: bool) -> None:
        """The end of a transaction."""
        running = self._running.pop(connection, None)
        if running is None or not saved:
            return
        self.seen += 1
        if not running.is_told:
            self.silent.append(running.written)


def watch(engine: Engine) -> WatchedChanges:
    """Watch everything that is saved through an engine from now on."""
    changes = WatchedChanges()
    event.listen(
        engine,
        "before_cursor_execute",
        lambda connection, _cursor, statement, *_rest: changes.note(connection, statement),
    )
    event.listen(engine, "commit", lambda connection: changes.end(connection, saved=True))
    event.listen(engine, "rollback", lambda connection: changes.end(connection, saved=False))
    return changes
