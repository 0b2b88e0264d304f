"""A throw-away PostgreSQL server on a Unix socket."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypedDict

FAST = ("fsync=off", "full_page_writes=off", "synchronous_commit=off", "listen_addresses=")
START_SECONDS = 20
STOP_SECONDS = 15


class PostgresMissing(RuntimeError):
    """The server's programs are not on this machine."""


class RunAs(TypedDict, total=False):
    """The user a program runs as, in the words of `subprocess`."""

    user: int
    group: int
    extra_groups: list[int]


def find_programs() -> tuple[str, str]:
    """Where initdb and postgres are.

    Raises:
        PostgresMissing: when either is not on this machine.
    """
    return _program("initdb"), _program("postgres")


@contextmanager
def throw_away_postgres() -> Iterator[str]:
    """Run a server for the time of the block and give its SQLAlchemy address.

    Raises:
        PostgresMissing: when its programs are not on this machine.
        RuntimeError: when it does not start.
    """
    initdb, postgres = find_programs()
    # A socket's path may have about a hundred characters, so no deep temporary folder.
    folder = Path(tempfile.mkdtemp(prefix="ebbstock-pg-", dir="/tmp"))
    try:
        run_as = _step_down(folder)
        data, log = folder / "data", folder / "log"
        subprocess.run(
            [initdb, "-D", data, "-U", "t", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N"],
            check=True,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            **run_as,
        )
        settings = [word for setting in FAST for word in ("-c", setting)]
        with log.open("wb") as errors:
            server = subprocess.Popen(
                [postgres, "-D", data, "-k", folder, *settings],
                cwd=folder,
                stdout=subprocess.DEVNULL,
                stderr=errors,
                **run_as,
            )
        try:
            _wait_for(folder / ".s.PGSQL.5432", server, log)
            yield f"postgresql+psycopg://t@/postgres?host={folder}"
        finally:
            # SIGINT ends open connections; SIGTERM would wait for them.
            server.send_signal(signal.SIGINT)
            server.wait(STOP_SECONDS)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _program(name: str) -> str:
    installed = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    found = shutil.which(name) or (str(installed[-1]) if installed else None)
    if found is None:
        raise PostgresMissing("PostgreSQL is missing")
    return found


def _step_down(folder: Path) -> RunAs:
    """The server refuses to run as root, so root gives the folder to another user."""
    if os.geteuid() != 0:
        return {}
    names = {entry.pw_name for entry in pwd.getpwall()}
    user = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
    os.chown(folder, user.pw_uid, user.pw_gid)
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


def _wait_for(socket: Path, server: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + START_SECONDS
    while not socket.exists():
        if server.poll() is not None or time.monotonic() > end:
            said = log.read_text(encoding="utf-8", errors="replace")[-500:]
            raise RuntimeError(f"PostgreSQL did not start: {said}")
        time.sleep(0.05)
