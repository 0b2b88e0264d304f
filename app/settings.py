"""Settings of the application, read from the environment once at the start."""

from __future__ import annotations

import socket
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError

ROOT = Path(__file__).resolve().parent.parent
TEMPLATES = ROOT / "templates"
STATIC = ROOT / "app" / "static"
SEED_SCENARIOS = ROOT / "seed_scenarios"

_TRUE = ("1", "true", "yes", "on")
_FALSE = ("0", "false", "no", "off", "")


class BadSetting(ValueError):
    """An environment variable holds a value that cannot be used."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Everything that can be set from outside.

    Attributes:
        database_url: EBBSTOCK_DATABASE_URL, an SQLAlchemy address. SQLite and PostgreSQL work.
        base_url: EBBSTOCK_BASE_URL, how people reach the pages, for calendar addresses.
        secure_cookies: EBBSTOCK_SECURE_COOKIES; on as soon as base_url begins with https.
        host: EBBSTOCK_HOST, address to listen on.
        port: EBBSTOCK_PORT, port to listen on.
    """

    database_url: str = "sqlite:///.data/ebbstock.db"
    base_url: str = "http://127.0.0.1:8000"
    secure_cookies: bool = False
    host: str = "127.0.0.1"
    port: int = 8000

    @property
    def cookie_name(self) -> str:
        """Name of the sign-in cookie; browsers tie the prefixed one to https and this host."""
        return "__Host-ebbstock" if self.secure_cookies else "ebbstock"


DEFAULTS = Settings()


def read_settings(environ: Mapping[str, str]) -> Settings:
    """Read the settings from environment variables.

    Raises:
        BadSetting: naming the variable, its value and what to write instead.
    """
    host = environ.get("EBBSTOCK_HOST", DEFAULTS.host)
    port = _port(environ.get("EBBSTOCK_PORT", str(DEFAULTS.port)))
    shown_host = "127.0.0.1" if host in ("0.0.0.0", "::") else host  # noqa: S104
    base_url = environ.get("EBBSTOCK_BASE_URL", f"http://{shown_host}:{port}").rstrip("/")
    if not base_url.startswith(("http://", "https://")):
        message = f"EBBSTOCK_BASE_URL is {base_url}: begin it with http:// or https://."
        raise BadSetting(message)
    secure = environ.get("EBBSTOCK_SECURE_COOKIES", str(base_url.startswith("https://")))
    return Settings(
        database_url=_database_url(environ.get("EBBSTOCK_DATABASE_URL", DEFAULTS.database_url)),
        base_url=base_url,
        secure_cookies=_flag("EBBSTOCK_SECURE_COOKIES", secure),
        host=host,
        port=port,
    )


def _database_url(text: str) -> str:
    fix = "write an address like sqlite:///.data/ebbstock.db or postgresql://user@host/name."
    try:
        kind = make_url(text).get_backend_name()
    except (ArgumentError, ValueError):
        # The value is not shown, as it may hold a password.
        message = f"EBBSTOCK_DATABASE_URL cannot be read: {fix}"
        raise BadSetting(message) from None
    if kind not in ("sqlite", "postgresql"):
        message = f"EBBSTOCK_DATABASE_URL names {kind}: {fix}"
        raise BadSetting(message)
    if kind == "postgresql" and find_spec("psycopg") is None:
        message = "EBBSTOCK_DATABASE_URL names postgresql: install the extra `postgres` for it."
        raise BadSetting(message)
    return text


def refuse_taken_address(settings: Settings) -> None:
    """Refuse to start where another program listens already.

    Raises:
        BadSetting: naming the port and what to do.
    """
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((settings.host, settings.port))
        except OSError as error:
            reason = (error.strerror or "not available").lower()
            message = (
                f"Cannot listen at {settings.host} port {settings.port} ({reason}): stop the "
                "program that uses it, or choose another port with --port or EBBSTOCK_PORT."
            )
            raise BadSetting(message) from None


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 < int(text) < 65_536:
        message = f"EBBSTOCK_PORT is {text or 'empty'}: give a number from 1 to 65535."
        raise BadSetting(message)
    return int(text)


def _flag(name: str, text: str) -> bool:
    word = text.strip().lower()
    if word not in (*_TRUE, *_FALSE):
        message = f"{name} is {text}: write 1 for yes or 0 for no."
        raise BadSetting(message)
    return word in _TRUE
