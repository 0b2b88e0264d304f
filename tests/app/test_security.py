"""Secrets, hashes, hidden form values and where a request comes from."""

from __future__ import annotations

import hashlib

import pytest

from app import security

OWN = ("https://supplies.example", "http://127.0.0.1:8000")


def test_passwords_are_kept_as_argon2id() -> None:
    """Parameters at least those of RFC 9106 section 4, second recommended option."""
    kept = security.hash_password("a long enough one")
    kind, _version, parameters = kept.split("$")[1:4]
    cost = dict(part.split("=") for part in parameters.split(","))
    assert kind == "argon2id"
    assert int(cost["m"]) >= 64 * 1024
    assert int(cost["t"]) >= 3
    assert security.password_matches(kept, "a long enough one")
    assert not security.password_matches(kept, "another one")
    assert not security.password_matches("not a hash", "a long enough one")


def test_an_endless_password_never_fits() -> None:
    for kept in (security.hash_password(""), security.hash_password("x" * 257)):
        assert not security.password_matches(kept, "x" * 257)


def test_secrets_hold_256_bits_and_differ() -> None:
    made = [security.new_secret() for _ in range(50)]
    assert len({one.secret for one in made}) == 50
    assert all(len(one.secret) == 43 for one in made)  # 43 * 6 bits > 256
    assert made[0].secret_hash == hashlib.sha256(made[0].secret.encode()).hexdigest()


def test_a_form_value_fits_its_own_browser_only() -> None:
    first, second = security.form_token("one"), security.form_token("one")
    assert first != second
    assert security.form_token_matches("one", first)
    assert security.form_token_matches("one", second)
    for wrong in (security.form_token("two"), first[:-1], "", ".", "é.é"):
        assert not security.form_token_matches("one", wrong)


@pytest.mark.parametrize(
    ("headers", "own"),
    [
        ({"sec-fetch-site": "same-origin", "origin": OWN[0]}, True),
        ({"origin": OWN[1]}, True),
        ({"sec-fetch-site": "none"}, True),
        ({}, True),
        ({"sec-fetch-site": "cross-site", "origin": "https://evil.example"}, False),
        ({"sec-fetch-site": "same-site", "origin": "https://other.supplies.example"}, False),
        ({"origin": "https://evil.example"}, False),
        ({"origin": "null"}, False),
        ({"sec-fetch-site": "cross-site", "origin": OWN[0]}, False),
    ],
)
def test_only_our_own_pages_may_send_forms(headers: dict[str, str], *, own: bool) -> None:
    assert security.comes_from_own_page(headers, OWN) is own


def test_origin_of_an_address() -> None:
    assert security.origin_of("https://supplies.example:8443/x?y") == (
        "https://supplies.example:8443"
    )


def test_failures_are_counted_by_account_and_address_together() -> None:
    subjects = {
        security.attempt_subject(email, address)
        for email in ("a@test.example", "b@test.example")
        for address in ("192.0.2.1", "192.0.2.2")
    }
    assert len(subjects) == 4
    same = security.attempt_subject(" A@test.example", "192.0.2.1")
    assert same == security.attempt_subject("a@test.example", "192.0.2.1")
