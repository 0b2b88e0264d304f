"""Passwords, secrets and where a request comes from. Values in, values out."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from urllib.parse import urlsplit

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

IDLE_LIMIT = timedelta(days=14)
"""A browser that was not used for this long has to sign in again."""

ABSOLUTE_LIMIT = timedelta(days=90)
"""Longest time one sign-in holds."""

ATTEMPTS_PER_WINDOW = 8
ATTEMPT_WINDOW = timedelta(minutes=15)

_SECRET_BYTES = 32
LONGEST_PASSWORD = 256

_hasher = PasswordHasher()


@dataclass(frozen=True, slots=True)
class NewSecret:
    """A fresh secret of 256 random bits: shown once, kept only as its hash."""

    secret: str
    secret_hash: str


def new_secret() -> NewSecret:
    """Draw a secret from the system's source of randomness."""
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    return NewSecret(secret, hash_secret(secret))


def new_key() -> str:
    """An opaque name that says nothing about what it names."""
    return secrets.token_hex(16)


def hash_secret(secret: str) -> str:
    """SHA-256 of a secret, as hexadecimal text. Secrets are random, so no salt is needed."""
    return hashlib.sha256(secret.encode()).hexdigest()


def hash_password(password: str) -> str:
    """Argon2id hash with the library's present defaults."""
    return _hasher.hash(password)


def password_matches(password_hash: str | None, password: str) -> bool:
    """Whether a password fits; an unknown account (None) takes just as long and never fits."""
    wanted = password_hash if password_hash is not None else _nobody_hash()
    is_usable = len(password) <= LONGEST_PASSWORD
    try:
        _hasher.verify(wanted, password if is_usable else "")
    except (VerificationError, InvalidHashError):
        return False
    return is_usable and password_hash is not None


@cache
def _nobody_hash() -> str:
    return _hasher.hash(secrets.token_urlsafe(_SECRET_BYTES))


def form_token(login_secret: str) -> str:
    """A hidden value for a form, bound to one signed-in browser.

    It differs each time, so that a compressed page gives nothing away by its length.
    """
    salt = secrets.token_hex(8)
    return f"{salt}.{_form_digest(login_secret, salt)}"


def form_token_matches(login_secret: str, sent: str) -> bool:
    """Whether a form came from a page made for this browser."""
    salt, _, digest = sent.partition(".")
    return hmac.compare_digest(_form_digest(login_secret, salt).encode(), digest.encode())


def _form_digest(login_secret: str, salt: str) -> str:
    return hmac.new(login_secret.encode(), f"form {salt}".encode(), hashlib.sha256).hexdigest()


def comes_from_own_page(headers: Mapping[str, str], own_origins: tuple[str, ...]) -> bool:
    """Whether a browser sent a request from one of our own pages.

    Browsers add Sec-Fetch-Site or Origin to every form they post, and no page can set either.
    A request with neither was not sent by a browser of today, so no other site can have made a
    person's browser send it.

    Args:
        headers: header names in lower case.
        own_origins: scheme, host and port of our own addresses.

    References:
        W3C Fetch Metadata Request Headers, Sec-Fetch-Site; RFC 6454 section 7, Origin.
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = headers.get("origin")
    return origin is None or origin in own_origins


def origin_of(address: str) -> str:
    """Scheme, host and port of an address."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}"


def device_kind(user_agent: str) -> str:
    """A rough kind of device, so that a person knows their sign-ins apart; no more is kept."""
    if not user_agent.startswith("Mozilla/"):
        return ""
    return "phone" if re.search(r"Mobi|Android|iPad", user_agent) else "computer"


def attempt_subject(email: str, address: str) -> str:
    """What failed sign-ins are counted by: account and network address together.

    Counting by both means that nobody can lock another person out from elsewhere.
    """
    return hashlib.sha256(f"{email.strip().lower()}\n{address}".encode()).hexdigest()
