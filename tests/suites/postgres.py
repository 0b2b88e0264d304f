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

FAST = ("fsync=off", "full_page_writes=off", "synchronous_commit=off", "listen_addresses=")


class PostgresMissing(RuntimeError):
    """The server's programs are not on this machine."""


@contextmanager
def throw_away_postgres(*, start: bool = True) -> Iterator[str]:
    """Run a server for the time of the block and give its SQLAlchemy address.

    Args:
        start: False only looks whether the programs are there.

    Raises:
        PostgresMissing: when they are not.
    """
    initdb, postgres = _program("initdb"), _program("postgres")
    if not start:
        yield ""
        return
    folder = Path(tempfile.mkdtemp(prefix="ebbstock-pg-"))
    user = _unprivileged()
    if user is not None:
        os.chown(folder, user.pw_uid, user.pw_gid)
    data, log = folder / "data", folder / "log"
    as_user = {} if user is None else {"user": user.pw_uid, "group": user.pw_gid}
    subprocess.run(
        [initdb, "-D", data, "-U", "t", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N"],
        check=True,
        cwd=folder,
        stdout=subprocess.DEVNULL,
        **as_user,  # type: ignore[call-overload]
    )
    settings = [word for setting in FAST for word in ("-c", setting)]
    with log.open("wb") as errors:
        server = subprocess.Popen(
            [postgres, "-D", data, "-k", folder, *settings],
            cwd=folder,
            stdout=subprocess.DEVNULL,
            stderr=errors,
            **as_user,  # type: ignore[call-overload]
        )
    try:
        _wait_for(folder / ".s.PGSQL.5432", log)
        yield f"postgresql+psycopg://t@/postgres?host={folder}"
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(15)
        shutil.rmtree(folder, ignore_errors=True)


def _program(name: str) -> str:
    found = shutil.which(name) or next(
        (str(path) for path in sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))), None
    )
    if found is None:
        raise PostgresMissing("PostgreSQL")
    return found


def _unprivileged() -> pwd.struct_passwd | None:
    """The server refuses to run as root, so root steps down."""
    if os.geteuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return pwd.getpwnam("postgres" if "postgres" in names else "nobody")


def _wait_for(socket: Path, log: Path) -> None:
    for _ in range(200):
        if socket.exists():
            return
        time.sleep(0.05)
    raise RuntimeError("PostgreSQL did not start: " + log.read_text(encoding="utf-8")[-500:])
